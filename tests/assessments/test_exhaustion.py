"""A child tired out by breathing: severe effort with an altered mind. From memory; graded by us."""

from datetime import date

import pytest

from tests.charts import administered, ago, chart, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.signals import CodedSignal, Consciousness, RespiratoryEffort, Signal

SEVERE, MODERATE = RespiratoryEffort.SEVERE, RespiratoryEffort.MODERATE
ALERT, VOICE = Consciousness.ALERT, Consciousness.VOICE
CHILD, ADULT = date(2024, 1, 1), date(1980, 1, 1)


def _found(effort: RespiratoryEffort, mind: Consciousness, born: date, hours: float = 1) -> Finding | None:
    codes = {CodedSignal.RESPIRATORY_EFFORT: [(hours, effort)], CodedSignal.CONSCIOUSNESS: [(1.0, mind)]}
    record = chart({Signal.RESPIRATION_RATE: [(1, 24)]}, codes=codes, born=born)
    return findings(record, Kind.SINGLE_SIGN).get("exhaustion")


@pytest.mark.parametrize(
    ("effort", "mind", "born", "is_told"),
    [
        (SEVERE, VOICE, CHILD, True),
        (SEVERE, ALERT, CHILD, False),
        (MODERATE, VOICE, CHILD, False),
        (SEVERE, VOICE, ADULT, False),
    ],
)
def test_both_are_asked_for(
    effort: RespiratoryEffort, mind: Consciousness, born: date, is_told: bool
) -> None:
    found = _found(effort, mind, born)
    assert (found is not None) is is_told
    if found is not None:
        assert (found.urgency, found.since) == (Urgency.EMERGENCY, ago(1))


@pytest.mark.parametrize(
    ("effort", "born", "urgency"),
    [(SEVERE, CHILD, Urgency.URGENT), (MODERATE, CHILD, None), (SEVERE, ADULT, None)],
)
def test_severe_effort_alone(effort: RespiratoryEffort, born: date, urgency: Urgency | None) -> None:
    """Ours: "Nothing urgent found" stood over a grunting infant with a Bedside PEWS of 4."""
    codes = {
        CodedSignal.RESPIRATORY_EFFORT: [(3.0, effort), (1.0, effort)],
        CodedSignal.CONSCIOUSNESS: [(1.0, ALERT)],
    }
    record = chart({Signal.RESPIRATION_RATE: [(1, 24)]}, codes=codes, born=born)
    found = findings(record, Kind.SINGLE_SIGN).get("respiratory-effort")
    assert (found.urgency if found is not None else None) is urgency
    assert found is None or found.since == ago(3)


def test_an_old_effort_says_nothing_of_now() -> None:
    assert _found(SEVERE, VOICE, CHILD, hours=30) is None


def test_the_same_effort_once_more_moves_no_deadline() -> None:
    """Ours: a child is tired since both were there first."""
    codes = {
        CodedSignal.RESPIRATORY_EFFORT: [(5.0, MODERATE), (3.0, SEVERE), (1.0, SEVERE)],
        CodedSignal.CONSCIOUSNESS: [(5.0, ALERT), (3.0, VOICE), (1.0, VOICE)],
    }
    record = chart({Signal.RESPIRATION_RATE: [(5, 24), (3, 24), (1, 24)]}, codes=codes, born=CHILD)
    found = findings(record, Kind.SINGLE_SIGN)["exhaustion"]
    assert found.since == ago(3)


@pytest.mark.parametrize(
    ("before", "now", "spo2", "mind", "born", "is_told"),
    [
        pytest.param("60", "40", "91", VOICE, CHILD, True, id="a-third-less"),
        pytest.param("60", "41", "91", VOICE, CHILD, False, id="less-than-a-third"),
        pytest.param("60", "40", "92", VOICE, CHILD, False, id="saturation-not-low"),
        pytest.param("60", "40", "91", ALERT, CHILD, False, id="alert"),
        pytest.param("60", "40", "91", VOICE, ADULT, False, id="an-adult"),
    ],
)
def test_slowing_is_no_recovery(
    before: str, now: str, spo2: str, mind: Consciousness, born: date, is_told: bool
) -> None:
    """By a third within 12 hours at a saturation below 92 %: our choice."""
    numbers = {Signal.RESPIRATION_RATE: [(9, before), (1, now)], Signal.SPO2: [(1, spo2)]}
    record = chart(numbers, codes={CodedSignal.CONSCIOUSNESS: [(1.0, mind)]}, born=born)
    found = findings(record, Kind.SINGLE_SIGN).get("exhaustion")
    assert (found is not None) is is_told
    if found is not None:
        assert (found.urgency, found.since) == (Urgency.EMERGENCY, ago(1))
        assert (
            "Breathing 40 /min from 60 at a saturation of 91 % with response to voice only" in found.sentence
        )


@pytest.mark.parametrize(
    ("slowed", "given", "is_tired"), [("20", True, False), ("20", False, True), ("21", True, True)]
)
def test_breathing_that_an_opioid_slows(slowed: str, given: bool, is_tired: bool) -> None:
    """Ours: after tonsils and morphine "nothing that upsets the child" stood in the place of naloxone."""
    numbers = {Signal.RESPIRATION_RATE: [(4, "40"), (1, slowed)], Signal.SPO2: [(1, "88")]}
    doses = (administered("Morphine 2 mg", 2, "opioid"),) if given else ()
    record = chart(
        numbers, codes={CodedSignal.CONSCIOUSNESS: [(1.0, VOICE)]}, born=CHILD, administrations=doses
    )
    assert ("exhaustion" in findings(record, Kind.SINGLE_SIGN)) is is_tired
