"""An anion gap that lactate and ketones do not explain (Kraut and Kurtz 2008, abstract; limits ours)."""

from collections.abc import Mapping
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

ALCOHOL = condition(ConditionKind.ALCOHOL_DEPENDENCE, text="Alcohol dependence")
LACTATE, KETONES = Signal.LACTATE, Signal.KETONES
_GAS = {
    Signal.PH_ARTERIAL: "7.25",
    Signal.PCO2_ARTERIAL: "2.6",
    Signal.BICARBONATE: "9",
    Signal.SODIUM: "140",
    Signal.CHLORIDE: "99",
    LACTATE: "1.6",
    KETONES: "0.4",
}


def _record(changed: Mapping[Signal, str | None] | None = None, **rest: Any) -> Record:
    numbers = {**_GAS, **(changed or {})}
    return chart({signal: [(1, value)] for signal, value in numbers.items() if value is not None}, **rest)


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.METABOLIC).get("unexplained-gap")


@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        pytest.param({}, True, id="gap-32-with-18-left"),
        pytest.param({Signal.CHLORIDE: "107"}, True, id="gap-24-with-10-left"),
        pytest.param({Signal.CHLORIDE: "107.1"}, False, id="gap-23.9-with-9.9-left"),
        pytest.param({LACTATE: "3.9"}, True, id="lactate-3.9"),
        pytest.param({LACTATE: "4.0"}, False, id="lactate-4"),
        pytest.param({KETONES: "3.0"}, False, id="ketones-3"),
        pytest.param({KETONES: None}, True, id="ketones-not-measured"),
        pytest.param({KETONES: None, Signal.GLUCOSE: "16"}, False, id="asked-for-as-ketoacidosis"),
        pytest.param({Signal.CREATININE: "700"}, False, id="failing-kidneys"),
        pytest.param({Signal.CREATININE: "700", Signal.CHLORIDE: "97"}, True, id="more-than-kidneys-bring"),
        pytest.param({Signal.CHLORIDE: None}, False, id="no-chloride"),
    ],
)
def test_what_is_left(changed: dict[Signal, str | None], asked: bool) -> None:
    assert (_found(_record(changed)) is not None) == asked


@pytest.mark.parametrize(
    ("ph", "seen", "urgency"),
    [
        ("7.25", Consciousness.ALERT, Urgency.URGENT),
        ("7.20", Consciousness.ALERT, Urgency.EMERGENCY),
        ("7.25", Consciousness.VOICE, Urgency.EMERGENCY),
    ],
)
def test_how_soon(ph: str, seen: Consciousness, urgency: Urgency) -> None:
    record = _record({Signal.PH_ARTERIAL: ph}, codes={CodedSignal.CONSCIOUSNESS: [(1, seen)]})
    found = _found(record)
    assert found is not None
    assert found.urgency is urgency
    assert (
        "Toxic alcohol or salicylate? Anion gap 32 mmol/L with lactate 1.6 and ketones 0.4" in found.sentence
    )


def test_a_measured_osmolality_gives_its_gap() -> None:
    """Common practice, no source: 2 x 140 + 6 + 5 is 291."""
    terms = {Signal.GLUCOSE: "6", Signal.UREA: "5", Signal.OSMOLALITY: "333"}
    found = _found(_record(terms))
    assert found is not None
    assert "osmolal gap 42" in found.brief


def test_it_comes_before_the_question_of_withdrawal() -> None:
    """Common practice, no source: nobody sedates an acidosis that nobody has named."""
    codes = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.NEW_CONFUSION)]}
    pulse = {Signal.PULSE: "120"}
    asked = findings(_record(pulse, codes=codes, conditions=(ALCOHOL,)), Kind.METABOLIC)
    assert set(asked) == {"unexplained-gap"}
    plain = findings(_record({**pulse, LACTATE: "5"}, codes=codes, conditions=(ALCOHOL,)), Kind.METABOLIC)
    assert "alcohol-withdrawal" in plain


def test_a_repeat_moves_nothing() -> None:
    numbers = {signal: [(5, value), (1, value)] for signal, value in _GAS.items()}
    found = _found(chart(numbers))
    assert found is not None
    assert (found.since, found.asked_since, found.at) == (ago(5), ago(5), ago(1))
