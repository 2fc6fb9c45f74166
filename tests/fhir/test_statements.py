"""What is said of a patient in words that nobody reads, and emergencies sent elsewhere than as problems.

That a conclusion, an impression or a flag which nobody read is no reason for calm is common practice, no
source; statuses are those of FHIR R4 (`diagnostic-report-status`, `clinicalimpression-status`, ...).
"""

from typing import Any

import pytest

from tests.records import Json, allergy, answer_of, asked_for, bundle, full_set, observation, patient, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.findings import Urgency
from weatherglass.model.review import Review
from weatherglass.pipeline import review_body

_AT = "2026-03-01T09:30:00+04:00"
_QUIET = "Nothing urgent found"


def _report(**rest: Any) -> Json:
    report: Json = {
        "resourceType": "DiagnosticReport",
        "id": "d",
        "status": "final",
        "code": {"text": "CT pulmonary angiogram"},
        "subject": {"reference": "Patient/p"},
        "effectiveDateTime": _AT,
    }
    return {**report, **rest}


def _review(*resources: Json) -> Review:
    return answer_of(patient(), *full_set(), *resources).reviews[0]


class TestWords:
    def test_that_they_are_there_takes_the_place_of_the_calm(self) -> None:
        one = _review(_report(conclusion="Large saddle embolus."))
        assert one.headline == "NEWS2 0. Sent and not read: CT pulmonary angiogram report (09:30 on 1 March)."

    @pytest.mark.parametrize(
        "rest",
        [
            {},
            {"conclusion": "Old.", "effectiveDateTime": "2026-02-28T09:59:00+04:00"},
            {"conclusion": "Taken back.", "status": "entered-in-error"},
            {"conclusion": "Of somebody else.", "subject": {"reference": "Patient/q"}},
            {"conclusion": "Not dated.", "effectiveDateTime": None},
        ],
        ids=["none", "more than a day ago", "taken back", "another patient", "without a time"],
    )
    def test_what_does_not(self, rest: Json) -> None:
        report = {key: value for key, value in _report(**rest).items() if value is not None}
        assert _review(report).headline == f"NEWS2 0. {_QUIET}."

    @pytest.mark.parametrize(
        ("conclusion", "says_more"),
        [
            ("pH 7.4 [pH], pCO2 6.1 kPa [H]. Out of reference range: pCO2", False),
            ("WBC 9000 /uL, Hct 38.3 %", False),
            ("WBC 9000 /uL, Hct 38.3 %, blasts 4 %", True),
            ("WBC 9000 /uL. Blasts seen", True),
            ("Out of reference range: WBC", True),
        ],
    )
    def test_results_that_are_printed_again_are_no_words(self, conclusion: str, says_more: bool) -> None:
        """Each was sent by itself; one value more than there are results says more."""
        results = [{"reference": "Observation/1"}, {"reference": "Observation/2"}]
        said = _review(_report(conclusion=conclusion, result=results)).headline
        assert ("report" in said) is says_more

    def test_a_report_without_a_name_has_that_of_its_kind(self) -> None:
        code = {"coding": [{"system": "http://loinc.org", "code": "", "display": ""}], "text": ""}
        said = _review(_report(conclusion="Seen.", code=code, category=[{"text": "Radiology"}])).headline
        assert "Radiology report" in said

    def test_what_is_not_json_is_named_and_nothing_is_lost(self) -> None:
        answer = answer_of(patient(), *full_set(), _report(conclusion=7))
        assert any(one.key is IssueKey.RESOURCE_NOT_USED for one in answer.issues)
        assert answer.reviews[0].headline == f"NEWS2 0. {_QUIET}."

    def test_the_same_from_lines(self) -> None:
        resources = (patient(), *full_set(), _report(conclusion="Large saddle embolus."))
        lines = b"\n".join(map(text, resources))
        assert review_body(lines).reviews[0].headline == _review(_report(conclusion="x")).headline
        assert (
            review_body(text(bundle(*resources))).reviews[0].headline
            == _review(_report(conclusion="x")).headline
        )


class TestCodes:
    def test_an_emergency_is_a_problem_of_that_hour(self) -> None:
        one = _review(_report(conclusionCode=[{"text": "Saddle pulmonary embolus"}]))
        assert one.urgency is Urgency.EMERGENCY
        assert one.headline.startswith("New on record: Saddle pulmonary embolus (09:30 on 1 March).")

    def test_a_preliminary_one_is_suspected(self) -> None:
        one = _review(_report(status="preliminary", conclusionCode=[{"text": "Subdural haematoma"}]))
        assert one.headline.startswith("New on record, suspected: Subdural haematoma")

    @pytest.mark.parametrize(
        "words", ["No pulmonary embolism", "Previous pulmonary embolism", "Emphysema", "Gallstones"]
    )
    def test_what_is_denied_of_the_past_or_no_emergency_is_not(self, words: str) -> None:
        one = _review(_report(conclusionCode=[{"text": words}]))
        assert one.urgency is Urgency.ROUTINE
        assert "Sent and not read: CT pulmonary angiogram report" in one.headline

    def test_one_dated_today_without_a_time_is_met_all_day(self) -> None:
        """The morning's review came before noon, where a date alone stands, and saw nothing."""
        one = _review(
            _report(effectiveDateTime="2026-03-01", conclusionCode=[{"text": "Saddle pulmonary embolus"}])
        )
        assert one.urgency is Urgency.EMERGENCY

    def test_values_printed_once_more_are_no_words(self) -> None:
        form = [{"contentType": "application/pdf"}]
        read = [{"reference": "Observation/pulse"}]
        assert "CT pulmonary angiogram report" in _review(_report(presentedForm=form)).headline
        assert _QUIET in _review(_report(presentedForm=form, result=read)).headline


@pytest.mark.parametrize(
    ("words", "answer", "is_said"),
    [
        ("Facial droop", {"valueBoolean": True}, True),
        ("Facial droop", {"valueBoolean": False}, False),
        ("Swelling of the tongue", {"valueString": "Increasing"}, True),
        ("Bilateral leg weakness", {"valueString": "None"}, False),
        ("Appetite", {"valueString": "Good"}, False),
    ],
)
def test_a_symptom_sent_as_an_observation(words: str, answer: Json, is_said: bool) -> None:
    sent = observation("s", "0-0", at=_AT, **answer)
    sent["code"] = {"text": words}
    headline = _review(sent).headline
    assert (words in headline) is is_said
    assert (_QUIET in headline) is not is_said


def _said(kind: str, **rest: Any) -> Json:
    return {"resourceType": kind, "id": "x", "subject": {"reference": "Patient/p"}, **rest}


_IMPRESSION = {"status": "completed", "date": _AT, "summary": "Septic shock."}
_FOR = {"for": {"reference": "Patient/p"}}
_PATIENT = {"patient": {"reference": "Patient/p"}}


class TestOthers:
    @pytest.mark.parametrize(
        ("sent", "said"),
        [
            (_said("ClinicalImpression", **_IMPRESSION), "Clinical impression"),
            (
                _said("ClinicalImpression", **_IMPRESSION, code={"text": "Medical review"}),
                "Medical review clinical impression",
            ),
            (
                _said("AdverseEvent", actuality="actual", date=_AT, event={"text": "Fall from bed"}),
                "Fall from bed adverse event",
            ),
            (
                _said("Flag", status="active", code={"text": "Sepsis alert"}, period={"start": _AT}),
                "Sepsis alert flag",
            ),
            (
                _said("DetectedIssue", status="final", identifiedDateTime=_AT, **_PATIENT),
                "Detected issue",
            ),
            (_said("RiskAssessment", status="final", occurrenceDateTime=_AT), "Risk assessment"),
            (_said("QuestionnaireResponse", status="completed", authored=_AT), "Questionnaire"),
            (
                _said("Task", status="requested", intent="order", priority="stat", authoredOn=_AT, **_FOR),
                "Task",
            ),
            (_said("Communication", status="completed", priority="urgent", sent=_AT), "Message"),
        ],
        ids=lambda one: one if isinstance(one, str) else "",
    )
    def test_of_the_last_day_takes_the_place_of_the_calm(self, sent: Json, said: str) -> None:
        assert _review(sent).headline == f"NEWS2 0. Sent and not read: {said} (09:30 on 1 March)."

    @pytest.mark.parametrize(
        "sent",
        [
            _said("ClinicalImpression", **_IMPRESSION | {"date": "2026-02-28T09:00:00+04:00"}),
            _said("ClinicalImpression", **_IMPRESSION | {"status": "entered-in-error"}),
            _said("ClinicalImpression", **_IMPRESSION, modifierExtension=[{"url": "urn:x"}]),
            _said("ClinicalImpression", **_IMPRESSION | {"subject": {"reference": "Patient/q"}}),
            _said("Task", status="requested", intent="order", priority="routine", authoredOn=_AT, **_FOR),
            _said("Task", status="completed", intent="order", priority="stat", authoredOn=_AT, **_FOR),
            _said("Communication", status="completed", sent=_AT),
            _said(
                "DetectedIssue",
                status="preliminary",
                identifiedDateTime=_AT,
                identifier=[{"system": "urn:weatherglass:finding", "value": "x"}],
                **_PATIENT,
            ),
            _said("Flag", status="inactive", code={"text": "MRSA"}, period={"start": _AT}),
            _said("Flag", status="active", code={"text": "MRSA"}, period={"end": "2026-02-01"}),
            _said("Flag", status="active", code={"text": "MRSA"}, period={"start": "2026-03-02"}),
            _said("CarePlan", status="active", intent="plan", title="Nursing care plan", created=_AT),
        ],
        ids=[
            "more than a day ago",
            "taken back",
            "modified",
            "of another",
            "a task of the day",
            "a task that is done",
            "a message of the day",
            "our own",
            "a flag taken down",
            "a flag that has ended",
            "a flag of tomorrow",
            "a plan of care",
        ],
    )
    def test_what_does_not(self, sent: Json) -> None:
        assert _review(sent).headline == f"NEWS2 0. {_QUIET}."

    def test_an_emergency_among_its_codes_is_a_problem_of_then(self) -> None:
        found = [{"itemCodeableConcept": {"text": "Septic shock"}}]
        one = _review(_said("ClinicalImpression", **_IMPRESSION, finding=found))
        assert one.headline.startswith("New on record: Septic shock (09:30 on 1 March).")
        told = _review(_said("ClinicalImpression", **_IMPRESSION | {"status": "in-progress"}, finding=found))
        assert told.headline.startswith("New on record, suspected: Septic shock")

    @pytest.mark.parametrize("event", ["actual", "potential"])
    def test_what_happened_and_what_nearly_did(self, event: str) -> None:
        sent = _said("AdverseEvent", actuality=event, date=_AT, event={"text": "Air embolism"})
        said = "suspected: " if event == "potential" else ""
        assert f"{said}Air embolism" in _review(sent).headline


class TestFlags:
    """One that stands is said for as long as it does; it is there for whoever opens the record."""

    @pytest.mark.parametrize("period", [{"start": "2024-05-01"}, {"start": "2024"}, {}])
    def test_beside_the_calm(self, period: Json) -> None:
        flags = [
            _said("Flag", status="active", code={"text": words}, period=period) | {"id": f"f{number}"}
            for number, words in enumerate(("Difficult airway", "Patient at risk of falls"))
        ]
        one = _review(*flags)
        assert (
            one.headline == f"NEWS2 0. {_QUIET}. Flags, not read: Difficult airway; Patient at risk of falls."
        )

    def test_the_one_who_is_called_hears_of_it(self) -> None:
        flag = _said("Flag", status="active", code={"text": "Difficult airway"})
        (one,) = answer_of(patient(), *full_set(spo2="80 %"), flag).reviews
        assert one.handover.background[-1] == "Flags, not read: Difficult airway."
        assert "Difficult airway" not in one.headline

    def test_one_that_decides_is_read(self) -> None:
        flag = _said("Flag", status="active", code={"text": "Not for resuscitation"})
        one = _review(flag)
        assert one.is_not_for_resuscitation
        assert "not read" not in one.headline


class TestReactions:
    def _allergy(self, words: str, **rest: Any) -> Json:
        return allergy("Teicoplanin", reaction=[{"manifestation": [{"text": words}], **rest}])

    def test_anaphylaxis_of_today_is_met(self) -> None:
        one = _review(self._allergy("Anaphylaxis", onset=_AT))
        assert one.urgency is Urgency.EMERGENCY
        assert one.headline.startswith("Anaphylaxis (Teicoplanin) is recorded (09:30 on 1 March).")

    def test_angioedema_of_today_is_met(self) -> None:
        one = _review(self._allergy("Angioedema", onset=_AT))
        assert one.headline.startswith("New on record: Angioedema (Teicoplanin) (09:30 on 1 March).")

    @pytest.mark.parametrize(
        ("words", "rest"),
        [("Anaphylaxis", {}), ("Anaphylaxis", {"onset": "2019-05-01"}), ("Rash", {"onset": _AT})],
        ids=["without a date", "years ago", "no emergency"],
    )
    def test_what_is_history_or_no_emergency_is_not(self, words: str, rest: Json) -> None:
        assert _review(self._allergy(words, **rest)).headline == f"NEWS2 0. {_QUIET}."


class TestOrders:
    def _order(self, **rest: Any) -> Json:
        order: Json = asked_for("CT head", priority="stat", authoredOn=_AT)
        return {**order, **rest}

    @pytest.mark.parametrize(("status", "is_open"), [("final", False), ("partial", True)])
    def test_what_a_report_answers_is_done(self, status: str, is_open: bool) -> None:
        order = self._order()
        answered = [{"reference": f"ServiceRequest/{order['id']}"}]
        for one in (
            [order, _report(status=status, basedOn=answered)],
            [_report(status=status, basedOn=answered), order],
        ):
            assert ("to be done at once" in _review(*one).headline) is is_open

    @pytest.mark.parametrize("priority", ["stat", "asap"])
    def test_what_is_to_be_done_at_once_is_no_calm(self, priority: str) -> None:
        one = _review(self._order(priority=priority))
        assert one.headline == (
            "NEWS2 0. Sent and not read: CT head order to be done at once (09:30 on 1 March)."
        )

    @pytest.mark.parametrize(
        "rest",
        [
            {"priority": "urgent"},
            {"priority": "routine"},
            {"status": "completed"},
            {"status": "revoked"},
            {"intent": "proposal"},
            {"doNotPerform": True},
            {"authoredOn": "2026-02-28T09:59:00+04:00"},
            {"code": {"coding": [{"system": "http://loinc.org", "code": "58410-2"}], "text": "Blood count"}},
        ],
    )
    def test_what_is_not(self, rest: Json) -> None:
        assert _QUIET in _review(self._order(**rest)).headline
