"""A recorded seizure calls: repeated or prolonged ones at once, one that is over within the hour.

McQuillan P et al., BMJ 1998;316:1853, table 5: repeated or prolonged seizures; the rest is ours.
"""

from typing import Any

import pytest

from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    flag,
    full_set,
    given,
    observation,
    patient,
    problem,
    quantity,
)
from weatherglass.model.findings import Finding, Kind, Urgency

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


def _problem(words: str, began: str | None = AT, **rest: Any) -> Json:
    one: Json = problem(words, **rest)
    return one if began is None else {**one, "onsetDateTime": began}


def _found(*resources: Json, born: str = "1950-06-01") -> Finding | None:
    (one,) = answer_of(patient(born), *full_set(), *resources).reviews
    return next((f for f in one.findings if (f.kind, f.key) == (Kind.SINGLE_SIGN, "seizure")), None)


@pytest.mark.parametrize(
    ("words", "urgency"),
    [
        ("Seizure", U),
        ("Tonic-clonic seizure", U),
        ("Febrile convulsion", U),
        ("Status epilepticus", E),
        ("Repeated seizures", E),
        ("Eclampsia", E),
        ("No seizures", None),
        ("Pre-eclampsia", None),
        ("Seizure disorder", None),
        ("Epilepsy", None),
        ("History of seizures", None),
        ("Chest fits well", None),
    ],
)
@pytest.mark.parametrize("born", ["1950-06-01", "2021-03-01"])
def test_words(words: str, urgency: Urgency | None, born: str) -> None:
    found = _found(_problem(words), born=born)
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("began", "is_found"), [("24 h", True), ("24.1 h", False), ("0 h", True), (None, False)]
)
def test_for_a_day(began: str | None, is_found: bool) -> None:
    found = _found(_problem("Seizure", earlier(began) if began is not None else None))
    assert (found is not None) is is_found


def test_a_code() -> None:
    """SNOMED CT, from memory; ICD-10 G41."""
    for system, code, urgency in (
        ("http://snomed.info/sct", "91175000", U),
        ("http://snomed.info/sct", "230456007", E),
        ("http://hl7.org/fhir/sid/icd-10", "G41.9", E),
        ("http://hl7.org/fhir/sid/icd-10", "R56.8", U),
    ):
        found = _found(_problem("", code={"coding": [{"system": system, "code": code}]}))
        assert found is not None, code
        assert found.urgency is urgency


def test_another_one_does_not_move_the_first() -> None:
    first = _problem("Seizure", earlier("5 h"))
    found = _found(first, {**_problem("Seizure"), "id": "d"})
    assert found is not None
    assert found.since is not None
    assert found.since.isoformat().startswith("2026-03-01T01:00")


def _dose(words: str, atc: str, before: str) -> Json:
    return {**given(words, earlier(before), atc), "id": before}


MIDAZOLAM, LORAZEPAM = ("Midazolam buccal", "N05CD08"), ("Lorazepam injection", "N05BA06")


@pytest.mark.parametrize(
    ("doses", "is_asked"),
    [
        ([(*MIDAZOLAM, "0.6 h"), (*LORAZEPAM, "0.4 h")], True),
        ([(*MIDAZOLAM, "1.4 h"), (*LORAZEPAM, "0.4 h")], True),
        ([(*MIDAZOLAM, "1.6 h"), (*LORAZEPAM, "0.4 h")], False),
        ([(*LORAZEPAM, "0.4 h")], False),
    ],
)
def test_after_two_doses_of_a_benzodiazepine(doses: list[tuple[str, str, str]], is_asked: bool) -> None:
    """NICE NG217, from memory: then a second-line medicine. It was written down an hour ago."""
    status = _problem("Status epilepticus", earlier("1 h"))
    found = _found(status, *(_dose(*one) for one in doses))
    assert found is not None
    assert ("second-line medicine now" in found.sentence) is is_asked
    assert ("lorazepam at" in found.sentence) is is_asked


@pytest.mark.parametrize(
    ("others", "urgency", "is_asked"),
    [
        (("Pregnancy, 34 weeks",), E, True),
        (("Postpartum",), E, True),
        (("Pregnancy, 34 weeks", "Epilepsy"), U, False),
        ((), U, False),
    ],
)
def test_in_pregnancy_it_is_eclampsia_until_shown_otherwise(
    others: tuple[str, ...], urgency: Urgency, is_asked: bool
) -> None:
    """NICE NG133, from memory: magnesium sulfate; that it calls at once is our choice."""
    known = [{**_problem(words), "id": words[:4]} for words in others]
    found = _found(_problem("Seizure"), *known, born="1996-01-01")
    assert found is not None
    assert found.urgency is urgency
    assert ("magnesium sulfate" in found.sentence) is is_asked
    # After a birth there is no womb to lie off, and the veins of the brain are thought of (ours).
    assert ("on her left side" in found.sentence) is (is_asked and others[0] != "Postpartum")
    assert ("an image of the brain and its veins" in found.sentence) is (others == ("Postpartum",))


def test_in_the_last_days_it_asks_for_comfort_only() -> None:
    """NICE NG31, from memory: what was prescribed ahead; no glucose and no search for a cause."""
    plan = flag("Last days of life: individualised care plan")
    found = _found(_problem("Seizure"), plan)
    assert found is not None
    assert "glucose" not in found.sentence
    assert "look for the cause" not in found.sentence


@pytest.mark.parametrize(
    ("began", "is_given", "mind", "urgency"),
    [
        ("5 h", True, "alert", R),
        ("3 h", True, "alert", E),
        ("5 h", False, "alert", E),
        ("5 h", True, "voice", E),
    ],
)
def test_eclampsia_that_is_treated_calls_nobody_again(
    began: str, is_given: bool, mind: str, urgency: Urgency
) -> None:
    """NICE NG133, from memory: magnesium for a day; 4 hours awake are ours. Its name says no repeat."""
    doses = [given("Magnesium sulfate 4 g injection", earlier(began))] if is_given else []
    signs = full_set(consciousness=mind)
    (one,) = answer_of(patient("1996-01-01"), *signs, _problem("Eclampsia", earlier(began)), *doses).reviews
    found = next(f for f in one.findings if (f.kind, f.key) == (Kind.SINGLE_SIGN, "seizure"))
    assert found.urgency is urgency
    assert "repeat" not in found.brief
    assert ("24 hours after the last fit" in found.sentence) is (urgency is R)


@pytest.mark.parametrize(
    ("began", "mind", "doses", "urgency"),
    [
        ("5 h", "alert", [(*LORAZEPAM, "4.9 h")], U),
        ("3 h", "alert", [(*LORAZEPAM, "2.9 h")], E),
        ("5 h", "voice", [(*LORAZEPAM, "4.9 h")], E),
    ],
)
def test_fits_that_did_not_stop_are_over_once_awake(
    began: str, mind: str, doses: list[tuple[str, str, str]], urgency: Urgency
) -> None:
    """Four hours awake are ours; it asked for a second-line medicine of a woken patient for a day."""
    status = _problem("Status epilepticus", earlier(began))
    given_then = [_dose(*one) for one in doses]
    (one,) = answer_of(patient(), *full_set(consciousness=mind), status, *given_then).reviews
    found = next(f for f in one.findings if (f.kind, f.key) == (Kind.SINGLE_SIGN, "seizure"))
    assert found.urgency is urgency
    assert found.brief.startswith("Seizures that repeat") is (urgency is E)


def test_after_a_second_line_medicine() -> None:
    """NICE NG217, from memory: anaesthesia where the second step fails."""
    status = _problem("Status epilepticus", earlier("1 h"))
    given_then = [(*MIDAZOLAM, "1 h"), (*LORAZEPAM, "0.8 h"), ("Phenytoin injection", "N03AB02", "0.6 h")]
    found = _found(status, *(_dose(*one) for one in given_then))
    assert found is not None
    assert "second-line medicine now" not in found.sentence
    assert "phenytoin" in found.sentence
    assert "anaesthesia and critical care now" in found.sentence


@pytest.mark.parametrize(("cause", "dose", "urgency"), [
    ("Alcohol withdrawal", "4 h", R), ("Alcohol withdrawal", "", U), ("Glioma", "4 h", P),
])  # fmt: skip
def test_a_withdrawal_seizure_that_is_treated(cause: str, dose: str, urgency: Urgency) -> None:
    """Ours, as in epilepsy: awake for four hours, and a benzodiazepine since."""
    doses = (given("Chlordiazepoxide", earlier(dose), atc="N05BA02"),) if dose else ()
    found = _found(_problem("Seizure", earlier("6 h")), _problem(cause, earlier("24 h")), *doses)
    assert found is not None
    assert found.urgency is urgency


@pytest.mark.parametrize(("measured_at", "is_asked"), [("5 h", False), ("7 h", True)])
def test_a_glucose_that_was_measured_is_not_asked_for(measured_at: str, is_asked: bool) -> None:
    sugar = observation("g", "15074-8", at=earlier(measured_at), valueQuantity=quantity("6", "mmol/L"))
    found = _found(_problem("Seizure", earlier("6 h")), sugar)
    assert found is not None
    assert ("measure glucose" in found.sentence) is is_asked


@pytest.mark.parametrize(
    ("words", "began", "born", "urgency"),
    [
        ("Febrile convulsion", "5 h", "2023-03-01", R),
        ("Febrile convulsion", "3 h", "2023-03-01", U),
        ("Febrile convulsion", "5 h", "2015-03-01", U),
        ("Seizure", "5 h", "2023-03-01", U),
    ],
)
def test_one_of_a_fever_that_is_over(words: str, began: str, born: str, urgency: Urgency) -> None:
    """6 months to 6 years, once, awake for four hours (NICE CKS, from memory; hours ours)."""
    found = _found(_problem(words, earlier(began)), born=born)
    assert found is not None
    assert found.urgency is urgency


@pytest.mark.parametrize(
    ("systolic", "beside", "is_eclampsia"),
    [("89", "", False), ("90", "", True), ("80", "Pre-eclampsia", True)],
)
def test_a_mother_whose_pressure_is_low(systolic: str, beside: str, is_eclampsia: bool) -> None:
    """Eclampsia comes with a high pressure: below 90 its magnesium is not what comes first (ours)."""
    told = [_problem("Seizure"), _problem("Pregnancy, 38 weeks", earlier("200 h"))]
    told += [_problem(beside, earlier("9 h"))] if beside else []
    low = observation("low", "8480-6", at=AT, valueQuantity=quantity(systolic, "mm[Hg]"))
    (one,) = answer_of(patient("1996-06-01", gender="female"), low, *told).reviews
    found = next(f for f in one.findings if f.key == "seizure")
    assert ("eclampsia until shown otherwise" in found.sentence) is is_eclampsia
    assert found.urgency is E
