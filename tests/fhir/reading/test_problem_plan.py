"""Decisions kept on the problem list, and blood that is refused. Common practice, no source."""

from datetime import UTC, datetime

import pytest

from tests.records import answer_of, bundle, full_set, observation, ordered, patient, problem, quantity, text
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.reading.plans.plan_words import read_words
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import DirectiveKind
from weatherglass.pipeline import review

NOW = datetime(2026, 3, 1, 7, tzinfo=UTC)


def _read(*resources: object, now: datetime = NOW) -> str:
    answer = review(text(bundle(*resources)), as_of=now)  # type: ignore[arg-type]
    return review_text(answer.reviews[0], list(answer.issues))


def _dying(words: str, recorded: str | None, now: datetime = NOW) -> str:
    ill = observation("pulse", "8867-4", at="2026-03-01T06:30:00Z", valueQuantity=quantity("130", "/min"))
    rest = {} if recorded is None else {"recordedDate": recorded}
    return _read(patient(), problem(words, **rest), *full_set(respiration_rate="32 /min"), ill, now=now)


@pytest.mark.parametrize("words", ["Last days of life", "End of life care", "Dying", "Terminal phase"])
def test_last_days_on_the_problem_list_call_nobody(words: str) -> None:
    said = _dying(words, "2026-02-28")
    assert "End-of-life care is recorded: for information" in said
    assert "\nCall " not in said


def test_last_days_that_are_old_or_undated_only_limit_the_call() -> None:
    """Ours: a problem list is seldom tidied, and silence would then hide somebody who lives."""
    for recorded in ("2026-01-30", None):
        said = _dying("Last days of life", recorded)
        assert "End-of-life care is recorded: for information" not in said
        assert "\nCall " in said
        assert "Recorded treatment ceiling: Last days of life" in said


def test_undated_last_days_count_beside_a_driver_of_relief() -> None:
    """Ours: what runs under the skin says that the words are of now."""
    chart_line = ordered(
        "Morphine",
        dosageInstruction=[{"text": "20 mg over 24 hours subcutaneous infusion by syringe driver"}],
    )
    by_mouth = ordered("Morphine", dosageInstruction=[{"text": "10 mg oral twice daily"}])
    for line, is_now in ((chart_line, True), (by_mouth, False)):
        said = _read(patient(), problem("Care of the dying"), line, *full_set(respiration_rate="32 /min"))
        assert ("End-of-life care is recorded: for information" in said) is is_now


def test_last_days_count_for_28_days() -> None:
    assert "for information" in _dying("Last days of life", "2026-02-01T07:00:00Z")
    assert "for information" not in _dying("Last days of life", "2026-02-01T06:59:59Z")


@pytest.mark.parametrize("words", ["DNACPR", "Not for resuscitation"])
def test_a_refusal_of_resuscitation_on_the_problem_list_is_said(words: str) -> None:
    assert "not for attempted resuscitation" in _read(patient(), problem(words), *full_set())


@pytest.mark.parametrize(
    "words", ["Obstructive sleep apnoea, no CPAP", "Palliative care", "Family history of dying young"]
)
def test_a_diagnosis_decides_nothing(words: str) -> None:
    said = _read(patient(), problem(words, recordedDate="2026-02-28"), *full_set())
    assert "Resuscitation status and treatment ceiling: not recorded" in said


@pytest.mark.parametrize(
    "words",
    [
        "Advance decision to refuse blood transfusion (Jehovah's Witness)",
        "Refuses all blood products, even if life is at risk",
        "Declines blood transfusion",
        "No blood products",
        "Not for transfusion",
        "ADRT in place",
    ],
)
def test_blood_that_is_refused_is_said_wherever_it_is_kept(words: str) -> None:
    flag = {
        "resourceType": "Flag",
        "id": "f",
        "status": "active",
        "subject": {"reference": "Patient/p"},
        "code": {"text": words},
    }
    for kept in (flag, problem(words)):
        said = _read(
            patient(id="p"), kept, *full_set(systolic_pressure="98 mm[Hg]", respiration_rate="25 /min")
        )
        assert f"Recorded advance directive: {words}" in said.replace("\n", " ")
        assert f"; {words}" in " ".join(said.split())  # the call in a minute


@pytest.mark.parametrize(
    "words", ["Accepts blood products", "Does not refuse blood", "No blood in stool", "Refused blood test"]
)
def test_other_words_about_blood_refuse_nothing(words: str) -> None:
    assert all(one.kind is not DirectiveKind.ADVANCE_DIRECTIVE for one in read_words(words).said)


def test_a_faith_is_asked_about() -> None:
    (one,) = read_words("Jehovah's Witness").said
    assert one.text.endswith("(ask what is refused)")
    assert read_words("Not a Jehovah's Witness").said == ()
    assert read_words("Refuses blood?").undecided


def test_a_refusal_of_blood_changes_no_urgency() -> None:
    plain = answer_of(patient(), *full_set(), as_of=NOW).reviews[0].urgency
    refused = answer_of(patient(), problem("Refuses blood products"), *full_set(), as_of=NOW).reviews[0]
    assert refused.urgency is plain is not Urgency.EMERGENCY


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            "Refuses tracheostomy and invasive ventilation",
            "Recorded advance directive: Refuses tracheostomy and invasive ventilation",
        ),
        ("Declines dialysis", "Recorded advance directive: Declines dialysis"),
        ("Declines NIV and intensive care", "Recorded advance directive: Declines NIV and intensive care"),
        ("Declines escalation to HDU", "Recorded advance directive: Declines escalation to HDU"),
        ("For full active treatment including CPR", "Recorded: for attempted resuscitation"),
        ("For full active treatment including CPR", "Recorded: For full active treatment including CPR"),
    ],
)
def test_what_the_problem_list_decides_is_said(words: str, said: str) -> None:
    """Nothing that is recorded reads as "not recorded"."""
    assert said in " ".join(_read(patient(), problem(words), *full_set()).split())


@pytest.mark.parametrize("words", ["Sleep apnoea, declines CPAP", "Declined influenza vaccination"])
def test_what_is_no_refusal_of_that_kind(words: str) -> None:
    assert "Recorded advance directive" not in _read(patient(), problem(words), *full_set())


def test_a_refusal_of_blood_is_said_once() -> None:
    said = _read(patient(), problem("Jehovah's Witness, refuses blood products"), *full_set())
    head = said.split("\nHandover")[0]
    assert head.count("Recorded advance directive") == 1
    assert "ask what is refused" not in said
    assert "ask what is refused" in _read(patient(), problem("Jehovah's Witness"), *full_set())


def test_dying_patients_are_not_told_to_be_measured_or_treated_for_a_low_glucose() -> None:
    """Nothing is pushed that the record forbids: comfort decides."""
    low = observation("bm", "14749-6", at="2026-03-01T04:00:00Z", valueQuantity=quantity("2.4", "mmol/L"))
    dying = problem("Last days of life", recordedDate="2026-02-28")
    for plan, is_asked in (((dying,), False), ((), True)):
        said = " ".join(_read(patient(), *plan, *full_set(), low).split())
        assert ("consider treating it now" in said) is is_asked
        assert ("measure it now" in said) is is_asked
