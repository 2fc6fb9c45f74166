"""What is on the problem list or was the reason of a stay: a look at an earlier moment sees the stay go on.

Our choice, and the rule of every series: what was written later, the end of a stay too, is not looked at.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, bedside, chart, condition, findings, reason, rounds
from weatherglass.facts.blood.blatchford import blatchford
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.problems import ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

PREGNANT = condition(ConditionKind.PREGNANCY, began=2000)
#: The moment of the look, and stays that ended at it, a minute after it, later, or never.
LOOK = 12.0
ENDS = [
    pytest.param(LOOK, False, id="ended-at-that-moment"),
    pytest.param(LOOK - 1 / 60, True, id="ended-a-minute-later"),
    pytest.param(2.0, True, id="ended-hours-later"),
    pytest.param(None, True, id="goes-on"),
]


def _came(*kinds: ConditionKind, ends: float | None, text: str = "why") -> tuple[Reason, ...]:
    return (reason(*kinds, text=text, hours=60, ends=ends, inpatient=True),)


def _then(record: Record, kind: Kind, key: str) -> Finding | None:
    return findings(record, kind, as_of=ago(LOOK)).get(key)


@pytest.mark.parametrize(("ends", "goes_on"), ENDS)
def test_a_stay_as_it_stood(ends: float | None, goes_on: bool) -> None:
    record = chart(reasons=_came(ConditionKind.CANCER, ends=ends))
    then = record.until(ago(LOOK))
    assert bool(then.told_of(ConditionKind.CANCER)) is goes_on
    assert bool(then.came_for(ConditionKind.CANCER)) is goes_on
    assert not then.told_of(ConditionKind.POISONING)


def test_the_list_comes_first_and_what_is_over_not_at_all() -> None:
    listed = condition(ConditionKind.CANCER, text="Lymphoma", began=90)
    over = condition(ConditionKind.CANCER, text="Melanoma", began=900, active=False)
    came = _came(ConditionKind.CANCER, ends=None)
    record = chart(conditions=(over, listed), reasons=came)
    assert [(one.text, one.at) for one in record.told_of(ConditionKind.CANCER)] == [
        ("Lymphoma", ago(90)),
        ("why", ago(60)),
    ]


@pytest.mark.parametrize(("ends", "goes_on"), ENDS)
class TestEveryQuestion:
    """Each question that reads why somebody came."""

    def test_tumour_lysis(self, ends: float | None, goes_on: bool) -> None:
        numbers = {Signal.POTASSIUM: [(13, "6.4")], Signal.PHOSPHATE: [(13, "2.4")]}
        record = chart(numbers, reasons=_came(ConditionKind.CANCER, ends=ends))
        assert (_then(record, Kind.METABOLIC, "tumour-lysis") is not None) is goes_on

    def test_paracetamol(self, ends: float | None, goes_on: bool) -> None:
        came = _came(ConditionKind.PARACETAMOL_POISONING, ends=ends, text="Paracetamol overdose")
        record = chart({Signal.INR: [(13, "2.4")], Signal.ALT: [(13, "60")]}, reasons=came)
        assert (_then(record, Kind.METABOLIC, "liver-failure") is not None) is goes_on

    def test_refeeding(self, ends: float | None, goes_on: bool) -> None:
        record = chart(
            {Signal.PHOSPHATE: [(13, "0.3")]}, reasons=_came(ConditionKind.MALNUTRITION, ends=ends)
        )
        assert (_then(record, Kind.METABOLIC, "refeeding") is not None) is goes_on

    def test_neutropenic_sepsis(self, ends: float | None, goes_on: bool) -> None:
        came = _came(ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS, ends=ends)
        record = chart({Signal.TEMPERATURE: [(13, "38.4")]}, reasons=came)
        assert (_then(record, Kind.SEPSIS_RISK, "neutropenic-sepsis") is not None) is goes_on

    def test_a_heart_that_needs_potassium(self, ends: float | None, goes_on: bool) -> None:
        came = _came(ConditionKind.ARRHYTHMIA, ends=ends)
        found = _then(
            chart({Signal.POTASSIUM: [(13, "3.3")]}, reasons=came), Kind.CRITICAL_RESULT, "potassium-low"
        )
        assert found is not None
        assert (found.urgency > 0) is goes_on

    def test_another_cause_than_infection(self, ends: float | None, goes_on: bool) -> None:
        ill: dict[Any, Any] = {
            Signal.TEMPERATURE: "37.0",
            Signal.RESPIRATION_RATE: 26,
            Signal.PULSE: 135,
            Signal.SYSTOLIC_PRESSURE: 90,
            CodedSignal.CONSCIOUSNESS: Consciousness.ALERT,
        }
        record = rounds((13, ill), reasons=_came(ConditionKind.ARRHYTHMIA, ends=ends))
        assert (_then(record, Kind.SEPSIS_RISK, "screen-for-infection") is None) is goes_on


@pytest.mark.parametrize(("ends", "points"), [(None, 2), (2000.0, 0)])
def test_who_fainted_in_another_stay_has_not_fainted_now(ends: float | None, points: int) -> None:
    """Glasgow-Blatchford, 'presentation with syncope' (Lancet 2000;356:1318, read in restatements)."""
    bled = condition(ConditionKind.MELAENA, ConditionKind.BLEEDING, text="Haematemesis", began=3)
    fell = reason(ConditionKind.FALL, text="Syncope and fall", hours=2100, ends=ends, inpatient=True)
    record = rounds((1, {}), conditions=(bled,), reasons=(fell,))
    found = blatchford(bedside(record))
    assert found is not None
    (part,) = (one for one in found.parts if one.part == "fainting")
    assert part.lowest == points


def _procedure(identity: str, at: float | None, **rest: Any) -> Procedure:
    return Procedure(
        origin=Origin(f"Procedure/{identity}"),
        text=identity,
        kinds=frozenset({ProcedureKind.SURGERY}),
        at=ago(at) if at is not None else None,
        **rest,
    )


def test_what_was_done_is_in_order_of_time() -> None:
    """By its time and not by its name; what was asked for, or has no time, is not among it."""
    asked = _procedure("asked", 4, requested=True)
    each = (_procedure("a", 2), asked, _procedure("b", 9, ended=ago(7)), _procedure("c", None))
    found = chart(procedures=each).done(ProcedureKind.SURGERY, ProcedureKind.BIRTH)
    assert [(one.text, one.until) for one in found] == [("b", ago(7)), ("a", ago(2))]
    assert chart(procedures=each).done(ProcedureKind.BIRTH) == ()


def test_the_history_in_pregnancy_names_the_newest_operation() -> None:
    """NICE NG255, table 1: surgery of the last six weeks; the order of the entries says nothing."""
    each = (_procedure("Appendectomy", 48), _procedure("Zygoma repair", 500))
    ill = condition(ConditionKind.INFECTION, began=3, text="Cellulitis")
    record = rounds((1, {}), conditions=(ill, PREGNANT), procedures=each, born=date(1996, 1, 1))
    found = findings(record, Kind.SEPSIS_RISK)["sepsis-signs"]
    assert "Appendectomy on" in found.sentence
