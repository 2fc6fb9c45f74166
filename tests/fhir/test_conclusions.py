"""What a report concludes, and emergencies that are sent in other places than the list of problems.

That a conclusion nobody read is no reason for calm is common practice, no source; statuses are those of the
FHIR R4 value set diagnostic-report-status.
"""

from typing import Any

import pytest

from tests.records import Json, answer_of, bundle, full_set, observation, patient, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.findings import Review, Urgency
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
    assert (f"Sent and not read: {words}" in headline) is is_said
    assert (_QUIET in headline) is not is_said


class TestReactions:
    def _allergy(self, words: str, **rest: Any) -> Json:
        return {
            "resourceType": "AllergyIntolerance",
            "id": "a",
            "patient": {"reference": "Patient/p"},
            "code": {"text": "Teicoplanin"},
            "reaction": [{"manifestation": [{"text": words}], **rest}],
        }

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
        order: Json = {
            "resourceType": "ServiceRequest",
            "id": "s",
            "status": "active",
            "intent": "order",
            "priority": "stat",
            "code": {"text": "CT head"},
            "subject": {"reference": "Patient/p"},
            "authoredOn": _AT,
        }
        return {**order, **rest}

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
