"""A high pressure after an injury of the spinal cord: Bycroft 2005, as restated.

Systolic of 150 or more, more than 20 above the own normal, at or above T6. That it is an emergency, and
40 above the own normal whatever the number, are our choices.
"""

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal

USUAL = [(30, "104"), (24, "108"), (18, "106")]


def _found(values: list[tuple[float, str]], text: str = "Spinal cord injury at T4") -> Finding | None:
    injury = condition(ConditionKind.SPINAL_CORD_INJURY, text=text)
    record = chart({Signal.SYSTOLIC_PRESSURE: values}, conditions=(injury,))
    return findings(record, Kind.HIGH_PRESSURE).get("autonomic-dysreflexia")


@pytest.mark.parametrize(("systolic", "is_told"), [("150", True), ("149", False)])
def test_from_150(systolic: str, is_told: bool) -> None:
    found = _found([(30, "118"), (24, "122"), (18, "120"), (1, systolic)])
    assert (found is not None) is is_told
    if found is not None:
        assert (found.urgency, found.since) == (Urgency.EMERGENCY, ago(1))
        assert "usually 120" in found.sentence


@pytest.mark.parametrize(("systolic", "is_told"), [("146", True), ("145", False)])
def test_far_above_the_own_normal_below_150(systolic: str, is_told: bool) -> None:
    """Ours: these people live at 90 to 110, so that 40 above it is as sudden a rise as 150 is in others."""
    found = _found([*USUAL, (1, systolic)])
    assert (found is not None) is is_told
    assert found is None or "usually 106" in found.sentence


def test_a_pressure_that_is_usual_is_no_rise() -> None:
    high = [(30, "140"), (24, "142"), (18, "140")]
    assert _found([*high, (1, "160")]) is None
    assert _found([*high, (1, "161")]) is not None


def test_without_an_own_normal_the_number_counts() -> None:
    assert _found([(1, "152")]) is not None


@pytest.mark.parametrize(
    ("text", "is_told"),
    [
        ("Spinal cord injury at C5", True),
        ("Spinal cord injury at T6", True),
        ("Tetraplegia", True),
        ("Spinal cord injury at T7", False),
        ("Spinal cord injury at T12", False),
        ("Spinal cord injury at L1", False),
        ("Cauda equina injury", False),
    ],
)
def test_the_level_of_the_injury(text: str, is_told: bool) -> None:
    assert (_found([*USUAL, (1, "180")], text) is not None) is is_told


def test_it_is_said_once() -> None:
    injury = condition(ConditionKind.SPINAL_CORD_INJURY, text="Tetraplegia")
    record = chart({Signal.SYSTOLIC_PRESSURE: [*USUAL, (1, "204")]}, conditions=(injury,))
    assert set(findings(record, Kind.HIGH_PRESSURE)) == {"autonomic-dysreflexia"}


def test_a_pulse_that_the_cord_slows_speaks_of_no_pressure_in_the_skull() -> None:
    """Common practice, no source: the reflex slows the pulse; one explanation is said."""
    injury = condition(ConditionKind.SPINAL_CORD_INJURY, text="Spinal cord injury at T4")
    numbers = {
        Signal.SYSTOLIC_PRESSURE: [*USUAL, (6, "104"), (1, "188")],
        Signal.PULSE: [(18, "68"), (6, "66"), (1, "50")],
    }
    assert "rising-pressure" not in findings(chart(numbers, conditions=(injury,)), Kind.HEAD_INJURY)
    assert "rising-pressure" in findings(chart(numbers), Kind.HEAD_INJURY)
