"""Blood in pregnancy and soon after.

Acute fatty liver: Swansea criteria, Ch'ng 2002 (secondary), six or more of 14; six of those that are read.
Fibrinogen below 2 g/L: RCOG Green-top Guideline 52 (from memory). Creatinine 90: NICE NG133 (secondary).
"""

from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
PREGNANT = condition(ConditionKind.PREGNANCY)
VOMITS = condition(ConditionKind.VOMITING_OR_DIARRHOEA, text="Vomiting")
ALT, INR, GLUCOSE, BILIRUBIN = Signal.ALT, Signal.INR, Signal.GLUCOSE, Signal.BILIRUBIN
CREATININE, WBC, FIBRINOGEN = Signal.CREATININE, Signal.WHITE_CELLS, Signal.FIBRINOGEN
SIX = {ALT: "43", INR: "1.5", GLUCOSE: "3.9", BILIRUBIN: "15", CREATININE: "151", WBC: "11.1"}


def _record(values: dict[Signal, str], *others: Any, hours: float = 2, **rest: Any) -> Record:
    numbers = {signal: [(hours, value)] for signal, value in values.items()}
    return chart(numbers, conditions=(PREGNANT, *others), **rest)


def _found(record: Record, key: str) -> Finding | None:
    return {**findings(record, Kind.METABOLIC), **findings(record, Kind.CRITICAL_RESULT)}.get(key)


class TestFattyLiver:
    @pytest.mark.parametrize(
        ("changed", "is_asked"),
        [
            ({}, True),
            ({ALT: "42"}, False),
            ({INR: "1.4"}, False),
            ({GLUCOSE: "4.0"}, False),
            ({BILIRUBIN: "14"}, False),
            ({CREATININE: "150"}, False),
            ({WBC: "11.0"}, False),
        ],
    )
    def test_both_sides_of_each(self, changed: dict[Signal, str], is_asked: bool) -> None:
        """Six are enough and five are not."""
        found = _found(_record({**SIX, **changed}), "fatty-liver-of-pregnancy")
        assert (found is not None) is is_asked
        if found is not None:
            assert (found.urgency, found.since) == (E, ago(2))
            assert "6 of 14" in found.sentence

    def test_vomiting_counts(self) -> None:
        found = _found(_record({**SIX, WBC: "10"}, VOMITS), "fatty-liver-of-pregnancy")
        assert found is not None
        assert "vomiting" in found.sentence

    def test_prothrombin_time_and_aptt_stand_for_the_inr(self) -> None:
        rest = {signal: value for signal, value in SIX.items() if signal is not INR}
        assert _found(_record({**rest, Signal.PROTHROMBIN_TIME: "14.1"}), "fatty-liver-of-pregnancy")
        assert _found(_record({**rest, Signal.APTT: "34.1"}), "fatty-liver-of-pregnancy")
        assert not _found(_record({**rest, Signal.APTT: "34"}), "fatty-liver-of-pregnancy")

    def test_not_outside_pregnancy_and_not_by_old_blood(self) -> None:
        numbers = {signal: [(2, value)] for signal, value in SIX.items()}
        assert not _found(chart(numbers), "fatty-liver-of-pregnancy")
        assert not _found(_record(SIX, hours=25), "fatty-liver-of-pregnancy")


class TestClotting:
    @pytest.mark.parametrize(
        ("values", "urgency"),
        [
            ({FIBRINOGEN: "2.0", INR: "2.0"}, None),
            ({FIBRINOGEN: "1.9"}, U),
            ({FIBRINOGEN: "1.9", INR: "1.4"}, U),
            ({FIBRINOGEN: "1.9", INR: "1.5"}, E),
            ({FIBRINOGEN: "1.9", Signal.PLATELETS: "75"}, U),
            ({FIBRINOGEN: "1.9", Signal.PLATELETS: "74"}, E),
        ],
    )
    def test_fibrinogen(self, values: dict[Signal, str], urgency: Urgency | None) -> None:
        found = _found(_record(values), "clotting-in-pregnancy")
        assert (found.urgency if found is not None else None) is urgency

    def test_with_recorded_bleeding(self) -> None:
        bleeds = condition(ConditionKind.BLEEDING, text="Antepartum haemorrhage", began=1)
        found = _found(_record({FIBRINOGEN: "1.9"}, bleeds), "clotting-in-pregnancy")
        assert found is not None
        assert found.urgency is E

    def test_nothing_is_pushed_that_a_directive_may_refuse(self) -> None:
        """Somebody who refuses blood products is not told to be given them."""
        refused = Directive(
            origin=Origin("Flag/1"), kind=DirectiveKind.ADVANCE_DIRECTIVE, text="Refuses blood products"
        )
        found = _found(_record({FIBRINOGEN: "1.9"}, directives=(refused,)), "clotting-in-pregnancy")
        assert found is not None
        assert "products" not in found.sentence

    def test_not_outside_pregnancy(self) -> None:
        assert not _found(chart({FIBRINOGEN: [(2, "1.0")]}), "clotting-in-pregnancy")


class TestCreatinine:
    @pytest.mark.parametrize(("value", "urgency"), [("89", None), ("90", P), ("150", P), ("151", U)])
    def test_alone(self, value: str, urgency: Urgency | None) -> None:
        """One that nothing earlier stages is still high for pregnancy."""
        found = _found(_record({CREATININE: value}), "creatinine-in-pregnancy")
        assert (found.urgency if found is not None else None) is urgency

    @pytest.mark.parametrize(
        ("record", "why"),
        [
            (_record({CREATININE: "168"}, condition(ConditionKind.CHRONIC_KIDNEY_DISEASE)), "known"),
            (_record({CREATININE: "168", Signal.SYSTOLIC_PRESSURE: "150"}), "told with the pressure"),
            (_record({CREATININE: "168", Signal.PLATELETS: "80", ALT: "90"}), "told with HELLP syndrome"),
            (chart({CREATININE: [(60, "52"), (2, "168")]}, conditions=(PREGNANT,)), "staged"),
            (chart({CREATININE: [(2, "168")]}, conditions=(condition(ConditionKind.POSTPARTUM),)), "after"),
        ],
    )
    def test_not_where_it_is_told_or_known(self, record: Record, why: str) -> None:
        assert _found(record, "creatinine-in-pregnancy") is None, why
