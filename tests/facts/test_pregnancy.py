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


def _test(answer: str = "Positive", *, at: str = AT) -> Json:
    return observation("hcg", "2106-3", at=at, valueCodeableConcept={"text": answer})


def _hcg(value: str, unit: str = "[IU]/L", comparator: str | None = None) -> Json:
    """Return an hCG in blood: 25 IU/L is a pregnancy, below 5 none (common practice, no source)."""
    number = quantity(value, unit) | ({"comparator": comparator} if comparator else {})
    return observation("hcg", "19080-1", valueQuantity=number)


class TestPositiveTest:
    """A positive test is a pregnancy of unknown gestation; ours but where marked."""

    def test_positive_and_negative(self) -> None:
        assert _is_pregnant(_test())
        assert not _is_pregnant(_test("Negative"))
        assert not _is_pregnant(_test("Invalid"))

    def test_a_negative_one_takes_nothing_back(self) -> None:
        assert _is_pregnant(_weeks("12"), _test("Negative"))

    @pytest.mark.parametrize(
        ("sent", "expected"),
        [
            (_hcg("25"), True),
            (_hcg("24.9"), False),
            (_hcg("25", "m[IU]/mL"), True),
            (_hcg("25", "ng/mL"), False),
            (_hcg("200", comparator=">"), True),
            (_hcg("2", comparator="<"), False),
        ],
    )
    def test_a_number(self, sent: Json, expected: bool) -> None:
        assert _is_pregnant(sent) is expected

    def test_between_none_and_a_pregnancy_it_is_said_as_it_was_sent(self) -> None:
        assert "19080-1 5 [IU]/L" in answer_of(patient(BORN), *full_set(), _hcg("5")).reviews[0].headline
        quiet = answer_of(patient(BORN), *full_set(), _hcg("4.9")).reviews[0].headline
        assert quiet.endswith("Nothing urgent found.")

    @pytest.mark.parametrize(("born", "expected"), [("1971-03-02", True), ("1971-03-01", False)])
    def test_below_55_years(self, born: str, expected: bool) -> None:
        assert _is_pregnant(_test(), born=born) is expected

    def test_of_a_man_it_is_another_thing(self) -> None:
        answer = answer_of(patient(BORN, gender="male"), *full_set(), _test())
        assert not any(one.key == "maternal-criteria" for one in answer.reviews[0].findings)

    @pytest.mark.parametrize(
        "words", ["Positive pregnancy test", "Urine pregnancy test: positive", "UPT positive"]
    )
    def test_in_words(self, words: str) -> None:
        assert _is_pregnant(_problem(words))

    def test_its_doubt_is_said(self) -> None:
        found = answer_of(patient(BORN), *full_set(), _test()).reviews[0].findings
        (criteria,) = [one for one in found if one.key == "maternal-criteria"]
        assert any("Known by a test alone" in caution for caution in criteria.cautions)

    @pytest.mark.parametrize(("ago", "is_new"), [("42 d", False), ("43 d", True)])
    def test_after_the_end_of_a_pregnancy_it_stays_positive(self, ago: str, is_new: bool) -> None:
        """42 days, as long as a pregnancy counts as recent; then it tells of the next one."""
        pain = _problem("Abdominal pain") | {"id": "pain"}
        lost = _problem("Caesarean section", onset=earlier(ago))
        found = answer_of(patient(BORN), *full_set(), lost, _test(), pain).reviews[0].findings
        assert any(one.key == "ectopic" for one in found) is is_new


class TestEctopicPregnancy:
    """NICE NG126, from memory: pain with a positive test is seen at once; limits of shock are ours."""

    @staticmethod
    def _asked(*resources: Json, **signs: str) -> str | None:
        found = answer_of(patient(BORN), *full_set(**signs), *resources).reviews[0].findings
        return next((one.urgency.word for one in found if one.key.startswith("ectopic")), None)

    @pytest.mark.parametrize(
        "words", ["Abdominal pain", "Pelvic pain", "Collapse", "PV bleeding", "Shoulder tip pain"]
    )
    def test_beside_a_positive_test(self, words: str) -> None:
        assert self._asked(_test(), _problem(words)) == "urgent"
        assert self._asked(_test("Negative"), _problem(words)) is None
        assert self._asked(_test()) is None

    def test_a_symptom_that_was_observed(self) -> None:
        sent = observation("pain", "0-0", at=AT, valueBoolean=True)
        sent["code"]["text"] = "Abdominal pain"
        assert self._asked(_test(), sent) == "urgent"

    def test_in_shock(self) -> None:
        pain = _problem("Abdominal pain")
        assert self._asked(_test(), pain, pulse="101 /min", systolic_pressure="100 mm[Hg]") == "emergency"
        assert self._asked(_test(), pain, pulse="100 /min", systolic_pressure="100 mm[Hg]") == "urgent"
        assert self._asked(_test(), pulse="111 /min", systolic_pressure="90 mm[Hg]") == "emergency"
        assert self._asked(_test(), pulse="110 /min", systolic_pressure="90 mm[Hg]") is None

    @pytest.mark.parametrize(("weeks", "expected"), [("13.9", "urgent"), ("14", None)])
    def test_in_early_pregnancy(self, weeks: str, expected: str | None) -> None:
        """Up to 13 completed weeks (NICE NG126, secondary)."""
        assert self._asked(_weeks(weeks), _problem("Abdominal pain")) == expected

    @pytest.mark.parametrize(("ago", "expected"), [("70 d", "urgent"), ("71 d", None)])
    def test_how_long_a_test_is_of_an_early_one(self, ago: str, expected: str | None) -> None:
        assert self._asked(_test(at=earlier(ago)), _problem("Abdominal pain")) == expected

    @pytest.mark.parametrize(("ago", "expected"), [("14 d", "urgent"), ("15 d", None)])
    def test_an_old_pain_is_another(self, ago: str, expected: str | None) -> None:
        assert self._asked(_test(), _problem("Abdominal pain", onset=earlier(ago))) == expected

    def test_seen_in_the_womb(self) -> None:
        seen = _problem("Viable intrauterine pregnancy") | {"id": "seen"}
        assert self._asked(_test(), _problem("Abdominal pain"), seen) is None

    def test_a_pregnancy_of_any_gestation_does_not_ask(self) -> None:
        pregnant = _problem("Pregnancy") | {"id": "known"}
        assert self._asked(_problem("Abdominal pain"), pregnant) is None


def test_a_severe_pressure_is_an_emergency_then() -> None:
    """One door for all: the status alone changes the answer from calm to an emergency."""
    high = [measured("s", "systolic-pressure", "162", "mm[Hg]")]
    rest = full_set(systolic_pressure=None)
    status = _status(valueCodeableConcept={"text": "Pregnant"})
    lead = answer_of(patient(BORN), *rest, *high, status).reviews[0].findings
    assert any(one.key == "pregnancy-pressure" and one.urgency.word == "emergency" for one in lead)
