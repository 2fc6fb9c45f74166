"""Lost blood and a rising pressure in the skull of a child, where limits of adults say nothing.

The cells are those of Bedside PEWS (Parshuram 2009, Table 1): from 4 to 12 years a pulse scores 2 from 130
and for slowness from 70 down, a systolic pressure 1 from 90 down and from 120 up, and 2 from 80 down; a
capillary refill of 3 seconds scores at every age. That two of them beside recorded bleeding are an emergency,
and how large the changes of Cushing's pattern are in a child, is our choice.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.facts.rounds.child_cells import pressure_above, pressure_below, pulse_above, pulse_below
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
SIX = date(2019, 6, 1)
BLEEDS = condition(ConditionKind.BLEEDING, began=2)
HR, SBP, CRT, GCS = Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.CAPILLARY_REFILL, Signal.GCS_TOTAL


def _bleeding(pulse: str, systolic: str, refill: str, *conditions: Any) -> Finding | None:
    record = chart(
        {HR: [(1, pulse)], SBP: [(1, systolic)], CRT: [(1, refill)]},
        born=SIX,
        conditions=conditions or (BLEEDS,),
    )
    return findings(record, Kind.POSSIBLE_BLEEDING).get("possible-bleeding")


@pytest.mark.parametrize(
    ("pulse", "systolic", "refill", "urgency"),
    [
        ("100", "100", "2", P),
        ("130", "100", "2", U),
        ("100", "90", "2", U),
        ("100", "100", "3", U),
        ("130", "90", "2", E),
        ("130", "100", "3", E),
        ("129", "91", "2", P),
        ("100", "80", "2", E),
    ],
)
def test_recorded_bleeding_in_a_child(pulse: str, systolic: str, refill: str, urgency: Urgency) -> None:
    found = _bleeding(pulse, systolic, refill)
    assert found is not None
    assert found.urgency is urgency
    assert ("pulse" in found.sentence) is (pulse == "130")


def test_signs_without_bleeding_ask_about_none() -> None:
    assert _bleeding("150", "80", "4", condition(ConditionKind.ASTHMA, began=2)) is None


def _shock(pulse: str, systolic: str, refill: str, mind: Any = None, **rest: Any) -> Finding | None:
    codes = {CodedSignal.CONSCIOUSNESS: [(1.0, mind)]} if mind is not None else {}
    numbers = {HR: [(1, pulse)], SBP: [(1, systolic)], CRT: [(1, refill)]}
    found = findings(chart(numbers, codes=codes, **{"born": SIX, **rest}), Kind.SINGLE_SIGN)
    return found.get("child-in-shock")


@pytest.mark.parametrize(
    ("pulse", "systolic", "refill", "mind", "urgency"),
    [
        ("130", "90", "3", None, E),
        ("129", "90", "3", None, U),
        ("130", "91", "3", None, U),
        ("130", "90", "2", None, U),
        ("130", "81", "2", None, U),
        ("130", "80", "2", None, E),
        ("129", "80", "3", None, E),
        ("129", "91", "3", None, None),
        ("130", "91", "2", None, None),
        ("130", "91", "3", Consciousness.VOICE, E),
    ],
)
def test_shock_of_which_nothing_speaks(
    pulse: str, systolic: str, refill: str, mind: Any, urgency: Urgency | None
) -> None:
    """From memory: a fast pulse and a slow refill are shock, and the pressure falls last; grades are ours."""
    found = _shock(pulse, systolic, refill, mind)
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize("kind", [ConditionKind.BLEEDING, ConditionKind.INFECTION])
def test_what_is_on_record_asks_for_itself(kind: ConditionKind) -> None:
    assert _shock("130", "90", "3", conditions=(condition(kind, began=2),)) is None


def test_a_virus_explains_no_shock() -> None:
    """A child dried out by gastroenteritis was asked about bacteria alone."""
    virus = condition(ConditionKind.INFECTION, ConditionKind.VIRAL_INFECTION, began=2, text="Gastroenteritis")
    assert _shock("130", "90", "3", conditions=(virus,)) is not None


@pytest.mark.parametrize(
    ("pulse", "born", "is_rhythm"),
    [
        ("180", SIX, False),
        ("181", SIX, True),
        ("220", date(2025, 9, 1), False),
        ("221", date(2025, 9, 1), True),
    ],
)
def test_a_pulse_that_may_be_a_rhythm(pulse: str, born: date, is_rhythm: bool) -> None:
    """From memory: above 220 in the first year and 180 after it an ECG comes before fluid."""
    found = _shock(pulse, "60", "4", born=born)
    assert found is not None
    assert ("ECG" in found.at_once) is is_rhythm
    assert ("adenosine" in found.sentence) is is_rhythm


def test_an_adult_and_a_newborn_have_other_questions() -> None:
    assert _shock("130", "90", "3", born=date(1980, 1, 1)) is None
    assert _shock("190", "50", "4", born=date(2026, 3, 1)) is None


def test_it_counts_from_when_the_third_was_there() -> None:
    """Law 3: two signs of the morning are no emergency of the morning."""
    numbers = {HR: [(5, "140"), (1, "140")], SBP: [(5, "100"), (1, "88")], CRT: [(5, "3"), (1, "4")]}
    found = findings(chart(numbers, born=SIX), Kind.SINGLE_SIGN)["child-in-shock"]
    assert (found.urgency, found.since, found.asked_since) == (E, ago(5), ago(1))


def test_the_deadline_counts_from_when_shock_began() -> None:
    """A repeat moves nothing; the moment of looking moves nothing."""
    record = chart(
        {HR: [(3, "110"), (2, "140"), (1, "144")], CRT: [(3, "2"), (2, "3"), (1, "4")]},
        born=SIX,
        conditions=(condition(ConditionKind.BLEEDING, began=5),),
    )
    for hours in (0, 0.5, 1):
        found = findings(record, Kind.POSSIBLE_BLEEDING, as_of=ago(hours))["possible-bleeding"]
        assert (found.urgency, found.asked_since) == (E, ago(2))


@pytest.mark.parametrize(
    ("value", "above", "below"), [(130, 2, 0), (129, 1, 0), (109, 0, 0), (70, 0, 1), (60, 0, 2), (50, 0, 4)]
)
def test_pulse_at_six(value: int, above: int, below: int) -> None:
    """Bedside PEWS, 4-12 years."""
    assert [int(pulse_above(Decimal(value), 80)), int(pulse_below(Decimal(value), 80))] == [above, below]


@pytest.mark.parametrize(("value", "above", "below"), [(120, 1, 0), (119, 0, 0), (90, 0, 1), (80, 0, 2)])
def test_pressure_at_six(value: int, above: int, below: int) -> None:
    """Bedside PEWS, 4-12 years."""
    found = [int(pressure_above(Decimal(value), 80)), int(pressure_below(Decimal(value), 80))]
    assert found == [above, below]


@pytest.mark.parametrize(
    ("pressure", "pulse", "coma", "urgency"),
    [
        (("104", "138"), ("98", "60"), ("15", "13"), E),
        (("104", "138"), ("98", "60"), ("15", "15"), None),
        (("104", "119"), ("98", "60"), ("15", "13"), None),
        (("104", "138"), ("98", "80"), ("15", "13"), None),
        (("120", "130"), ("98", "60"), ("15", "13"), None),
        (("104", "138"), ("80", "66"), ("15", "13"), None),
    ],
)
def test_rising_pressure_with_a_falling_pulse(
    pressure: tuple[str, str], pulse: tuple[str, str], coma: tuple[str, str], urgency: Urgency | None
) -> None:
    """Adults' 140 and 60 are not reached by a child whose brain is pressed."""
    values = {
        signal: [(3, before), (1, now)]
        for signal, (before, now) in ((SBP, pressure), (HR, pulse), (GCS, coma))
    }
    found = findings(chart(values, born=SIX), Kind.HEAD_INJURY).get("rising-pressure")
    assert (found.urgency if found is not None else None) is urgency
