"""Investigations against the record: missing, to repeat by, done. Common practice; the times are ours."""

from datetime import date, timedelta

import pytest

from tests.charts import NOW, bedside, chart, rounds
from weatherglass.handover.investigations import WorthHaving, worth_having
from weatherglass.knowledge.investigations import INVESTIGATIONS, Investigation
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Letter, Signal


def _reason(kind: Kind, key: str, *, hours: float = 2, state: State = State.NEW) -> Finding:
    return Finding(
        kind=kind,
        key=key,
        letter=Letter.OVERALL,
        urgency=Urgency.EMERGENCY,
        sentence="Something.",
        brief="something",
        at=NOW,
        sources=(),
        since=NOW - timedelta(hours=hours),
        state=state,
    )


SEPSIS = _reason(Kind.SEPSIS_RISK, "sepsis-risk")
TROPONIN = _reason(Kind.CARDIAC, "troponin")


def _worth(record: Record, *reasons: Finding) -> WorthHaving:
    return worth_having(bedside(record), reasons)


def _named(items: tuple[str, ...], name: str) -> str:
    found = [one for one in items if one.startswith(name)]
    return found[0] if found else ""


def test_what_nobody_measured_is_missing() -> None:
    found = _worth(chart({}), SEPSIS)
    assert {"blood gas with lactate", "capillary glucose", "C-reactive protein"} <= set(found.wanted)
    assert found.done == ()


@pytest.mark.parametrize(("hours", "is_done"), [(0.5, True), (2.9, True), (3.1, False)])
def test_a_sample_of_before_its_reason_does_not_count(hours: float, is_done: bool) -> None:
    """Up to an hour before."""
    found = _worth(chart({Signal.CRP: [(hours, 88)]}), SEPSIS)
    assert bool(_named(found.done, "C-reactive protein (")) is is_done
    if not is_done:
        assert _named(found.wanted, "C-reactive protein (last 04:54)")


def test_every_part_of_it_has_to_be_there() -> None:
    """A gas without a lactate answers half of what is asked."""
    half = _worth(chart({Signal.PH_VENOUS: [(1, "7.31")]}), SEPSIS)
    assert _named(half.wanted, "blood gas with lactate") == "blood gas with lactate"
    whole = _worth(chart({Signal.PH_VENOUS: [(1, "7.31")], Signal.LACTATE: [(1, "3.1")]}), SEPSIS)
    assert _named(whole.wanted, "blood gas") == "blood gas with lactate again by 09:00"


def test_a_repeat_that_is_overdue() -> None:
    gas = {Signal.PH_VENOUS: [(2.5, "7.31")], Signal.LACTATE: [(2.5, "3.1")]}
    assert (
        _named(_worth(chart(gas), SEPSIS).wanted, "blood gas")
        == "blood gas with lactate again now (due 07:30)"
    )


@pytest.mark.parametrize(
    ("samples", "words"),
    [
        ([(2, 60)], "troponin again by 09:00"),
        ([(2, 60), (1, 90)], ""),
        ([(9, 60)], "troponin (last 2"),
    ],
)
def test_a_second_troponin_is_enough(samples: list[tuple[float, int]], words: str) -> None:
    found = _worth(chart({Signal.TROPONIN: samples}), TROPONIN)
    assert _named(found.wanted, "troponin").startswith(words)
    assert bool(_named(found.done, "troponin")) is (not words)


def test_what_is_settling_asks_for_nothing() -> None:
    settling = _reason(Kind.SEPSIS_RISK, "sepsis-risk", state=State.SETTLING)
    assert _worth(chart({}), settling) == WorthHaving()


@pytest.mark.parametrize(("hours", "is_done"), [(23.9, True), (24.1, False)])
def test_a_day_later_it_is_worth_having_again(hours: float, is_done: bool) -> None:
    old = _reason(Kind.SEPSIS_RISK, "sepsis-risk", hours=40)
    found = _worth(chart({Signal.CRP: [(hours, 88)]}), old)
    assert bool(_named(found.done, "C-reactive protein")) is is_done


def test_nothing_is_both_done_and_wanted() -> None:
    numbers = {Signal.CRP: [(1, 88)], Signal.HAEMOGLOBIN: [(1, 120)], Signal.PLATELETS: [(1, 200)]}
    found = _worth(rounds((1, {}), numbers=numbers), SEPSIS, TROPONIN)
    heads = {one.partition(" (")[0] for one in found.done}
    assert heads.isdisjoint(one.partition(" again")[0].partition(" (")[0] for one in found.wanted)


def test_more_results_never_make_what_is_done_missing() -> None:
    less = {Signal.CRP: [(1, 88)]}
    more = {Signal.CRP: [(30, 3), (1, 88)], Signal.LACTATE: [(1, "1")]}
    assert _named(_worth(chart(less), SEPSIS).done, "C-reactive") == _named(
        _worth(chart(more), SEPSIS).done, "C-reactive"
    )


@pytest.mark.parametrize("one", INVESTIGATIONS, ids=lambda one: f"{one.name}-{one.source.locator}")
def test_a_repeat_needs_a_result_to_be_counted_from(one: Investigation) -> None:
    assert one.results or one.again_after is None


@pytest.mark.parametrize(
    ("key", "again"), [("respiratory-acidosis", "again by 08:30"), ("metabolic-acidosis", "again by 09:30")]
)
def test_a_gas_is_repeated_as_soon_as_its_finding_asks(key: str, again: str) -> None:
    """BTS guideline on oxygen, 2017, secondary: a gas again 30 to 60 minutes after a change of oxygen."""
    gas = {Signal.PH_ARTERIAL: [(0.5, "7.22")], Signal.LACTATE: [(0.5, "1.1")]}
    found = _worth(chart(gas), _reason(Kind.BLOOD_GAS, key, hours=0.5))
    assert again in _named(found.wanted, "blood gas with lactate")


ALTERED = _reason(Kind.SINGLE_SIGN, "consciousness")
SCAN = "CT of the head to be considered"


@pytest.mark.parametrize(
    "first",
    [
        _reason(Kind.CRITICAL_RESULT, "glucose-low"),
        _reason(Kind.BLOOD_GAS, "respiratory-acidosis"),
        _reason(Kind.SINGLE_SIGN, "spo2"),
        _reason(Kind.SINGLE_SIGN, "systolic-pressure"),
        _reason(Kind.MEDICINE, "sedation-opioid"),
    ],
    ids=lambda one: one.key,
)
def test_a_scan_waits_for_what_may_be_why(first: Finding) -> None:
    """It is put right first; our choice."""
    assert SCAN in _worth(chart({}), ALTERED).wanted
    assert SCAN not in _worth(chart({}), ALTERED, first).wanted


def test_a_scan_that_a_head_injury_asks_for_is_not_only_considered() -> None:
    """NICE NG232: "CT of the head within 1 hour" stood beside "to be considered"."""
    wanted = _worth(chart({}), ALTERED, _reason(Kind.HEAD_INJURY, "head-injury")).wanted
    assert "CT of the head" in wanted
    assert SCAN not in wanted
    assert SCAN in _worth(chart({}), _reason(Kind.HEAD_INJURY, "rising-pressure")).wanted


def test_a_scan_of_a_child_is_for_its_team() -> None:
    """Our choice."""
    assert SCAN not in _worth(chart({}, born=date(2020, 1, 1)), ALTERED).wanted
