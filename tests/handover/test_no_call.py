"""Where it ends: in recorded last days of life, after death and after leaving nobody is called.

Royal College of Physicians, NEWS2, 2017: in end-of-life care the score is for information; the rest is ours.
"""

from datetime import datetime, timedelta

import pytest

from tests.records import (
    AT,
    Json,
    answer_of,
    creatinines,
    earlier,
    flag,
    full_set,
    given,
    measured,
    ordered,
    patient,
    problem,
    stay,
)
from weatherglass.cli.printing.text import review_text
from weatherglass.model.findings import Kind, ScoreFinding, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.review import Review

_NOW = datetime.fromisoformat(AT)
_ILL = {
    "respiration_rate": "28 /min",
    "spo2": "84 %",
    "systolic_pressure": "82 mm[Hg]",
    "consciousness": "voice",
}


def _flag(words: str) -> Json:
    return flag(words, id="flag", period={"start": earlier("20 h")})


def _stay(ended: str | None) -> Json:
    period = {"start": earlier("4 d"), **({"end": earlier(ended)} if ended else {})}
    return {
        "resourceType": "Encounter",
        "id": "stay",
        "status": "finished" if ended else "in-progress",
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": period,
    }


def _morphine() -> Json:
    return ordered("Morphine 10 mg/24 hours subcutaneous infusion", authoredOn=earlier("20 h"))


def _review(*resources: Json, person: Json | None = None, as_of: datetime = _NOW) -> Review:
    (one,) = answer_of(person or patient(), *resources, as_of=as_of).reviews
    return one


class TestLastDaysOfLife:
    def _dying(self) -> Review:
        return _review(_flag("End of life care, last days of life"), *full_set(**_ILL), _morphine())

    def test_it_is_for_information(self) -> None:
        one = self._dying()
        assert one.headline.startswith("End-of-life care is recorded: for information.")
        assert one.escalation is None
        assert one.investigations == ()
        assert "\nCall " not in review_text(one, ())

    def test_the_numbers_stay_and_ask_for_nothing(self) -> None:
        score = next(f for f in self._dying().findings if isinstance(f, ScoreFinding) and f.key == "news2")
        assert score.lowest >= 7
        assert (score.urgency, score.response, score.monitoring) == (Urgency.ROUTINE, "", "")

    def test_a_number_asks_for_no_test_and_nobody(self) -> None:
        """Ours: "Check glucose", "12-lead ECG" and a nephrologist stood beside the last days of life."""
        potassium = measured("k", "potassium", "6.9", "mmol/L")
        injury = creatinines("290", [("30 h", "90")])
        one = _review(_flag("Last days of life"), *full_set(**_ILL), potassium, *injury)
        told = [f for f in one.findings if not isinstance(f, ScoreFinding)]
        assert {Kind.SINGLE_SIGN, Kind.CRITICAL_RESULT, Kind.AKI_STAGE} <= {f.kind for f in told}
        assert [(f.at_once, f.cautions) for f in told if f.at_once or f.cautions] == []
        assert "Asked for:" not in review_text(one, ())

    def test_no_comfort_medicine_is_held(self) -> None:
        found = [f for f in self._dying().findings if isinstance(f, MedicineFinding)]
        assert found
        assert all(f.urgency is Urgency.ROUTINE for f in found)
        assert not any(f.action == "hold" for f in found)

    @pytest.mark.parametrize("is_dying", [True, False])
    def test_no_crisis_is_asked_for(self, *, is_dying: bool) -> None:
        """Cold and drowsy in hypothyroidism: hormones are not for the last days of life; our choice."""
        cold = full_set(consciousness="voice", temperature="34.0 Cel")
        plan = [_flag("Last days of life")] if is_dying else []
        one = _review(*cold, problem("Hypothyroidism"), *plan)
        assert any(found.kind is Kind.METABOLIC for found in one.findings) is not is_dying

    def test_without_such_a_record_it_is_an_emergency(self) -> None:
        one = _review(*full_set(**_ILL), _morphine())
        assert one.urgency is Urgency.EMERGENCY
        assert one.escalation is not None


class TestDied:
    @pytest.mark.parametrize(
        ("died", "is_called"),
        [
            pytest.param({"deceasedBoolean": True}, False, id="without a time"),
            pytest.param({"deceasedDateTime": earlier("1 h")}, False, id="before the review"),
            pytest.param({"deceasedDateTime": "2026-03-01T14:00:00+04:00"}, True, id="after the review"),
        ],
    )
    def test_nobody_is_called_from_then_on(self, died: Json, is_called: bool) -> None:
        one = _review(*full_set(**_ILL), person=patient(**died))
        assert (one.escalation is not None) is is_called

    def test_nobody_is_asked_about_the_chart(self) -> None:
        """Ours: a Task, a line of the list and the call asked whether to hold the morphine of the dead."""
        one = _review(*full_set(**_ILL), _morphine(), person=patient(deceasedBoolean=True))
        assert not any(isinstance(f, MedicineFinding) for f in one.findings)
        assert "\nDrug chart: suggestions" not in review_text(one, ())
        assert any("On the chart: Morphine" in said for said in one.handover.background)


class TestLeft:
    def test_the_ward_is_not_called(self) -> None:
        """A result that comes after the patient has gone is for those who see the patient now."""
        potassium = measured("k", "potassium", "6.9", "mmol/L")
        one = _review(_stay("2 h"), potassium)
        assert one.headline.startswith(
            "Left hospital at 08:00 on 1 March: for those who see the patient now."
        )
        assert "Potassium 6.9" in one.headline
        assert one.escalation is None

    def test_who_is_measured_again_is_somewhere(self) -> None:
        assert _review(_stay("2 h"), *full_set(**_ILL)).escalation is not None

    def test_an_open_stay_is_the_ward_s(self) -> None:
        assert _review(_stay(None), *full_set(**_ILL)).escalation is not None

    def test_the_end_of_the_stay_is_the_moment_from_which(self) -> None:
        potassium = measured("k", "potassium", "6.9", "mmol/L", effectiveDateTime=earlier("3 h"))
        assert _review(_stay("2 h"), potassium).escalation is None
        before = _NOW - timedelta(hours=2, minutes=1)
        assert _review(_stay("2 h"), potassium, as_of=before).escalation is not None


class TestComfort:
    """What relieves is 'prompt' in the last days, and nobody is called. NICE NG31, from memory."""

    @staticmethod
    def _told(*resources: Json, dying: bool = True) -> list[tuple[str, Urgency]]:
        plan = (_flag("Last days of life: individualised care plan"),) if dying else ()
        (review,) = answer_of(patient(), *full_set(), *plan, *resources).reviews
        assert not dying or review.escalation is None
        return [(one.brief, one.urgency) for one in review.findings if one.key.startswith("comfort")]

    @pytest.mark.parametrize(
        "words",
        [
            "Urinary retention",
            "Implantable cardioverter defibrillator in situ",
            "Carotid haemorrhage",
            "Severe pain",
            "Myoclonus",
            "Noisy breathing, rattle",
            "Terminal restlessness",
        ],
    )
    def test_is_named(self, words: str) -> None:
        known = problem(words, onsetDateTime=earlier("2 h"))
        assert self._told(known) == [(f"For comfort: {words}", Urgency.PROMPT)]
        assert self._told(known, dying=False) == []

    @pytest.mark.parametrize(
        "one",
        [
            problem("Urinary retention", onsetDateTime=earlier("3 d")),
            problem("Implantable cardioverter defibrillator, deactivated"),
            problem("Pacemaker"),
            problem("Hypertension"),
        ],
    )
    def test_is_not_made_up(self, one: Json) -> None:
        """An old one, one that is switched off, and what needs nothing."""
        assert self._told(one) == []

    @pytest.mark.parametrize(
        ("ended", "beside", "is_told"),
        [
            ("71 h", None, True),
            ("73 h", None, False),
            ("6 h", "Morphine 30 mg over 24 hours by syringe driver", False),
            ("6 h", "Fentanyl 25 micrograms/hour patch", False),
            ("6 h", "Atorvastatin 20 mg", True),
        ],
    )
    def test_a_driver_that_ended(self, ended: str, beside: str | None, is_told: bool) -> None:
        """Common practice, no source: it is replaced, or its end is agreed; three days are ours."""
        driver = ordered(
            "Morphine 20 mg over 24 hours by syringe driver",
            id="gone",
            status="stopped",
            authoredOn=earlier("90 h"),
            dispenseRequest={"validityPeriod": {"end": earlier(ended)}},
        )
        others = [ordered(beside, id="on")] if beside is not None else []
        found = [brief for brief, _ in self._told(driver, *others)]
        assert found == (
            ["For comfort: Morphine 20 mg over 24 hours by syringe driver has ended"] if is_told else []
        )

    def test_two_background_opioids_are_no_plan(self) -> None:
        """Common practice, no source: the long-acting one ends when a driver takes its place."""
        driver = ordered(
            "Morphine 30 mg",
            id="csci",
            dosageInstruction=[{"text": "over 24 hours", "route": {"text": "SC"}}],
        )
        plan = _flag("Last days of life: individualised care plan")
        (review,) = answer_of(patient(), plan, driver, ordered("Zomorph 30 mg", id="mr")).reviews
        found = {one.key: one.urgency for one in review.findings}
        assert found["driver-with-long-acting"] is Urgency.PROMPT

    @pytest.mark.parametrize(
        ("times", "regular", "is_told"),
        [
            (("23 h", "9 h", "2 h"), (), True),
            (("25 h", "9 h", "2 h"), (), False),
            (("23 h", "9 h", "2 h"), ("20 mg over 24 hours by syringe driver",), True),
            (
                ("23 h", "9 h", "2 h"),
                ("5 mg every 4 hours",),
                False,
            ),  # Which order they were of is not known.
        ],
    )
    def test_what_is_needed_often(
        self, times: tuple[str, ...], regular: tuple[str, ...], is_told: bool
    ) -> None:
        """Common practice, no source: three doses or more in 24 hours."""
        under = {"route": {"text": "subcutaneous"}}
        needed = ordered(
            "Morphine",
            id="prn",
            dosageInstruction=[{"text": "2.5 mg as needed", "asNeededBoolean": True, **under}],
        )
        others = [
            ordered("Morphine", id="reg", dosageInstruction=[{"text": one, **under}]) for one in regular
        ]
        doses = [{**given("Morphine", earlier(at)), "id": f"d{at}"} for at in times]
        found = [brief for brief, _ in self._told(needed, *others, *doses)]
        assert found == (["For comfort: Morphine as needed 3 times in a day"] if is_told else [])


class TestDiedInAStay:
    """HL7 discharge-disposition `exp`: a death that stands only at the end of a stay."""

    @staticmethod
    def _closed(disposition: Json, *more: Json) -> str:
        ended = stay(
            status="finished",
            period={"start": earlier("3 d"), "end": earlier("1 h")},
            hospitalization={"dischargeDisposition": disposition},
        )
        measured_then = [{**one, "effectiveDateTime": earlier("2 h")} for one in full_set(pulse="0 /min")]
        (review,) = answer_of(patient(), ended, *measured_then, *more, as_of=_NOW).reviews
        return review.closed

    @pytest.mark.parametrize(
        ("disposition", "has_died"),
        [
            ({"coding": [{"code": "exp"}]}, True),
            ({"text": "Patient died"}, True),
            ({"coding": [{"code": "home"}]}, False),
        ],
    )
    def test_is_said_first(self, disposition: Json, has_died: bool) -> None:
        assert self._closed(disposition).startswith("Recorded as having died") is has_died

    def test_not_of_who_is_measured_afterwards(self) -> None:
        """A wrong entry hides nobody."""
        alive = measured("later", "pulse", "110", "/min")
        assert not self._closed({"coding": [{"code": "exp"}]}, alive)


def test_a_seizure_of_the_dying_is_relieved() -> None:
    """NICE NG31, from memory: what the plan holds for it; it was for information alone."""
    fit = problem("Seizure", onsetDateTime=earlier("1 h"))
    review = answer_of(patient(), _flag("Last days of life"), *full_set(), fit, as_of=_NOW).reviews[0]
    found = next(f for f in review.findings if f.key == "seizure")
    assert (found.urgency, review.escalation) == (Urgency.PROMPT, None)
    assert "by a route that needs no swallowing" in found.sentence
