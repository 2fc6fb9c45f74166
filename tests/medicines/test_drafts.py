"""Orders that are not signed yet: the first question is whether to start at all."""

import pytest

from tests.medicines.wards import injury, order, result, reviewed, suggestions
from tests.records import full_set
from weatherglass.model.findings import Urgency


@pytest.mark.parametrize(("status", "action"), [("active", "hold"), ("draft", "avoid")])
def test_not_starting_comes_before_reviewing_the_dose(status: str, action: str) -> None:
    """An NSAID in kidney injury with potassium 5.7: one rule would hold it, another asks for a review.

    Before the signature the hold becomes "do not start", and stays the strongest advice
    (ours: a review of a dose that nobody has given yet is no advice).
    """
    draft = order("Ibuprofen 400 mg tablets", "M01AE01", status=status)
    (found,) = suggestions(reviewed(*injury(2), result("K", "5.7"), draft)).values()
    actions = {reason.action for reason in found.reasons}
    assert found.action == action
    assert len(actions) > 1


def test_a_draft_is_never_held() -> None:
    """Nothing has been given, so there is nothing to hold."""
    draft = order("Spironolactone 25 mg tablets", "C03DA01", status="draft")
    (found,) = suggestions(reviewed(*injury(2), result("K", "6.2"), draft)).values()
    assert found.action == "avoid"


@pytest.mark.parametrize(
    ("medicine", "begins"),
    [
        ("Gentamicin 320 mg", "Consider not starting Gentamicin 320 mg"),
        ("Vancomycin 1 g", "Consider reviewing the need for and dose of Vancomycin 1 g"),
        ("Digoxin 125 microgram", "Consider reviewing the need for and dose of Digoxin 125 microgram"),
    ],
)
def test_whether_to_start_comes_before_a_level(medicine: str, begins: str) -> None:
    """A medicine that was never given has no level; an aminoglycoside is avoided (NICE NG148)."""
    draft = order(medicine, status="draft", dosageInstruction=[{"route": {"text": "IV"}}])
    (found,) = suggestions(reviewed(*injury(2), draft)).values()
    assert found.sentence.startswith(begins)
    assert "level" not in found.sentence
    assert "measure level" not in (found.action, *found.also)


@pytest.mark.parametrize("medicine", ["Gentamicin 320 mg", "Naproxen 500 mg tablets"])
@pytest.mark.parametrize("stage", [1, 2, 3])
def test_what_would_be_held_or_measured_is_not_signed_lightly(medicine: str, stage: int) -> None:
    """Ours: it is asked before the signature, so it does not wait for the next round."""
    (found,) = suggestions(reviewed(*injury(stage), order(medicine, status="draft"))).values()
    assert found.action == "avoid"
    assert found.urgency >= Urgency.PROMPT


@pytest.mark.parametrize(("taken", "stops"), [(None, False), ("active", True), ("on-hold", True)])
def test_the_risk_of_stopping_is_that_of_what_is_taken(taken: str | None, stops: bool) -> None:
    """Ours: an order that brings what the patient does not take stops nothing when it is left out."""
    draft = {**order("Apixaban 2.5 mg tablets", "B01AF02", status="draft"), "id": "new"}
    charted = [] if taken is None else [order("Apixaban 5 mg tablets", "B01AF02", status=taken)]
    found = suggestions(reviewed(*full_set(), result("platelets", "24"), *charted, draft))
    (new,) = (one for one in found.values() if one.order.endswith("new"))
    assert bool(new.do_not_stop) is stops
    assert new.review_by is None, "the signing is the look"
