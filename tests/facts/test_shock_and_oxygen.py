"""Shock and low oxygen, each once, for the findings and the drug chart.

Systolic 90 or less: NICE NG51 2016, high risk. Saturation of 91 or less on scale 1: Chart 1 of NEWS2. A pO2
below 8.0 kPa: common practice. What is low as usual, and which signs show that it is not tolerated, is ours.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, bedside, chart, condition, findings, order, reading, readings
from weatherglass.knowledge.medicines.rules.rule import Circumstance
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.model.findings import Kind
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Sample, Signal
from weatherglass.model.sources import Origin

S, K = Signal, ConditionKind
_USUAL = [(hours, "88") for hours in (90, 75, 60, 50, 40, 30, 20, 12)]


def _record(numbers: Mapping[Signal, Any], **rest: Any) -> Record:
    return chart(dict(numbers), **{"born": date(1950, 1, 1), **rest})


def _holds(record: Record, condition: Circumstance) -> bool:
    return condition in situation_of(bedside(record)).applies


def _target(low: int, high: int) -> Directive:
    return Directive(
        origin=Origin("Goal/1"),
        kind=DirectiveKind.OXYGEN_TARGET,
        at=ago(100),
        target_low=Decimal(low),
        target_high=Decimal(high),
    )


def _said(value: Consciousness) -> dict[CodedSignal, Any]:
    return {CodedSignal.CONSCIOUSNESS: [(1, value)]}


_COPD = (condition(K.COPD),)


@pytest.mark.parametrize(
    ("numbers", "rest", "shocked"),
    [
        pytest.param({S.SYSTOLIC_PRESSURE: [(1, "90")]}, {}, True, id="at-the-limit"),
        pytest.param({S.SYSTOLIC_PRESSURE: [(1, "91")]}, {}, False, id="above-it"),
        pytest.param({S.SYSTOLIC_PRESSURE: [(25, "80")]}, {}, False, id="more-than-a-day-ago"),
        pytest.param({S.SYSTOLIC_PRESSURE: [*_USUAL, (1, "88")]}, {}, False, id="as-usual"),
        pytest.param({S.SYSTOLIC_PRESSURE: [*_USUAL, (1, "77")]}, {}, True, id="lower-than-usual"),
        pytest.param(
            {S.SYSTOLIC_PRESSURE: [*_USUAL, (1, "88")], S.LACTATE: [(1, "3.4")]}, {}, True, id="lactate"
        ),
        pytest.param(
            {S.SYSTOLIC_PRESSURE: [*_USUAL, (1, "88")]},
            {"codes": _said(Consciousness.VOICE)},
            True,
            id="drowsy",
        ),
        pytest.param(
            {S.SYSTOLIC_PRESSURE: [*_USUAL, (1, "88")]},
            {"codes": _said(Consciousness.VOICE), "conditions": _COPD},
            False,
            id="drowsy-perhaps-by-carbon-dioxide",
        ),
        pytest.param(
            {S.SYSTOLIC_PRESSURE: [*_USUAL, (1, "88")], S.LACTATE: [(1, "3.4")]},
            {"codes": _said(Consciousness.VOICE), "conditions": _COPD},
            True,
            id="lactate-whatever-explains-the-rest",
        ),
        pytest.param({S.SYSTOLIC_PRESSURE: [(1, "88")]}, {"born": date(2021, 1, 1)}, False, id="a-child"),
        pytest.param(
            {S.SYSTOLIC_PRESSURE: [(1, "58")]}, {"born": date(2021, 1, 1)}, True, id="low-for-a-child"
        ),
    ],
)
def test_shock(numbers: Mapping[Signal, Any], rest: dict[str, Any], shocked: bool) -> None:
    record = _record(numbers, **rest)
    assert (bedside(record).shock is not None) is shocked
    assert _holds(record, Circumstance.SHOCK) is shocked


@pytest.mark.parametrize(
    ("spread", "shocked"),
    [
        pytest.param((None, "80"), True, id="below-80"),
        pytest.param(("84", "88"), True, id="two-low-ones"),
        pytest.param(("84", "125"), False, id="nobody-knows"),
    ],
)
def test_a_pressure_that_is_not_exact(spread: tuple[str | None, str], shocked: bool) -> None:
    """Surely low, wherever in its interval it lies: our choice."""
    value = reading(S.SYSTOLIC_PRESSURE, 1, "84", spread=spread)
    assert _holds(_record({S.SYSTOLIC_PRESSURE: (value,)}), Circumstance.SHOCK) is shocked


@pytest.mark.parametrize(
    ("numbers", "rest", "low"),
    [
        pytest.param({S.SPO2: [(1, "91")]}, {}, True, id="three-points"),
        pytest.param({S.SPO2: [(1, "92")]}, {}, False, id="two-points"),
        pytest.param({S.SPO2: [(25, "80")]}, {}, False, id="more-than-a-day-ago"),
        pytest.param({S.SPO2: [(1, "90")]}, {"directives": (_target(90, 94),)}, False, id="allowed"),
        pytest.param({S.SPO2: [(1, "89")]}, {"directives": (_target(90, 94),)}, True, id="below-the-target"),
        pytest.param({S.SPO2: [(1, "92")]}, {"directives": (_target(94, 98),)}, False, id="no-call-yet"),
        pytest.param({S.SPO2: [(1, "88")]}, {"directives": (_target(88, 92),)}, False, id="scale-2"),
        pytest.param({S.SPO2: [(1, "87")]}, {"directives": (_target(88, 92),)}, True, id="below-scale-2"),
        pytest.param({S.SPO2: [(1, "98")]}, {"directives": (_target(88, 92),)}, False, id="above-scale-2"),
        pytest.param({S.SPO2: [(1, "89")]}, {"born": date(2021, 1, 1)}, True, id="a-child"),
        pytest.param({S.SPO2: [(1, "91")]}, {"born": date(2021, 1, 1)}, False, id="a-child-inside-limits"),
        pytest.param({S.SPO2: [(1.05, "79"), (1, "97")]}, {}, True, id="two-in-one-round"),
    ],
)
def test_a_low_saturation(numbers: Mapping[Signal, Any], rest: dict[str, Any], low: bool) -> None:
    assert _holds(_record(numbers, **rest), Circumstance.HYPOXIA) is low


@pytest.mark.parametrize(
    ("value", "sample", "rest", "low"),
    [
        ("7.9", Sample.ARTERIAL, {}, True),
        ("8.0", Sample.ARTERIAL, {}, False),
        ("5.0", Sample.VENOUS, {}, False),
        ("7.4", Sample.ARTERIAL, {"directives": (_target(88, 92),)}, False),
        ("6.6", Sample.ARTERIAL, {"directives": (_target(88, 92),)}, True),
    ],
)
def test_a_low_gas(value: str, sample: Sample, rest: dict[str, Any], low: bool) -> None:
    """A saturation of 97 % beside it takes nothing from an arterial gas."""
    gas = readings(S.PO2_ARTERIAL, [(1, value)], sample=sample)
    record = _record({S.PO2_ARTERIAL: gas, S.SPO2: [(2, "97")]}, **rest)
    assert _holds(record, Circumstance.HYPOXIA) is low


def test_it_began_with_the_first_that_was_low() -> None:
    """A repeat of the same value moves nothing."""
    record = _record(
        {S.SPO2: [(9, "95"), (7, "88"), (3, "87"), (1, "88")], S.SYSTOLIC_PRESSURE: [(6, "84"), (1, "86")]}
    )
    one = bedside(record)
    assert one.low_oxygen is not None
    assert one.shock is not None
    assert (one.low_oxygen.since, one.shock.since) == (ago(7), ago(6))


def test_metformin_is_held_for_a_gas_that_the_finding_calls() -> None:
    """The label of metformin, 4.3, hypoxia and severe infection."""
    sick = {
        S.RESPIRATION_RATE: [(1, "26")],
        S.SYSTOLIC_PRESSURE: [(1, "98")],
        S.PULSE: [(1, "118")],
        S.SPO2: [(1, "94")],
    }
    rest = {"conditions": (condition(K.INFECTION, began=5),), "orders": (order("Metformin", "metformin"),)}
    for value, action in (("7.4", "hold"), ("9.0", "review")):
        gas = readings(S.PO2_ARTERIAL, [(1, value)], sample=Sample.ARTERIAL)
        found = _metformin(_record({**sick, S.PO2_ARTERIAL: gas}, **rest))
        assert found == action


def _metformin(record: Record) -> str:
    told = findings(record, Kind.MEDICINE).values()
    return next(one.action for one in told if isinstance(one, MedicineFinding))
