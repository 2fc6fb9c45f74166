"""A block near the cord after a low molecular weight heparin.

12 hours after prevention and 24 after treatment: AAGBI, OAA and RA-UK, Anaesthesia 2013;68:966 (secondary).
"""

import pytest

from tests.records import (
    AT,
    Json,
    answer_of,
    asked_for,
    earlier,
    full_set,
    given,
    observation,
    ordered,
    patient,
    procedure,
    quantity,
)
from weatherglass.model.findings import Finding, Urgency

PREVENTION, TREATMENT = "Enoxaparin 40 mg injection", "Enoxaparin 80 mg injection"


def _order(words: str, dose: str) -> Json:
    return ordered(words, "B01AB05", authoredOn=earlier("3 d"), dosageInstruction=[{"text": dose}])


def _found(*resources: Json, block: str = "Epidural catheter insertion", at: str = AT) -> Finding | None:
    done = procedure(block, performedDateTime=at)
    (review,) = answer_of(patient("1993-01-01"), *full_set(), done, *resources).reviews
    return next((one for one in review.findings if one.key == "block-after-heparin"), None)


@pytest.mark.parametrize(
    ("words", "dose", "before", "is_told"),
    [
        (TREATMENT, "80 mg twice daily", "5 h", True),
        (TREATMENT, "80 mg twice daily", "23.9 h", True),
        (TREATMENT, "80 mg twice daily", "24 h", False),
        (PREVENTION, "40 mg once daily", "11.9 h", True),
        (PREVENTION, "40 mg once daily", "12 h", False),
    ],
)
def test_how_long_before(words: str, dose: str, before: str, is_told: bool) -> None:
    found = _found(_order(words, dose), given(words, earlier(before), "B01AB05"))
    assert (found is not None) is is_told
    if found is not None:
        assert found.urgency is Urgency.URGENT


def test_without_an_order_only_the_shorter_time_is_asked_for() -> None:
    assert _found(given("Enoxaparin", earlier("11 h"), "B01AB05")) is not None
    assert _found(given("Enoxaparin", earlier("13 h"), "B01AB05")) is None


@pytest.mark.parametrize(
    ("block", "is_told"),
    [
        ("Spinal anaesthesia for caesarean section", True),
        ("Combined spinal-epidural", True),
        ("Lumbar puncture", True),
        ("Removal of epidural catheter", True),
        ("Epidural blood patch", False),
        ("Appendicectomy", False),
    ],
)
def test_what_is_a_block(block: str, is_told: bool) -> None:
    """Taking a catheter out asks for the same time as putting it in."""
    dose = given(TREATMENT, earlier("5 h"), "B01AB05")
    assert (_found(_order(TREATMENT, "80 mg twice daily"), dose, block=block) is not None) is is_told


def test_a_dose_after_it_and_an_old_block_are_not_told() -> None:
    assert (
        _found(_order(TREATMENT, "80 mg twice daily"), given(TREATMENT, AT, "B01AB05"), at=earlier("2 h"))
        is None
    )
    dose = given(TREATMENT, earlier("30 h"), "B01AB05")
    assert _found(_order(TREATMENT, "80 mg twice daily"), dose, at=earlier("25 h")) is None


@pytest.mark.parametrize(
    ("results", "orders", "done", "is_told"),
    [
        ({"777-3": ("49", "10*9/L")}, (), False, True),
        ({"777-3": ("50", "10*9/L")}, (), False, False),
        ({"6301-6": ("1.5", "{INR}")}, (), False, True),
        ({"6301-6": ("1.4", "{INR}")}, (), False, False),
        ({}, (_order(TREATMENT, "80 mg twice daily"),), False, True),
        ({}, (_order(PREVENTION, "40 mg once daily"),), False, False),
        ({"777-3": ("32", "10*9/L")}, (), True, False),
    ],
)
def test_one_that_is_asked_for_while_blood_clots_badly(
    results: dict[str, tuple[str, str]], orders: tuple[Json, ...], done: bool, is_told: bool
) -> None:
    """Platelets: British Society for Haematology; INR: AAGBI 2013; both from memory."""
    sent = [
        observation(code, code, at=earlier("3 h"), valueQuantity=quantity(value, unit))
        for code, (value, unit) in results.items()
    ]
    plan = asked_for("Lumbar puncture", authoredOn=earlier("1 h"))
    was = (procedure("Lumbar puncture", performedDateTime=earlier("0.5 h")),) if done else ()
    (review,) = answer_of(patient("1993-01-01"), *full_set(), *sent, *orders, plan, *was).reviews
    found = [one for one in review.findings if one.key == "block-planned"]
    assert bool(found) is is_told
    assert all(one.urgency is (Urgency.URGENT if results else Urgency.PROMPT) for one in found)


@pytest.mark.parametrize(("due", "is_told"), [("-23 h", True), ("-25 h", False)])
def test_one_that_is_planned_for_later_is_not_pressing(due: str, is_told: bool) -> None:
    few = observation("p", "777-3", at=earlier("3 h"), valueQuantity=quantity("32", "10*9/L"))
    plan = asked_for("Lumbar puncture", authoredOn=earlier("1 h"), occurrenceDateTime=earlier(due))
    (review,) = answer_of(patient("1993-01-01"), *full_set(), few, plan).reviews
    assert any(one.key == "block-planned" for one in review.findings) is is_told
