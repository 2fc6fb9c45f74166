"""Magnesium into a vein with signs of too much: from memory; the grading is ours."""

from typing import Any

import pytest

from tests.charts import administered, ago, condition, findings, order, reading, rounds
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal


def _given(
    changed: Any, *, numbers: Any = None, route: Route = Route.INTRAVENOUS, starts: float = 6
) -> Record:
    drug = order("Magnesium sulfate", "magnesium", route=route, starts=starts)
    return rounds((3, changed), (1, changed), numbers=numbers or {}, orders=(drug,))


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.METABOLIC).get("magnesium-toxicity")


@pytest.mark.parametrize(("rate", "is_told"), [(11, True), (12, False)])
def test_breathing(rate: int, is_told: bool) -> None:
    found = _found(_given({Signal.RESPIRATION_RATE: rate}))
    assert (found is not None) is is_told
    if found is not None:
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(3))
        assert [gap.key for gap in found.missing] == ["magnesium"]


def test_drowsiness() -> None:
    found = _found(_given({CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}))
    assert found is not None
    assert "response to voice only" in found.sentence


@pytest.mark.parametrize(("level", "is_told"), [("3.5", False), ("3.6", True)])
def test_level(level: str, is_told: bool) -> None:
    found = _found(_given({}, numbers={Signal.MAGNESIUM: [(2, level)]}))
    assert (found is not None) is is_told
    if found is not None:
        assert not found.missing


@pytest.mark.parametrize(("millilitres", "is_told"), [(99, True), (100, False)])
def test_urine_of_four_hours(millilitres: int, is_told: bool) -> None:
    urine = reading(Signal.URINE_VOLUME, 1, millilitres, began=5)
    found = _found(_given({}, numbers={Signal.URINE_VOLUME: [urine]}))
    assert (found is not None) is is_told
    if found is not None:
        assert found.urgency is Urgency.PROMPT


@pytest.mark.parametrize(
    ("record", "is_told"),
    [
        (_given({Signal.RESPIRATION_RATE: 10}, route=Route.ORAL), False),
        (_given({Signal.RESPIRATION_RATE: 10}, starts=60), False),
        (rounds((1, {Signal.RESPIRATION_RATE: 10})), False),
        (
            rounds(
                (1, {Signal.RESPIRATION_RATE: 10}),
                administrations=(
                    administered("Magnesium sulfate", 30, "magnesium", running=True, route=Route.INTRAVENOUS),
                ),
            ),
            True,
        ),
    ],
)
def test_only_while_it_is_given_into_a_vein(record: Record, is_told: bool) -> None:
    assert (_found(record) is not None) is is_told


def test_slow_breathing_beside_little_urine_is_an_emergency() -> None:
    """Our choice: two signs that fit together; each alone is from memory and asks for less."""
    little = reading(Signal.URINE_VOLUME, 1, 60, began=5)
    record = _given({Signal.RESPIRATION_RATE: 10}, numbers={Signal.URINE_VOLUME: [little]})
    found = _found(record)
    assert found is not None
    assert (found.urgency, found.since, found.asked_since) == (Urgency.EMERGENCY, ago(3), ago(1))
    enough = reading(Signal.URINE_VOLUME, 1, 100, began=5)
    alone = _found(_given({Signal.RESPIRATION_RATE: 10}, numbers={Signal.URINE_VOLUME: [enough]}))
    assert alone is not None
    assert (alone.urgency, alone.asked_since) == (Urgency.URGENT, None)


def test_one_dose_in_an_attack_of_asthma_is_not_asked_about() -> None:
    """Our choice: drowsiness after it is the attack; while it still runs the question stands."""
    drowsy = {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE, Signal.RESPIRATION_RATE: 18}
    attack = condition(ConditionKind.ASTHMA, began=2, text="Acute asthma exacerbation")

    def told(*, running: bool, **rest: Any) -> bool:
        dose = administered("Magnesium sulfate", 0.5, "magnesium", running=running, route=Route.INTRAVENOUS)
        return _found(rounds((0.2, drowsy), administrations=(dose,), **rest)) is not None

    assert told(running=False)
    assert not told(running=False, conditions=(attack,))
    assert told(running=True, conditions=(attack,))


@pytest.mark.parametrize(("hours", "urgency"), [(1, Urgency.URGENT), (13, None)])
def test_reflexes_that_are_gone(hours: float, urgency: Urgency | None) -> None:
    """The first sign of too much; it was "new on record" and no more (common practice; 12 hours ours)."""
    gone = condition(ConditionKind.LOST_REFLEXES, text="Absent tendon reflexes", began=hours)
    drug = order("Magnesium sulfate", "magnesium", route=Route.INTRAVENOUS, starts=20)
    found = _found(rounds((1, {}), orders=(drug,), conditions=(gone,)))
    assert (found.urgency if found is not None else None) is urgency
