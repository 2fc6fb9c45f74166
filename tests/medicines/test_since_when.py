"""A deadline counts from when its reason began: a repeat of the same value moves nothing.

Ours throughout: no publication says from when a suggestion counts.
"""

from typing import Any

import pytest

from tests.charts import ago, bedside, chart, order, reading
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.medicines.triggers.met import MetTrigger
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

S, T = Signal, Trigger


def _met(trigger: Trigger, numbers: dict[Signal, Any], **rest: Any) -> MetTrigger:
    return situation_of(bedside(chart(numbers, **rest))).met[trigger]


_REPEATED = [
    (T.HYPERKALAEMIA, S.POTASSIUM, "6.7"),
    (T.HYPOTENSION, S.SYSTOLIC_PRESSURE, 85),
    (T.BRADYCARDIA, S.PULSE, 38),
    (T.SLOW_PULSE, S.PULSE, 46),
    (T.INR_ABOVE_8, S.INR, "9"),
    (T.INR_5_TO_8, S.INR, "6"),
    (T.INR_ABOVE_TARGET, S.INR, "4.5"),
    (T.LOW_PLATELETS, S.PLATELETS, 40),
    (T.HYPOGLYCAEMIA, S.GLUCOSE, "2.1"),
    (T.REDUCED_CONSCIOUSNESS, S.RESPIRATION_RATE, 7),
    (T.REDUCED_CONSCIOUSNESS, S.GCS_TOTAL, 8),
    (T.DROWSINESS, S.GCS_TOTAL, 13),
    (T.LACTATE_OR_ACIDOSIS, S.LACTATE, "5"),
    (T.RAISED_KETONES, S.KETONES, "4"),
    (T.LOW_SODIUM, S.SODIUM, 120),
    (T.LOW_POTASSIUM, S.POTASSIUM, "2.6"),
    (T.LOW_MAGNESIUM, S.MAGNESIUM, "0.5"),
    (T.LOW_EGFR, S.EGFR, 25),
]


@pytest.mark.parametrize(("trigger", "signal", "value"), _REPEATED)
def test_a_repeat(trigger: Trigger, signal: Signal, value: Any) -> None:
    """The same value again three and five hours later: both moments stay."""
    met = _met(trigger, {signal: [(6, value), (3, value), (1, value)]})
    assert met.since == ago(6)
    assert met.asked_since in (None, ago(6))


_STEPPED = [
    (T.HYPERKALAEMIA, S.POTASSIUM, "5.6", "6.7"),
    (T.HYPOTENSION, S.SYSTOLIC_PRESSURE, 98, 85),
    (T.HYPOGLYCAEMIA, S.GLUCOSE, "3.8", "2.1"),
    (T.REDUCED_CONSCIOUSNESS, S.GCS_TOTAL, 11, 7),
    (T.RAISED_KETONES, S.KETONES, "1.8", "4"),
]


@pytest.mark.parametrize(("trigger", "signal", "mild", "bad"), _STEPPED)
def test_a_step(trigger: Trigger, signal: Signal, mild: Any, bad: Any) -> None:
    """It began with the mild value; its present degree began with the first bad one."""
    met = _met(trigger, {signal: [(9, mild), (6, bad), (1, bad)]})
    assert (met.since, met.asked_since) == (ago(9), ago(6))


def test_an_injury() -> None:
    """Stage 1 in the morning, stage 3 from noon on."""
    met = _met(T.AKI, {S.CREATININE: [(96, 80), (20, 130), (10, 250), (1, 255)]})
    assert (met.since, met.asked_since) == (ago(20), ago(10))


def test_falls() -> None:
    """A fall of sodium or of platelets on heparin that goes on began with its first value."""
    sodium = _met(T.LOW_SODIUM, {S.SODIUM: [(20, 142), (8, 131), (1, 131)]})
    assert sodium.since == ago(8)
    heparin = order("Heparin", MedicineClass.HEPARIN.value, starts=150)
    counts = {S.PLATELETS: [(140, 250), (30, 110), (1, 105)]}
    assert _met(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,)).since == ago(30)


def test_answers() -> None:
    """Drowsy since nine hours, unrousable since six."""
    codes = {
        CodedSignal.CONSCIOUSNESS: [
            (9, Consciousness.VOICE),
            (6, Consciousness.PAIN),
            (1, Consciousness.UNRESPONSIVE),
        ]
    }
    assert _met(T.REDUCED_CONSCIOUSNESS, {}, codes=codes).since == ago(6)


def test_doubt_begins_nothing_worse() -> None:
    """A value known only as two numbers is no step up."""
    pair = reading(S.POTASSIUM, 1, "6.7", spread=("5.6", "6.7"))
    met = _met(T.HYPERKALAEMIA, {S.POTASSIUM: (reading(S.POTASSIUM, 6, "5.6"), pair)})
    assert (met.since, met.asked_since) == (ago(6), None)
