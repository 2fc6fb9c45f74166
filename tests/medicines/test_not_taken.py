"""What is ordered and recorded as not taken, or ordered not to be given, through the real door.

Expected: ours; that what is ordered is compared with what is taken is common practice, no source.
"""

from typing import Any

import pytest

from tests.medicines.wards import injury, order, problem, reviewed, suggestions
from tests.records import Json, earlier, full_set, given
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding

R, P = Urgency.ROUTINE, Urgency.PROMPT


def _statement(text: str, **rest: Any) -> Json:
    whole: Json = {
        "resourceType": "MedicationStatement",
        "id": "s",
        "status": "not-taken",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": {"text": text},
    }
    return {**whole, **rest}


def _of(*resources: Json, text: str = "Ramipril 5 mg", **rest: Any) -> MedicineFinding | None:
    answer = reviewed(*full_set(), *resources, {**order(text), "id": "o", **rest})
    return suggestions(answer).get("o")


class TestNotTaken:
    @pytest.mark.parametrize(
        ("text", "urgency"), [("Ramipril 5 mg", R), ("Co-careldopa 25/100", P), ("Clozapine 100 mg", P)]
    )
    def test_the_order_stands(self, text: str, urgency: Urgency) -> None:
        said = _statement(text, dateAsserted=earlier("3 h"), statusReason=[{"text": "dizzy with it"}])
        found = _of(said, text=text)
        assert found is not None
        assert (found.action, found.urgency) == ("review", urgency)
        assert "recorded as not taken (" in found.sentence
        assert "dizzy with it)" in found.sentence
        assert "MedicationStatement/s" in found.evidence

    def test_a_draft_is_asked_about_at_its_signing(self) -> None:
        found = _of(_statement("Ramipril"), status="draft")
        assert found is not None
        assert "recorded as not taken" in found.sentence

    @pytest.mark.parametrize(("hours", "is_asked"), [("4 h", True), ("2 h", False)])
    def test_a_dose_given_since_answers_it(self, hours: str, is_asked: bool) -> None:
        dose = given("Ramipril 5 mg", earlier(hours))
        assert (_of(_statement("Ramipril", dateAsserted=earlier("3 h")), dose) is not None) is is_asked
        assert _of(_statement("Ramipril"), dose) is None

    def test_one_that_is_over_or_of_something_else(self) -> None:
        over = {"effectivePeriod": {"start": earlier("30 d"), "end": earlier("2 d")}}
        assert _of(_statement("Ramipril", **over)) is None
        assert _of(_statement("Amlodipine")) is None

    @pytest.mark.parametrize(("since", "action"), [("49 h", "hold"), ("47 h", "review")])
    def test_what_is_begun_anew_after_a_gap(self, since: str, action: str) -> None:
        """Clozapine after more than 48 hours without it; the gap of doses here asks the same."""
        said = _statement("Clozapine", effectivePeriod={"start": earlier(since)}, dateAsserted=earlier("3 h"))
        found = _of(said, text="Clozapine 300 mg")
        assert found is not None
        assert found.action == action

    def test_nothing_is_argued_from_what_is_not_in_the_body(self) -> None:
        """A hold is of the order and stays; a level, a lower dose or "do not stop" suppose that it acts."""
        said = _statement("Ibuprofen 400 mg")
        found = _of(*injury(2), said, text="Ibuprofen 400 mg")
        assert found is not None
        assert found.action == "hold"
        assert "recorded as not taken" in found.sentence
        lithium = _of(*injury(2), _statement("Lithium carbonate"), text="Lithium carbonate 400 mg")
        assert lithium is not None
        assert {reason.action for reason in lithium.reasons} <= {"hold", "review"}

    def test_a_bleeding_says_so_too(self) -> None:
        """Two sentences of one review do not contradict each other: "on Apixaban" beside "not taken"."""
        bleed = problem("Haematemesis", since=earlier("2 h"))
        (review,) = reviewed(*full_set(), bleed, _statement("Apixaban"), order("Apixaban 5 mg")).reviews
        (found,) = (each for each in review.findings if each.key == "possible-bleeding")
        assert "on Apixaban 5 mg (recorded as not taken)" in found.brief

    def test_it_outdates_an_older_statement(self) -> None:
        taken = {**_statement("Ramipril"), "id": "t", "status": "active"}
        taken["effectivePeriod"] = {"start": earlier("90 d")}
        answer = reviewed(*full_set(), taken, _statement("Ramipril", dateAsserted=earlier("3 h")))
        assert answer.reviews[0].medicines_reviewed == 0
        newer = {**taken, "effectivePeriod": {"start": earlier("1 h")}}
        answer = reviewed(*full_set(), newer, _statement("Ramipril", dateAsserted=earlier("3 h")))
        assert answer.reviews[0].medicines_reviewed == 1


class TestNotToBeGiven:
    def test_two_orders_contradict_each_other(self) -> None:
        against = {**order("Ramipril 5 mg"), "id": "n", "doNotPerform": True}
        found = _of(against)
        assert found is not None
        assert (found.action, found.urgency) == ("hold", P)
        assert "ordered not to be given" in found.sentence

    @pytest.mark.parametrize("rest", [{"status": "stopped"}, {"intent": "proposal"}], ids=str)
    def test_one_that_is_not_in_force(self, rest: dict[str, Any]) -> None:
        against = {**order("Ramipril 5 mg"), "id": "n", "doNotPerform": True, **rest}
        assert _of(against) is None

    def test_by_itself_it_says_nothing(self) -> None:
        answer = reviewed(*full_set(), problem("Hypertension"), {**order("Ramipril"), "doNotPerform": True})
        assert suggestions(answer) == {}
        assert IssueKey.NOT_FINAL in {issue.key for issue in answer.issues}
