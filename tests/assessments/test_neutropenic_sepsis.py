"""Neutropenic sepsis: NICE CG151, 2012 (key priorities), temperature above 38 in a secondary copy.

What counts besides a count of 0.5 and fever, and 'at the latest an hour', are ours.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.charts import (
    PNEUMONIA,
    administered,
    ago,
    antibacterial,
    condition,
    findings,
    order,
    reading,
    rounds,
)
from weatherglass.knowledge.sepsis import neutropenic_sepsis as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

E, U = Urgency.EMERGENCY, Urgency.URGENT
KEY = "neutropenic-sepsis"
CLOZAPINE = order("Clozapine 200 mg tablets")
CHEMOTHERAPY = order("Cisplatin 50 mg infusion", starts=24 * 9, ends=24 * 8)


def _named(hours: float) -> Any:
    return condition(ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS, ConditionKind.INFECTION, began=hours)


NAMED = _named(5)


def _found(record: Record) -> dict[str, Finding]:
    return findings(record, Kind.SEPSIS_RISK)


def _record(neutrophils: str | None = None, heat: str = "37.0", *, hours: float = 2, **rest: Any) -> Record:
    numbers = {Signal.NEUTROPHILS: [(hours, neutrophils)]} if neutrophils is not None else {}
    return rounds((1, {Signal.TEMPERATURE: heat}), numbers=numbers, **rest)


@pytest.mark.parametrize(
    ("record", "expected"),
    [
        pytest.param(_record("0.5", "38.1"), True, id="0.5-and-38.1"),
        pytest.param(_record("0.5", "38.0"), False, id="0.5-and-38.0"),
        pytest.param(_record("0.6", "38.1"), False, id="0.6-and-38.1"),
        pytest.param(_record("0.5", "38.1", hours=24 * 7), True, id="a-week-old"),
        pytest.param(_record("0.5", "38.1", hours=24 * 7 + 1), False, id="older"),
        pytest.param(_record("0.9", conditions=(PNEUMONIA,)), True, id="infection-and-0.9"),
        pytest.param(_record("0.9", "38.1", orders=(CLOZAPINE,)), True, id="0.9-and-38.1-on-clozapine"),
        pytest.param(_record("0.9", "38.0", orders=(CLOZAPINE,)), False, id="0.9-and-38.0-on-clozapine"),
        pytest.param(_record("1.0", "38.1", orders=(CLOZAPINE,)), False, id="1.0-and-38.1-on-clozapine"),
        pytest.param(_record("0.9", "38.1"), False, id="0.9-and-38.1-on-nothing"),
        pytest.param(_record("1.0", conditions=(PNEUMONIA,)), False, id="infection-and-1.0"),
        pytest.param(_record(conditions=(NAMED,)), True, id="by-name"),
        pytest.param(_record("3.1", conditions=(NAMED,)), True, id="by-name-whatever-the-count"),
        pytest.param(_record("3.1", conditions=(_named(24 * 14),)), True, id="by-name-of-14-days"),
        pytest.param(_record("3.1", conditions=(_named(24 * 14 + 1),)), False, id="by-name-of-old"),
        pytest.param(
            _record(conditions=(PNEUMONIA, condition(ConditionKind.NEUTROPENIA))), True, id="listed"
        ),
        pytest.param(
            _record(conditions=(condition(ConditionKind.NEUTROPENIA),)), False, id="listed-and-well"
        ),
        pytest.param(_record(conditions=(PNEUMONIA,), orders=(CHEMOTHERAPY,)), True, id="chemotherapy"),
        pytest.param(
            _record("1.0", conditions=(PNEUMONIA,), orders=(CHEMOTHERAPY,)), False, id="count-normal"
        ),
        pytest.param(
            _record("1.0", hours=25, conditions=(PNEUMONIA,), orders=(CHEMOTHERAPY,)), True, id="count-old"
        ),
        pytest.param(_record(heat="38.1", orders=(CHEMOTHERAPY,)), True, id="fever-under-chemotherapy"),
        pytest.param(_record("0.9", "38.1", orders=(CHEMOTHERAPY,)), True, id="fever-and-0.9"),
        pytest.param(_record("1.0", "38.1", orders=(CHEMOTHERAPY,)), False, id="fever-and-1.0"),
        pytest.param(_record("1.4", "38.1", hours=25, orders=(CHEMOTHERAPY,)), True, id="fever-count-old"),
        pytest.param(_record("0.9", "38.0", orders=(CHEMOTHERAPY,)), False, id="no-fever-and-0.9"),
        pytest.param(
            _record(conditions=(PNEUMONIA,), orders=(order("Cisplatin", starts=24 * 50, ends=24 * 43),)),
            False,
            id="chemotherapy-of-seven-weeks-ago",
        ),
        pytest.param(_record("0.1", "38.4", born=date(2019, 1, 1)), True, id="a-child"),
        pytest.param(
            _record("0.1", "38.4", conditions=(condition(ConditionKind.PREGNANCY),)), True, id="in-pregnancy"
        ),
    ],
)
def test_who_has_it(record: Record, expected: bool) -> None:
    found = _found(record)
    assert (KEY in found) is expected
    if expected:
        assert found[KEY].urgency is E
        assert "sepsis-risk" not in found
        assert "sepsis-signs" not in found


@pytest.mark.parametrize(
    ("heat", "route", "expected"),
    [("37.0", Route.ORAL, False), ("38.1", Route.ORAL, True), ("37.0", Route.INTRAVENOUS, True)],
    ids=["tablets-alone", "tablets-and-fever", "by-vein"],
)
def test_tablets_alone_may_be_prevention(heat: str, route: Route, expected: bool) -> None:
    """Ours: many with few cells take an antibacterial for months; by a vein it treats."""
    taken = order("Co-trimoxazole", "antibacterial", route=route, starts=200)
    found = _found(_record("0.4", heat, orders=(taken,)))
    assert ("neutropenic-sepsis" in found) is expected


def test_the_real_temperature_and_no_stratum() -> None:
    found = _found(_record("0.1", "38.3", conditions=(PNEUMONIA,)))
    assert set(found) == {KEY}
    sentence = found[KEY].sentence
    assert "neutrophils 0.1" in sentence
    assert "temperature 38.3 \N{DEGREE SIGN}C" in sentence
    assert "antibiotic immediately" in sentence
    assert "stratum" not in sentence
    assert "low risk" not in sentence


@pytest.mark.parametrize(
    ("count", "heat", "began", "expected"),
    [
        ("1.2", "37.4", None, False),
        ("0.9", "37.4", None, True),
        (None, "37.4", None, True),
        ("1.2", "38.1", None, True),
        ("1.2", "37.4", 30, True),
    ],
)
def test_a_name_without_a_date(count: str | None, heat: str, began: float | None, expected: bool) -> None:
    """Our choice: where the cells are back and nobody is ill, what nobody dated is over."""
    named = condition(ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS, text="Neutropenic sepsis", began=began)
    assert (KEY in _found(_record(count, heat, conditions=(named,)))) is expected


def test_a_limit_counts_as_what_it_can_be() -> None:
    low = reading(Signal.NEUTROPHILS, 2, "0.1", spread=(None, "0.1"))
    found = _found(rounds((1, {Signal.TEMPERATURE: "38.4"}), numbers={Signal.NEUTROPHILS: [low]}))
    assert KEY in found


class TestDeadline:
    """From when both held; no repeat begins it again."""

    def test_from_when_both_held(self) -> None:
        record = rounds(
            (8, {Signal.TEMPERATURE: "38.4"}),
            (1, {Signal.TEMPERATURE: "38.9"}),
            numbers={Signal.NEUTROPHILS: [(10, "0.3"), (3, "0.2")]},
        )
        found = _found(record)[KEY]
        assert (found.since, found.asked_since, found.within) == (ago(8), ago(8), timedelta(hours=1))
        assert (
            "antimicrobial was due at 01:00 on 12 March, 7 hours ago: no dose is recorded" in found.sentence
        )
        assert found.brief == "Neutropenic sepsis: antimicrobial was due 01:00, none recorded"

    def test_given(self) -> None:
        record = _record("0.1", "38.4", administrations=(antibacterial(0.5),))
        found = _found(record)[KEY]
        assert "Amoxicillin given at 07:30" in found.sentence
        assert found.within is None

    def test_treated_for_more_than_a_day(self) -> None:
        record = rounds(
            (30, {Signal.TEMPERATURE: "38.4"}),
            (8, {Signal.TEMPERATURE: "38.4"}),
            numbers={Signal.NEUTROPHILS: [(40, "0.3")]},
            administrations=(antibacterial(29), antibacterial(5)),
        )
        found = _found(record)[KEY]
        assert found.urgency is U
        assert "antibiotic immediately" not in found.sentence

    @pytest.mark.parametrize(("breathing", "is_asked"), [("25", True), ("16", False)])
    def test_who_is_ill_after_a_day_of_it(self, breathing: str, is_asked: bool) -> None:
        """Common practice, no source: worse or no better under treatment asks whether it is the right one."""
        ill = {Signal.TEMPERATURE: "38.4", Signal.RESPIRATION_RATE: breathing, Signal.PULSE: "112"}
        record = rounds(
            (30, {Signal.TEMPERATURE: "38.4"}),
            (1, ill),
            numbers={Signal.NEUTROPHILS: [(40, "0.3")]},
            administrations=(antibacterial(29), antibacterial(5)),
        )
        assert ("ask now whether it is the right treatment" in _found(record)[KEY].sentence) is is_asked


@pytest.mark.parametrize(
    ("record", "rests"),
    [
        pytest.param(_record(conditions=(PNEUMONIA,), orders=(CHEMOTHERAPY,)), True, id="by-its-name"),
        pytest.param(_record(conditions=(NAMED,)), False, id="by-the-problem"),
    ],
)
def test_a_medicine_known_by_its_name_says_so(record: Record, rests: bool) -> None:
    """From memory: which names are those of chemotherapy."""
    assert (criteria.CYTOTOXIC.source in _found(record)[KEY].sources) is rests


def _unwell(neutrophils: str, breathing: str, pulse: str) -> Record:
    """NEWS2 by breathing and pulse alone, without fever."""
    shown = {Signal.RESPIRATION_RATE: breathing, Signal.PULSE: pulse, Signal.TEMPERATURE: "36.4"}
    return rounds((1, shown), numbers={Signal.NEUTROPHILS: [(2, neutrophils)]})


@pytest.mark.parametrize(
    ("neutrophils", "breathing", "pulse", "expected"),
    [("0.5", "25", "111", True), ("0.5", "24", "111", False), ("0.6", "25", "111", False)],
)
def test_unwell_without_fever(neutrophils: str, breathing: str, pulse: str, expected: bool) -> None:
    """CG151: or other signs of clinically significant sepsis; NEWS2 5 stands for them by our choice."""
    found = _found(_unwell(neutrophils, breathing, pulse)).get(KEY)
    assert (found is not None) is expected
    if found is not None:
        assert (found.urgency, found.since) == (E, ago(1))
        assert "NEWS2 5" in found.sentence


@pytest.mark.parametrize(("pulse", "systolic", "expected"), [("156", "74", True), ("120", "92", False)])
def test_a_child_in_shock_without_fever(pulse: str, systolic: str, expected: bool) -> None:
    """Dexamethasone hides the fever of a child in induction; two signs of shock are ours."""
    shown = {Signal.PULSE: pulse, Signal.SYSTOLIC_PRESSURE: systolic, Signal.TEMPERATURE: "37.4"}
    low = {Signal.NEUTROPHILS: [(2, "0.1")]}
    found = _found(rounds((1, shown), numbers=low, born=date(2023, 1, 1))).get(KEY)
    assert (found is not None) is expected
    assert found is None or "pulse 156 /min and systolic blood pressure 74 mmHg" in found.sentence


_DRIP = order("Meropenem 1 g", "antibacterial", route=Route.INTRAVENOUS, starts=60)


@pytest.mark.parametrize(
    ("heat", "doses", "orders", "urgency"),
    [
        pytest.param("37.0", (4, 30), (), Urgency.ROUTINE, id="given-for-a-day"),
        pytest.param("37.0", (4,), (_DRIP,), Urgency.ROUTINE, id="ordered-for-a-day"),
        pytest.param("37.0", (4, 20), (), E, id="given-for-less"),
        pytest.param("38.1", (4, 30), (_DRIP,), E, id="fever"),
        pytest.param("37.0", (), (_DRIP,), E, id="no-dose"),
    ],
)
def test_a_count_that_falls_under_treatment(
    heat: str, doses: tuple[float, ...], orders: tuple[Any, ...], urgency: Urgency
) -> None:
    """Ours: no new emergency in somebody who is well and has had an antibacterial by vein for a day."""
    given = tuple(administered("Meropenem 1 g", h, "antibacterial", route=Route.INTRAVENOUS) for h in doses)
    record = _record("0.2", heat, conditions=(PNEUMONIA,), orders=orders, administrations=given)
    assert _found(record)[KEY].urgency is urgency


@pytest.mark.parametrize(("doses", "asks_again"), [((4,), False), ((4, 12), True)])
def test_from_the_second_dose_on_the_first_is_not_asked_for(
    doses: tuple[float, ...], *, asks_again: bool
) -> None:
    """Ours: "antibiotic immediately" stood over the fourth dose of somebody who got worse."""
    given = tuple(administered("Meropenem 1 g", h, "antibacterial", route=Route.INTRAVENOUS) for h in doses)
    shown = {Signal.RESPIRATION_RATE: "26", Signal.PULSE: "121", Signal.TEMPERATURE: "38.8"}
    record = rounds(
        (1, shown),
        (14, {Signal.TEMPERATURE: "38.6"}),
        numbers={Signal.NEUTROPHILS: [(15, "0.1")]},
        administrations=given,
    )
    sentence = _found(record)[KEY].sentence
    assert ("ask now whether it is the right treatment" in sentence) is asks_again
    assert ("antibiotic immediately" in sentence) is not asks_again
