"""INR with altered mind: from memory; King's College: as restated; the grading is ours."""

from datetime import date
from typing import Any

import pytest

from tests.charts import administered, ago, condition, findings, order, reading, rounds
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

INR, ALT = Signal.INR, Signal.ALT
CIRRHOSIS = condition(ConditionKind.LIVER_DISEASE, text="Cirrhosis")
OVERDOSE = condition(ConditionKind.PARACETAMOL_POISONING, began=40, text="Paracetamol overdose")


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.METABOLIC).get("liver-failure")


def _ill(
    answer: Consciousness = Consciousness.NEW_CONFUSION,
    inr: str = "2.1",
    numbers: Any = None,
    **rest: Any,
) -> Record:
    changed = {CodedSignal.CONSCIOUSNESS: answer}
    rest.setdefault("conditions", (CIRRHOSIS,))
    return rounds((5, changed), (1, changed), numbers={INR: [(8, inr)], **(numbers or {})}, **rest)


@pytest.mark.parametrize(("inr", "is_told"), [("1.5", True), ("1.4", False)])
def test_inr_with_confusion_in_liver_disease(inr: str, is_told: bool) -> None:
    found = _found(_ill(inr=inr))
    assert (found is not None) is is_told
    if found is not None:
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(5))
        assert "new confusion and cirrhosis" in found.sentence


@pytest.mark.parametrize(("alt", "urgency"), [("1000", Urgency.PROMPT), ("999", None)])
def test_a_very_high_alt_is_a_liver_injury_without_altered_mind(alt: str, urgency: Urgency | None) -> None:
    found = _found(_ill(Consciousness.ALERT, numbers={ALT: [(8, alt)]}, conditions=()))
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("answer", "alt", "known", "urgency"),
    [
        pytest.param(Consciousness.NEW_CONFUSION, "1000", (), Urgency.EMERGENCY, id="acute"),
        pytest.param(Consciousness.NEW_CONFUSION, "1000", (CIRRHOSIS,), Urgency.URGENT, id="on-cirrhosis"),
        pytest.param(Consciousness.NEW_CONFUSION, "300", (OVERDOSE,), Urgency.EMERGENCY, id="overdose"),
        pytest.param(Consciousness.ALERT, "1000", (), Urgency.PROMPT, id="awake"),
    ],
)
def test_acute_liver_failure_is_an_emergency(
    answer: Consciousness, alt: str, known: Any, urgency: Urgency
) -> None:
    """INR of 1.5, altered mind and no cirrhosis before: AASLD 2011 as restated; the grading is ours."""
    found = _found(_ill(answer, numbers={ALT: [(8, alt)]}, conditions=known))
    assert found is not None
    assert found.urgency is urgency
    assert ("critical care to be asked now" in found.sentence) == (
        urgency is Urgency.EMERGENCY and OVERDOSE not in known
    )


def test_encephalopathy_on_record_is_enough() -> None:
    known = condition(
        ConditionKind.ENCEPHALOPATHY, ConditionKind.LIVER_DISEASE, began=3, text="Hepatic encephalopathy"
    )
    found = _found(_ill(Consciousness.ALERT, conditions=(known,)))
    assert found is not None
    assert found.since == ago(3)


@pytest.mark.parametrize(("ph", "says"), [("7.29", True), ("7.30", False)])
def test_kings_college_by_acid(ph: str, says: bool) -> None:
    acid = {Signal.PH_ARTERIAL: [(2, ph)], ALT: [(8, "4000")]}
    found = _found(_ill(numbers=acid, conditions=(OVERDOSE,)))
    assert found is not None
    assert ("King's College" in found.sentence) is says


@pytest.mark.parametrize(
    ("inr", "creatinine", "answer", "says"),
    [
        ("6.6", "301", Consciousness.PAIN, True),
        ("6.5", "301", Consciousness.PAIN, False),
        ("6.6", "300", Consciousness.PAIN, False),
        ("6.6", "301", Consciousness.VOICE, False),
    ],
)
def test_kings_college_by_three(inr: str, creatinine: str, answer: Consciousness, says: bool) -> None:
    numbers = {Signal.CREATININE: [(2, creatinine)], ALT: [(8, "4000")]}
    found = _found(_ill(answer, inr, numbers, conditions=(OVERDOSE,)))
    assert found is not None
    assert ("King's College" in found.sentence) is says


@pytest.mark.parametrize(
    "record",
    [
        _ill(conditions=()),  # No liver disease.
        _ill(Consciousness.ALERT),  # Alert, and no injury.
        _ill(orders=(order("Warfarin", "vitamin-k-antagonist"),)),
        _ill(numbers={INR: [(60, "2.1")]}),  # Too old.
        _ill(numbers={INR: [reading(INR, 8, "2.1", spread=("2.1", None))]}),
    ],
)
def test_not_said(record: Record) -> None:
    assert _found(record) is None


@pytest.mark.parametrize(
    ("numbers", "conditions", "urgency"),
    [
        pytest.param({Signal.PARACETAMOL_LEVEL: [(8, "21")]}, (), Urgency.URGENT, id="level"),
        pytest.param({Signal.PARACETAMOL_LEVEL: [(8, "20")]}, (), None, id="doses-for-pain"),
        pytest.param({Signal.PARACETAMOL_LEVEL: [(97, "120")]}, (), None, id="days-ago"),
        pytest.param({}, (OVERDOSE,), Urgency.URGENT, id="problem"),
    ],
)
def test_a_prolonged_inr_after_paracetamol_whatever_the_alt(
    numbers: Any, conditions: Any, urgency: Urgency | None
) -> None:
    """Our choice; acetylcysteine where the time is not known: from memory."""
    found = _found(_ill(Consciousness.ALERT, numbers={ALT: [(8, "300")], **numbers}, conditions=conditions))
    assert (found.urgency if found is not None else None) is urgency
    if found is not None:
        assert "acetylcysteine to be considered" in found.sentence


@pytest.mark.parametrize(("lactate", "urgency"), [("3.6", Urgency.EMERGENCY), ("3.5", Urgency.URGENT)])
def test_a_lactate_after_paracetamol_is_an_emergency(lactate: str, urgency: Urgency) -> None:
    """Bernal 2002, from memory: above 3.5 early; what is met calls from when it was met."""
    numbers = {ALT: [(8, "6800")], Signal.LACTATE: [(2, lactate)]}
    found = _found(_ill(Consciousness.ALERT, numbers=numbers, conditions=(OVERDOSE,)))
    assert found is not None
    assert found.urgency is urgency
    assert (found.since, found.asked_since) == (ago(8), ago(2) if urgency is Urgency.EMERGENCY else None)


def test_an_antidote_that_runs_is_not_to_be_considered() -> None:
    """Common practice, no source: it goes on until the INR falls."""
    antidote = order("Acetylcysteine infusion")
    antidote = replace(antidote, medicine=replace(antidote.medicine, ingredients=("acetylcysteine",)))
    found = _found(
        _ill(Consciousness.ALERT, numbers={ALT: [(8, "300")]}, conditions=(OVERDOSE,), orders=(antidote,))
    )
    assert found is not None
    assert "acetylcysteine goes on until the INR falls" in found.sentence
    assert "considered" not in found.sentence


@pytest.mark.parametrize("is_ordered", [True, False])
def test_an_antidote_that_is_not_on_the_chart(is_ordered: bool) -> None:
    antidote = order("Acetylcysteine infusion")
    antidote = replace(antidote, medicine=replace(antidote.medicine, ingredients=("acetylcysteine",)))
    record = rounds(
        (1, {}),
        numbers={Signal.PARACETAMOL_LEVEL: [(2, "120")]},
        orders=(antidote,) if is_ordered else (),
    )
    found = findings(record, Kind.CRITICAL_RESULT)["paracetamol-level-high"]
    assert ("no acetylcysteine is on the chart" in found.sentence) is not is_ordered
    assert ("no dose of it is recorded: ask now" in found.sentence) is is_ordered


@pytest.mark.parametrize(
    ("given_at", "mind", "urgency"),
    [
        (1.5, Consciousness.ALERT, Urgency.ROUTINE),
        (10, Consciousness.ALERT, Urgency.ROUTINE),
        (10.1, Consciousness.ALERT, Urgency.EMERGENCY),
        (1.5, Consciousness.VOICE, Urgency.EMERGENCY),
    ],
)
def test_an_antidote_answers_a_high_level(given_at: float, mind: Consciousness, urgency: Urgency) -> None:
    """Ours: a level of 160 was "due 23 hours ago" with acetylcysteine given and an INR of 1.1."""
    dose = administered("Acetylcysteine", given_at, ingredients=("acetylcysteine",))
    shown: Any = {CodedSignal.CONSCIOUSNESS: mind}
    record = rounds((1, shown), numbers={Signal.PARACETAMOL_LEVEL: [(2, "160")]}, administrations=(dose,))
    found = findings(record, Kind.CRITICAL_RESULT)["paracetamol-level-high"]
    assert found.urgency is urgency
    assert ("acetylcysteine given" in found.sentence) is (urgency is Urgency.ROUTINE)


def test_an_antidote_that_was_given_is_not_asked_for() -> None:
    dose = administered("Acetylcysteine", 1.5, ingredients=("acetylcysteine",))
    record = rounds((1, {}), numbers={Signal.PARACETAMOL_LEVEL: [(2, "120")]}, administrations=(dose,))
    assert "ask now" not in findings(record, Kind.CRITICAL_RESULT)["paracetamol-level-high"].sentence


@pytest.mark.parametrize(
    ("alt", "bilirubin", "is_told"),
    [("120", "43", True), ("119", "43", False), ("120", "42", False), ("1000", "10", True)],
)
def test_a_liver_injury_with_jaundice(alt: str, bilirubin: str, is_told: bool) -> None:
    """ALT of 3 times and bilirubin of more than twice the upper limit: FDA 2009, from memory."""
    numbers = {ALT: [(8, alt)], Signal.BILIRUBIN: [(8, bilirubin)]}
    assert (_found(_ill(Consciousness.ALERT, numbers=numbers, conditions=())) is not None) is is_told


@pytest.mark.parametrize(("problems", "is_told"), [((OVERDOSE,), True), ((), False)])
def test_a_child_is_asked_about_paracetamol_alone(problems: Any, is_told: bool) -> None:
    """Ours: 15 years, INR 1.9 and ALT 1640 after an overdose was "not fully assessed"."""
    numbers = {ALT: [(8, "1640")]}
    found = _found(
        _ill(Consciousness.ALERT, inr="1.9", numbers=numbers, conditions=problems, born=date(2011, 1, 1))
    )
    assert (found is not None) is is_told
    assert found is None or found.urgency is Urgency.URGENT
