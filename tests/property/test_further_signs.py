"""A deadline counts from when its reason began: one sign more, or a worse one, makes it no later.

The law is ours (judgement: a deadline never slides with what is added). The signs are drawn from the rows
themselves, so that a crisis that is added later is held to it as well.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import chain, permutations
from typing import Any

import pytest

from tests.charts import NORMAL, NOW, ago, bedside, condition, findings, order, rounds
from weatherglass.knowledge.emergencies.crises import CRISES, Crisis
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.review.questions import QUESTIONS

_OF_ROUNDS = (
    Signal.RESPIRATION_RATE,
    Signal.SPO2,
    Signal.SYSTOLIC_PRESSURE,
    Signal.PULSE,
    Signal.TEMPERATURE,
)
_GROUNDED = [one for one in CRISES if one.problems and one.signs]
_PREGNANT = condition(ConditionKind.PREGNANCY)


def _met(cutoff: Cutoff) -> Decimal:
    """Return a value that meets a cut-off."""
    step = Decimal("0.1")
    below = cutoff.compare in (Compare.BELOW, Compare.AT_MOST)
    return cutoff.limit.value - step if below else cutoff.limit.value + step


def _born(crisis: Crisis) -> date:
    months = crisis.from_months
    if crisis.below_days:
        return NOW.date() - timedelta(days=max(crisis.below_days // 2, 1))
    return NOW.date() - timedelta(days=31 * (months + 1))


def _began(found: Finding) -> datetime | None:
    return found.asked_since or found.since


def _asked(crisis: Crisis, numbers: Mapping[Signal, float], mind: float | None) -> Finding | None:
    """Review somebody with the problem of a crisis and each of these signs so many hours ago."""
    values = {signal: [(numbers[signal], _met(cut))] for signal, cut in crisis.signs if signal in numbers}
    others = [condition(*crisis.beside[:1], began=20)] if crisis.beside else []
    record = rounds(
        *([(mind, {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE})] if mind is not None else []),
        born=_born(crisis),
        conditions=(condition(min(crisis.problems), began=20), *others),
        numbers=values,
    )
    return findings(record, Kind.METABOLIC).get(crisis.key)


def _less(numbers: Mapping[Signal, float], mind: float | None) -> Iterator[tuple[Any, float | None]]:
    for gone in numbers:
        yield {signal: at for signal, at in numbers.items() if signal is not gone}, mind
    if mind is not None:
        yield numbers, None


@pytest.mark.property
@pytest.mark.parametrize("crisis", _GROUNDED, ids=[one.key for one in _GROUNDED])
@pytest.mark.parametrize("mind", [None, 1.0, 9.0])
def test_a_further_sign_of_a_crisis_makes_it_no_later(crisis: Crisis, mind: float | None) -> None:
    signals = [signal for signal, _ in crisis.signs if mind is None or signal not in _OF_ROUNDS]
    for hours in list(permutations((2.0, 4.0, 6.0, 8.0)[: len(signals)]))[:6]:
        numbers = dict(zip(signals, hours, strict=False))
        whole = _asked(crisis, numbers, mind)
        for fewer, without in _less(numbers, mind):
            part = _asked(crisis, fewer, without)
            if whole is None or part is None or part.urgency < whole.urgency:
                continue
            now, before = _began(whole), _began(part)
            assert now is not None
            assert before is None or now <= before, (numbers, mind, fewer, without)


def _pressures(*each: tuple[float, int], blood: float | None = None) -> Record:
    numbers: dict[Signal, Any] = {}
    if blood is not None:
        numbers = {Signal.PLATELETS: [(blood, 88)], Signal.ALT: [(blood, 120)]}
    signs = [(at, {Signal.SYSTOLIC_PRESSURE: systolic}) for at, systolic in each]
    return rounds(*signs, numbers=numbers, conditions=(_PREGNANT,))


@pytest.mark.parametrize(
    ("record", "urgency", "began"),
    [
        pytest.param(_pressures((4, 158), blood=2), Urgency.EMERGENCY, 2, id="blood-makes-it"),
        pytest.param(
            _pressures((4, 158), (1, 166), blood=2), Urgency.EMERGENCY, 2, id="and-a-worse-pressure"
        ),
        pytest.param(_pressures((4, 158), (1, 166)), Urgency.EMERGENCY, 1, id="the-pressure-alone"),
        pytest.param(_pressures((4, 166), (1, 158), blood=2), Urgency.EMERGENCY, 2, id="a-better-pressure"),
        pytest.param(_pressures((4, 158), (1, 120), blood=2), Urgency.URGENT, 2, id="the-blood-alone"),
    ],
)
def test_high_pressure_in_pregnancy(record: Record, urgency: Urgency, began: float) -> None:
    """An emergency by platelets and liver tests does not begin again with a severe pressure."""
    found = findings(record, Kind.HIGH_PRESSURE)["pregnancy-pressure"]
    assert found.urgency is urgency
    assert _began(found) == ago(began)


def test_a_repeat_of_the_blood_moves_nothing() -> None:
    numbers = {Signal.PLATELETS: [(5, 90), (1, 84)], Signal.ALT: [(5, 100), (1, 140)]}
    record = rounds((6, {Signal.SYSTOLIC_PRESSURE: 150}), numbers=numbers, conditions=(_PREGNANT,))
    assert _began(findings(record, Kind.HIGH_PRESSURE)["pregnancy-pressure"]) == ago(5)


def test_who_suspects_an_infection_later_puts_nothing_off() -> None:
    """In pregnancy two signs of high risk with a fever ask at once; an order half an hour later does not."""
    signs = {Signal.TEMPERATURE: "39.2", Signal.RESPIRATION_RATE: 26, Signal.PULSE: 132}
    dose = order("Cefotaxime", "antibacterial", route=Route.INTRAVENOUS, starts=0.5)
    kept: dict[str, Any] = {"conditions": (_PREGNANT,), "born": date(1996, 1, 1)}
    asked = findings(rounds((1, signs), **kept), Kind.SEPSIS_RISK)["screen-for-infection"]
    told = findings(rounds((1, signs), orders=(dose,), **kept), Kind.SEPSIS_RISK)["sepsis-signs"]
    assert (asked.urgency, _began(asked)) == (told.urgency, _began(told)) == (Urgency.EMERGENCY, ago(1))


_ILL: dict[Any, Any] = {
    Signal.RESPIRATION_RATE: 26,
    Signal.SPO2: 86,
    CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.OXYGEN,
    Signal.PULSE: 118,
    CodedSignal.CONSCIOUSNESS: Consciousness.VOICE,
}


class TestARepeatInARound:
    """A sign that is the same ten minutes later changes neither urgency nor deadline."""

    @pytest.mark.parametrize("again", [*_OF_ROUNDS, CodedSignal.CONSCIOUSNESS, CodedSignal.OXYGEN_DELIVERY])
    def test_it_changes_nothing(self, again: Signal | CodedSignal) -> None:
        whole = {**NORMAL, **_ILL}
        later = [(1.0, whole[again]), (0.85, whole[again])]
        more: dict[str, Any] = {"numbers" if isinstance(again, Signal) else "codes": {again: later}}
        once, twice = (_asks(record) for record in (rounds((1, _ILL)), rounds((1, _ILL), **more)))
        assert once
        assert twice == once


def _asks(record: Record) -> dict[tuple[Kind, str], tuple[Urgency, datetime | None]]:
    return {
        (one.kind, one.key): (one.urgency, _began(one))
        for one in chain.from_iterable(each.ask(bedside(record)) for each in QUESTIONS)
        if one.urgency > Urgency.ROUTINE
    }
