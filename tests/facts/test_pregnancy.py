"""Who counts as pregnant or recently so, from whatever a sender recorded of it.

42 days after the end, 45 weeks at most and the age of 10 are our choices. Codes of a pregnancy
status and of a gestation are from memory. A pressure of 162/104 tells the answers apart: it is an
emergency in pregnancy (NICE NG133, from memory) and not in another adult.
"""

from typing import Any

import pytest

from tests.records import (
    AT,
    SNOMED,
    Json,
    answer_of,
    earlier,
    full_set,
    measured,
    observation,
    patient,
    quantity,
    stay,
)

BORN = "1996-02-02"


def _is_pregnant(*resources: Json, born: str | None = BORN) -> bool:
    """Tell whether the maternity criteria were used for this record."""
    answer = answer_of(patient(born), *full_set(), *resources)
    return any(one.key == "maternal-criteria" for one in answer.reviews[0].findings)


def _status(**value: Any) -> Json:
    at = value.pop("at", AT)
    return observation("status", value.pop("code", "82810-3"), at=at, **value)


def _weeks(value: str, at: str = AT, unit: str = "wk") -> Json:
    return observation("weeks", "11884-4", at=at, valueQuantity=quantity(value, unit))


def _problem(text: str, *, onset: str = AT, **code: str) -> Json:
    concept: Json = {"text": text}
    if code:
        concept["coding"] = [code]
    return {
        "resourceType": "Condition",
        "id": "c",
        "subject": {"reference": "Patient/p"},
        "clinicalStatus": {"coding": [{"code": "active"}]},
        "code": concept,
        "onsetDateTime": onset,
    }


def _stay(reason: str, begun: str = AT) -> Json:
    return stay(period={"start": begun}, reasonCode=[{"text": reason}])


class TestStatus:
    """What a midwife charts."""

    @pytest.mark.parametrize(
        ("code", "expected"),
        [("77386006", True), ("LA15173-0", True), ("60001007", False), ("LA26683-5", False)],
    )
    def test_codes(self, code: str, expected: bool) -> None:
        system = SNOMED if code.isdigit() else "http://loinc.org"
        value = {"coding": [{"system": system, "code": code}]}
        assert _is_pregnant(_status(valueCodeableConcept=value)) is expected

    @pytest.mark.parametrize(("word", "expected"), [("Pregnant", True), ("Not pregnant", False)])
    def test_words(self, word: str, expected: bool) -> None:
        assert _is_pregnant(_status(valueCodeableConcept={"text": word})) is expected

    def test_it_does_not_last_for_ever(self) -> None:
        """45 weeks and 42 days after it was charted."""
        pregnant = {"text": "Pregnant"}
        assert _is_pregnant(_status(valueCodeableConcept=pregnant, at=earlier("357 d")))
        assert not _is_pregnant(_status(valueCodeableConcept=pregnant, at=earlier("358 d")))


class TestGestation:
    """A number of weeks is a pregnancy until 42 days after it must have ended."""

    def test_weeks_and_days(self) -> None:
        assert _is_pregnant(_weeks("33"))
        assert _is_pregnant(_weeks("231", unit="d"))

    def test_until_when(self) -> None:
        """At 40 weeks there are 5 more, and 42 days."""
        assert _is_pregnant(_weeks("40", at=earlier("77 d")))
        assert not _is_pregnant(_weeks("40", at=earlier("78 d")))

    def test_of_a_baby_it_is_its_own(self) -> None:
        assert not _is_pregnant(_weeks("36"), born="2026-02-20")
        assert not _is_pregnant(_problem("Preterm birth, 34 weeks gestation"), born="2026-02-20")

    @pytest.mark.parametrize(("born", "expected"), [("2016-03-02", False), ("2016-03-01", True)])
    def test_from_10_years(self, born: str, expected: bool) -> None:
        assert _is_pregnant(_weeks("20"), born=born) is expected


class TestWords:
    """Problems and reasons of the stay, in words and codes."""

    @pytest.mark.parametrize(
        "text",
        [
            "In labour",
            "Spontaneous labour at 39+2",
            "Chorioamnionitis",
            "Antepartum haemorrhage",
            "Puerperal sepsis",
            "PPH 1800 mL",
            "Miscarriage",
            "Termination of pregnancy",
            "Hyperemesis gravidarum",
            "Massive obstetric haemorrhage",
        ],
    )
    def test_a_problem_or_a_reason(self, text: str) -> None:
        assert _is_pregnant(_problem(text))
        assert _is_pregnant(_stay(text))

    @pytest.mark.parametrize(
        "text",
        [
            "Laboured breathing",
            "Recurrent miscarriage",
            "History of postpartum haemorrhage",
            "Negative pregnancy test",
        ],
    )
    def test_what_is_none(self, text: str) -> None:
        assert not _is_pregnant(_problem(text))

    @pytest.mark.parametrize("code", ["O72.1", "O85", "O46.9", "O67.0"])
    def test_icd_10(self, code: str) -> None:
        problem = _problem("", system="http://hl7.org/fhir/sid/icd-10", code=code)
        assert _is_pregnant(problem)

    @pytest.mark.parametrize(("days", "expected"), [("42 d", True), ("43 d", False)])
    def test_an_end_counts_42_days(self, days: str, expected: bool) -> None:
        assert _is_pregnant(_problem("Postpartum haemorrhage", onset=earlier(days))) is expected
        assert _is_pregnant(_stay("Miscarriage", begun=earlier(days))) is expected


def test_a_severe_pressure_is_an_emergency_then() -> None:
    """One door for all: the status alone changes the answer from calm to an emergency."""
    high = [measured("s", "systolic-pressure", "162", "mm[Hg]")]
    rest = full_set(systolic_pressure=None)
    status = _status(valueCodeableConcept={"text": "Pregnant"})
    lead = answer_of(patient(BORN), *rest, *high, status).reviews[0].findings
    assert any(one.key == "pregnancy-pressure" and one.urgency.word == "emergency" for one in lead)
