"""Problems that are emergencies by their name, at both ends of each limit.

Published: haematoma after thyroid surgery (Iliff 2022), compartment syndrome (BOAST 2014), the aorta
(ACC/AHA 2022), meningitis (NICE NG240), cauda equina (national pathway 2023), Guillain-Barre (Lawn
2001), carbon monoxide (Hampson 1998), angioedema (Rasmussen 2014) and compression of the cord (NICE
NG234). For how long a name speaks, and how soon each of the others is asked for, is our choice.
"""

from typing import Any

import pytest

from tests.assessments.problems_recorded import KEYS, OF_P, SOON, by_name, calm, reviewed, told_in
from tests.charts import NOW, ago, chart, condition, order
from tests.records import problem, procedure, stay
from weatherglass.facts.acute_problems import new_and_untold
from weatherglass.knowledge.emergencies.acute_problems import ACUTE_PROBLEMS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Urgency
from weatherglass.model.record.problems import ConditionKind

E, U, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.ROUTINE


@pytest.mark.parametrize("row", ACUTE_PROBLEMS, ids=lambda row: row.key)
def test_every_name_is_told_where_all_numbers_are_calm(row: Any) -> None:
    beside = (by_name(row.beside, 5000),) if row.beside is not None else ()
    found = told_in(calm(by_name(row.problem, 1, has_onset=True), *beside))[f"{row.key}-recorded"]
    assert found.urgency is Urgency[row.soon.upper()]
    assert (found.since, found.dated) == (ago(1), ago(1))
    assert row.asks in found.sentence


@pytest.mark.parametrize(
    ("kind", "hours", "urgency"),
    [
        (ConditionKind.CARDIAC_TAMPONADE, 5.9, E),
        (ConditionKind.CARDIAC_TAMPONADE, 6, R),
        (ConditionKind.CARDIAC_TAMPONADE, 24, R),
        (ConditionKind.AIRWAY_THREATENED, 11.9, E),
        (ConditionKind.OVERDOSE, 12, R),
        (ConditionKind.CARDIAC_TAMPONADE, 24.1, None),
        (ConditionKind.CARDIAC_TAMPONADE, None, None),
        (ConditionKind.COMPARTMENT_SYNDROME, 23.9, U),
        (ConditionKind.COMPARTMENT_SYNDROME, 24.1, None),
        (ConditionKind.DIABETES, 1, None),
    ],
)
def test_for_how_long_it_speaks(kind: ConditionKind, hours: float | None, urgency: Urgency | None) -> None:
    found = list(told_in(calm(by_name(kind, hours))).values())
    assert [one.urgency for one in found] == ([] if urgency is None else [urgency])


@pytest.mark.parametrize(
    ("words", "head"),
    [
        ("Cauda equina syndrome", "New on record, suspected: Cauda"),
        ("Suspected cauda equina syndrome", "New on record: Suspected"),
    ],
)
def test_suspected_counts_and_is_said_once(words: str, head: str) -> None:
    known = condition(ConditionKind.CORD_COMPRESSION, text=words, began=2, confirmed=False)
    (found,) = told_in(calm(known)).values()
    assert found.urgency is U
    assert found.brief.startswith(head)


@pytest.mark.parametrize(
    ("words", "is_told"),
    [
        ("Meningitis", True),
        ("Meningitis as a child", False),
        ("Status post STEMI", False),
        ("STEMI 3 months ago", False),
        ("Aortic dissection, repaired", False),
        ("Cord compression, treated", False),
        ("Ventricular tachycardia, ICD in situ", False),
    ],
)
def test_what_its_words_put_into_the_past(words: str, is_told: bool) -> None:
    one = reviewed(problem(words, recordedDate=SOON))
    assert any(f.key in KEYS for f in one.findings) is is_told


@pytest.mark.parametrize(
    ("date", "is_told"), [("2026-03-01", True), ("2026-02-28", True), ("2026-02-27", False)]
)
def test_a_date_without_a_time_may_be_its_last_hour(date: str, is_told: bool) -> None:
    one = reviewed(problem("Cauda equina syndrome", recordedDate=date))
    assert any(f.key in KEYS for f in one.findings) is is_told


@pytest.mark.parametrize(
    ("date", "said"),
    [
        ("2026-03-01", "antimicrobial due 1 March, none recorded"),
        ("2026-02-28", "antimicrobial was due 28 Feb, none recorded"),
    ],
)
def test_septic_shock_of_a_day_is_no_low_risk_and_its_hours_are_not_made_up(date: str, said: str) -> None:
    """NICE NG253 and NG240 as `named-raises-risk`; yesterday's was "very low risk" and "nothing urgent"."""
    one = reviewed(problem("Septic shock", onsetDateTime=date))
    assert said in one.headline
    told = " ".join(finding.sentence for finding in one.findings)
    assert "low risk" not in told
    assert "ago" not in told


def test_an_emergency_of_the_day_is_named_where_findings_rest_on_it_and_ask_for_nobody() -> None:
    given = {"resourceType": "MedicationAdministration", "id": "g", "status": "completed", **OF_P}
    dose = {**given, "medicationCodeableConcept": {"text": "Meropenem"}, "effectiveDateTime": SOON}
    one = reviewed(problem("Sepsis", onsetDateTime="2026-03-01T01:00:00+04:00"), dose)
    assert "Nothing urgent" not in one.headline


def test_one_without_a_date_calls_nobody_and_is_no_calm() -> None:
    one = reviewed(problem("Aortic dissection"))
    assert one.escalation is None
    assert "Without a date, an emergency if new: Aortic dissection." in one.headline
    assert "Nothing urgent" not in one.headline


def test_what_is_over_is_not_told() -> None:
    assert told_in(calm(by_name(ConditionKind.CORD_COMPRESSION, 2, active=False))) == {}


@pytest.mark.parametrize(
    ("kind", "names"),
    [
        (ConditionKind.AORTIC_CATASTROPHE, "; on the chart: Aspirin 75 mg tablets."),
        (ConditionKind.TORSION, ""),
    ],
)
def test_what_speaks_against_it_on_the_chart_is_named(kind: ConditionKind, names: str) -> None:
    aspirin = order("Aspirin 75 mg tablets", MedicineClass.ASPIRIN.value)
    (found,) = told_in(calm(by_name(kind, 1), orders=(aspirin,))).values()
    assert found.sentence.endswith(names)
    assert ("on the chart" in found.sentence) is bool(names)


@pytest.mark.parametrize(
    ("words", "is_told"),
    [
        ("Stroke", True),
        ("TIA", False),
        ("Right hemicolectomy for cancer", False),
        ("Cauda equina syndrome", True),
    ],
)
def test_the_reason_of_a_stay(words: str, is_told: bool) -> None:
    came = stay(period={"start": SOON}, reasonCode=[{"text": words}])
    assert any(one.key in KEYS for one in reviewed(came).findings) is is_told


@pytest.mark.parametrize(
    ("words", "written_counts"),
    [
        ("Pulmonary embolism", True),
        ("Angioedema", True),
        # What a coder or a therapist adds days after it brought the patient here.
        ("Stroke", False),
        ("NSTEMI", False),
        ("Left hemiplegia", False),
        ("Subarachnoid haemorrhage", False),
    ],
)
@pytest.mark.parametrize(
    ("begun", "is_late"),
    [
        (None, False),  # An import of history carries the date of today.
        ("2026-02-28T21:31:00+04:00", False),
        ("2026-02-28T21:30:00+04:00", True),  # Twelve hours before it was written down.
    ],
)
def test_a_name_that_is_often_old_counts_where_it_is_known_to_be_new(
    words: str, written_counts: bool, begun: str | None, is_late: bool
) -> None:
    in_hospital = [stay(period={"start": begun})] if begun else []
    one = reviewed(problem(words, recordedDate=SOON), *in_hospital)
    assert any(f.key in KEYS for f in one.findings) is (written_counts and is_late)
    assert ("Nothing urgent found" in one.headline) is not (is_late or "haemorrhage" in words)
    one = reviewed(problem(words, recordedDate=SOON, onsetDateTime=SOON))
    assert any(f.key in KEYS for f in one.findings)


@pytest.mark.parametrize("words", ["Stroke 2019", "NSTEMI (2021)"])
def test_a_year_in_the_words_is_when_it_was(words: str) -> None:
    since_days = stay(period={"start": "2026-02-20T10:00:00+04:00"})
    one = reviewed(problem(words, recordedDate=SOON), since_days)
    assert one.headline.startswith("NEWS2 0. Nothing urgent found.")


@pytest.mark.parametrize(
    ("words", "urgency"),
    [
        ("Cardiopulmonary resuscitation", E),
        ("Defibrillation", E),
        ("CPR training", None),
        ("Intubation for anaesthesia", None),
    ],
)
def test_a_procedure_that_says_the_same(words: str, urgency: Urgency | None) -> None:
    one = reviewed(procedure(words, performedDateTime=SOON))
    found = [f for f in one.findings if f.key in KEYS]
    assert [f.urgency for f in found] == ([urgency] if urgency else [])


def test_two_words_for_one_thing_are_one_finding_since_the_first() -> None:
    first, then = "2026-03-01T09:00:00+04:00", SOON
    one = reviewed(
        problem("Facial droop", id="f", onsetDateTime=then),
        problem("Slurred speech", id="s", onsetDateTime=first),
    )
    assert one.headline.startswith("New on record: Slurred speech and Facial droop (09:00 on 1 March).")
    (found,) = [f for f in one.findings if f.key in KEYS]
    assert {str(origin) for origin in found.evidence} == {"Condition/f", "Condition/s"}


def test_a_bleed_by_its_name_is_said_once_in_the_head() -> None:
    one = reviewed(problem("Subarachnoid haemorrhage", onsetDateTime=SOON))
    assert one.headline.count("ubarachnoid haemorrhage") == 1


def test_it_leads_and_nothing_is_called_calm() -> None:
    one = reviewed(problem("Acute aortic dissection", recordedDate=SOON))
    assert one.urgency is E
    assert one.headline.startswith("New on record: Acute aortic dissection")
    assert "Nothing urgent" not in one.headline


@pytest.mark.parametrize("row", ACUTE_PROBLEMS, ids=lambda row: row.key)
@pytest.mark.parametrize(("hours", "is_named"), [(23.9, True), (24.1, False)])
def test_a_name_that_is_always_new_takes_the_place_of_the_calm(
    row: Any, hours: float, is_named: bool
) -> None:
    """Ours: 13 hours after an overdose that was written down without its onset all was "nothing urgent"."""
    record = chart(conditions=(by_name(row.problem, hours),))
    named = [one.text for one in new_and_untold(record, NOW, told=(), asked=())]
    assert named == ([row.problem.value] if is_named and row.only_new is None else [])
