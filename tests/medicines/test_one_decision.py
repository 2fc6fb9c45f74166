"""What is one decision is told once; each medicine keeps its own finding. Common practice, no source."""

import pytest

from tests.medicines.wards import injury, order, result, reviewed, suggestions
from weatherglass.cli.printing.text import review_text
from weatherglass.medicines.telling.one_decision import decision_sentence, decisions
from weatherglass.model.findings import MedicineFinding, Urgency
from weatherglass.pipeline import Answer

_REVIEWED = ("Ramipril 5 mg capsules", "Furosemide 40 mg tablets", "Bisoprolol 2.5 mg tablets")
_CHART = (*map(order, (*_REVIEWED, "Metformin 500 mg tablets", "Paracetamol 1 g tablets")),)


def _findings(answer: Answer) -> list[MedicineFinding]:
    return [f for f in answer.reviews[0].findings if isinstance(f, MedicineFinding)]


def test_the_same_look_for_the_same_reason_is_one_decision() -> None:
    """Three reviews by kidney injury stage 1 are told in one sentence; a hold stands alone."""
    groups = decisions(_findings(reviewed(*injury(1), *_CHART)))
    assert sorted(len(group) for group in groups) == [1, 3]
    (together,) = (group for group in groups if len(group) == 3)
    said = decision_sentence(together)
    assert said.startswith("Look again at need and dose of ")
    assert all(said.count(name) == 1 for name in _REVIEWED)
    assert said.count("acute kidney injury stage 1") == 1


def test_no_medicine_is_lost_by_it() -> None:
    """Every finding is in one group, once, and none is changed."""
    found = _findings(reviewed(*injury(1), *_CHART))
    assert [one for group in decisions(found) for one in group] != []
    assert sorted(one.order for group in decisions(found) for one in group) == sorted(f.order for f in found)


def test_what_cannot_wait_or_has_another_reason_stands_alone() -> None:
    """With potassium 6.2 ramipril is held, and its reasons are not those of the others."""
    groups = decisions(_findings(reviewed(*injury(1), result("K", "6.2"), *_CHART)))
    for group in groups:
        assert len(group) == 1 or all(one.urgency is Urgency.ROUTINE for one in group)
        assert not any("Ramipril" in one.medicine for one in group) or len(group) == 1


def test_the_text_answer_says_one_decision_once() -> None:
    """The sentence stands once, and each medicine below it with its own reason."""
    answer = reviewed(*injury(1), *_CHART)
    text = review_text(answer.reviews[0], answer.issues)
    chart = text.partition("Drug chart:")[2].partition("Handover")[0]
    assert chart.count("Look again at need and dose of") == 1
    assert "Consider reviewing need and dose" not in chart
    assert all(f"- {name}:" in chart for name in _REVIEWED)


@pytest.mark.parametrize(
    ("name", "stages"),
    [
        # Ours: with a good pressure these are no question in stage 1; the liver clears carvedilol.
        ("Amlodipine 5 mg tablets", {2, 3}),
        ("Tamsulosin 400 microgram capsules", {2, 3}),
        ("Omeprazole 20 mg capsules", {2, 3}),
        ("Zopiclone 3.75 mg tablets", {2, 3}),
        ("Carvedilol 6.25 mg tablets", set()),
        ("Bisoprolol 2.5 mg tablets", {1, 2, 3}),
        ("Naproxen 250 mg tablets", {1, 2, 3}),
    ],
)
def test_stage_1_asks_about_what_the_kidney_or_the_injury_makes_dangerous(
    name: str, stages: set[int]
) -> None:
    """A chart of ordinary medicines in stage 1 had a line for nearly each of them."""
    asked = {stage for stage in (1, 2, 3) if suggestions(reviewed(*injury(stage), order(name)))}
    assert asked == stages


def test_a_low_pressure_asks_about_amlodipine_in_stage_1_too() -> None:
    """100 mmHg or less (ours) is the other reason, and then it is held."""
    (found,) = suggestions(
        reviewed(*injury(1), result("SBP", "95"), order("Amlodipine 5 mg tablets"))
    ).values()
    assert found.action == "hold"
