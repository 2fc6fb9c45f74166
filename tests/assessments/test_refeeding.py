"""Refeeding by NICE CG32, 2006, as restated; what a fall is comes from memory, the grading is ours."""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, order, reading, reason
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

PO4, K, MG = Signal.PHOSPHATE, Signal.POTASSIUM, Signal.MAGNESIUM
THIN = condition(ConditionKind.MALNUTRITION, began=100, text="Poor oral intake")
FEED = order("Nasogastric feeding, standard", starts=48)


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.METABOLIC).get("refeeding")


def _body(kilograms: str, **rest: Any) -> Record:
    """Return somebody of 170 cm."""
    return chart(
        {Signal.WEIGHT: [(10, kilograms)], Signal.HEIGHT: [(10, 170)], **rest.pop("numbers", {})}, **rest
    )


@pytest.mark.parametrize(("kilograms", "is_high"), [("46.2", True), ("46.3", False)])
def test_a_bmi_below_16_is_enough(kilograms: str, is_high: bool) -> None:
    """16 at 170 cm is 46.24 kg."""
    found = _found(_body(kilograms, conditions=(THIN,)))
    assert (found is not None) is is_high
    if found is not None:
        assert found.urgency is Urgency.ROUTINE


@pytest.mark.parametrize(("kilograms", "is_high"), [("53.4", True), ("53.5", False)])
def test_a_bmi_below_18_5_is_one_of_two(kilograms: str, is_high: bool) -> None:
    """18.5 at 170 cm is 53.465 kg; insulin is the other one."""
    insulin = order("Insulin", "insulin")
    assert (_found(_body(kilograms, conditions=(THIN,), orders=(insulin,))) is not None) is is_high
    assert _found(_body(kilograms, conditions=(THIN,))) is None


@pytest.mark.parametrize(("before", "is_high"), [("70.7", True), ("70.5", False)])
def test_a_loss_of_more_than_15_percent(before: str, is_high: bool) -> None:
    """60 kg of 70.588 kg is a loss of 15 %."""
    weights = {Signal.WEIGHT: [(24 * 120, before), (10, "60")]}
    assert (_found(chart(weights, conditions=(THIN,))) is not None) is is_high


@pytest.mark.parametrize(
    ("signal", "low", "fine"), [(PO4, "0.79", "0.8"), (K, "3.4", "3.5"), (MG, "0.69", "0.7")]
)
def test_a_low_value_before_feeding_is_enough(signal: Signal, low: str, fine: str) -> None:
    found = _found(chart({signal: [(30, low), (3, low)]}, conditions=(THIN,)))
    assert found is not None
    assert (found.urgency, found.since) == (Urgency.PROMPT, ago(30))
    assert _found(chart({signal: [(3, fine)]}, conditions=(THIN,))) is None


def test_the_laboratorys_own_limit_comes_first() -> None:
    own = reading(PO4, 3, "0.85", reference=("0.9", "1.5"))
    assert _found(chart({PO4: [own]}, conditions=(THIN,))) is not None


@pytest.mark.parametrize(("newest", "urgency"), [("0.72", Urgency.URGENT), ("0.73", None)])
def test_a_fall_by_20_percent_under_feeding(newest: str, urgency: Urgency | None) -> None:
    """From 0.90: 0.72 is 20 %."""
    found = _found(chart({PO4: [(60, "0.9"), (4, newest)]}, orders=(FEED,)))
    assert (found.urgency if found is not None else None) is urgency
    if found is not None:
        assert found.since == ago(4)
        assert "phosphate 0.72 mmol/L (from 0.9)" in found.sentence
        assert [gap.key for gap in found.missing] == ["potassium", "magnesium", "intake"]


@pytest.mark.parametrize(
    "record",
    [
        chart({PO4: [(3, "0.4")]}),  # Nobody says that little is eaten.
        chart({PO4: [(60, "0.9"), (4, "0.5")]}, orders=(order("Enteral feed", starts=24 * 12),)),
        chart({PO4: [(60, "0.4")]}, conditions=(THIN,)),  # Too old.
    ],
)
def test_not_asked(record: Record) -> None:
    assert _found(record) is None


@pytest.mark.parametrize(
    ("phosphate", "magnesium", "urgency"),
    [
        pytest.param("0.7", "0.55", Urgency.URGENT, id="two-fall"),
        pytest.param("0.7", "0.8", Urgency.PROMPT, id="one-falls-by-30-percent"),
        pytest.param("0.69", "0.8", Urgency.URGENT, id="one-falls-by-more"),
    ],
)
def test_meals_are_on_no_chart(phosphate: str, magnesium: str, urgency: Urgency) -> None:
    """Two that fall in the malnourished (ours), or one by more than 30 % (ASPEN 2020, from memory)."""
    numbers = {PO4: [(60, "1.0"), (4, phosphate)], MG: [(60, "0.8"), (4, magnesium)]}
    found = _found(chart(numbers, conditions=(THIN,)))
    assert found is not None
    assert found.urgency is urgency


def test_why_somebody_came_counts_as_well() -> None:
    came = reason(ConditionKind.MALNUTRITION, text="Anorexia nervosa")
    assert _found(chart({PO4: [(4, "0.4")]}, reasons=(came,))) is not None


CHILD = date(2011, 10, 1)
FALLS = {PO4: [(28, "0.9"), (3, "0.42")], K: [(28, "3.6"), (3, "2.8")]}


def test_a_child_is_asked_about_what_falls_and_not_about_weight() -> None:
    """Below 16 the limits of weight of NICE CG32 do not hold; a fall under feeding does (from memory)."""
    found = _found(chart(FALLS, conditions=(THIN,), orders=(FEED,), born=CHILD))
    assert found is not None
    assert found.urgency is Urgency.URGENT
    assert "phosphate 0.42 mmol/L (from 0.9)" in found.sentence
    assert _found(_body("34", conditions=(THIN,), born=CHILD)) is None
    assert _found(chart({PO4: [(3, "0.42")]}, conditions=(THIN,), born=CHILD)) is None


@pytest.mark.parametrize(("newest", "since"), [("0.30", None), ("0.29", 2)])
def test_a_critically_low_value_is_a_new_reason(newest: str, since: int | None) -> None:
    """Phosphate below 0.3 mmol/L (the critical result): the hour counts from it (ours)."""
    found = _found(chart({PO4: [(60, "0.9"), (30, "0.6"), (2, newest)]}, orders=(FEED,)))
    assert found is not None
    assert (found.urgency, found.since) == (Urgency.URGENT, ago(30))
    assert found.asked_since == (ago(since) if since is not None else None)
