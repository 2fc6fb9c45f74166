"""Calls of the services from outside: what is needed, what may be missing, what is refused.

Expected: CDS Hooks 2.0.1, "Calling a CDS Service", "Prefetch Template", "HTTP Status Codes".
"""

import copy
import json
from datetime import timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.cds_hooks.calls import (
    INSTANCE,
    NAMES,
    PRESENT,
    WARD,
    bundle,
    draft,
    patient_id,
    prefetch,
    sign,
    view,
)
from tests.cds_hooks.schemas import accept
from tests.records import observation, quantity
from weatherglass import pipeline
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings
from weatherglass.cds_hooks.services import SERVICES
from weatherglass.model.review import DecisionShape

VIEW = "/cds-services/deterioration-review"
SAFETY = "/cds-services/medicine-safety"


def _cards(client: TestClient, call: dict[str, Any], path: str = VIEW) -> list[dict[str, Any]]:
    answer = client.post(path, json=call)
    assert answer.status_code == 200, answer.text
    accept("response", answer.json())
    cards: list[dict[str, Any]] = answer.json()["cards"]
    return cards


class TestDiscovery:
    """GET {base}/cds-services."""

    def test_names_every_service_once_a_hook(self, client: TestClient) -> None:
        answer = client.get("/cds-services")
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "application/json"
        accept("discovery", answer.json())
        assert [(s["hook"], s["id"]) for s in answer.json()["services"]] == [
            ("patient-view", "deterioration-review"),
            ("order-select", "medicine-safety"),
            ("order-sign", "medicine-safety"),
        ]

    def test_templates_keep_to_the_recommended_subset(self) -> None:
        """Reads and searches with reference, token, date, `_count` and `_sort`; tokens of the context.

        And `_include` of the Medication, without which an order by reference has no name.
        """
        allowed = {"patient", "category", "code", "status", "clinical-status", "_sort", "_count"}
        allowed |= {"type", "_include"}
        for service in SERVICES.values():
            for template in service.prefetch.values():
                assert template.count("{{") == template.count("{{context.patientId}}") == 1
                _, _, query = template.partition("?")
                names = {part.partition("=")[0] for part in query.split("&") if part}
                assert names <= allowed
            assert service.needed <= set(service.prefetch)


class TestDeteriorationReview:
    """patient-view."""

    @pytest.mark.parametrize(("minutes", "is_seen"), [(15, True), (16, False)])
    def test_a_clock_that_runs_a_little_ahead(self, client: TestClient, minutes: int, is_seen: bool) -> None:
        """Ours: a potassium of some minutes in the future was measured now; further ahead is a slip."""
        high = observation(
            "k",
            "2823-3",
            at=(PRESENT + timedelta(minutes=minutes)).isoformat(),
            valueQuantity={**quantity("7.4", "mmol/L"), "value": 7.4},
            subject={"reference": f"Patient/{patient_id('08-well-going-home')}"},
        )
        call = view("08-well-going-home")
        call["prefetch"]["potassium"]["entry"].append({"resource": high})
        said = " ".join(card["summary"] for card in _cards(client, call))
        assert ("Potassium 7.4" in said) is is_seen

    @pytest.mark.parametrize("name", NAMES)
    def test_every_patient_of_the_ward_gets_valid_cards(self, client: TestClient, name: str) -> None:
        cards = _cards(client, view(name))
        order = ["critical", "warning", "info"]
        indicators = [order.index(card["indicator"]) for card in cards[:4]]
        assert indicators == sorted(indicators)
        assert len(cards) <= 5
        for card in cards:
            text = f"{card['summary']} {card['detail']}"
            assert sum(any(sign.isalnum() for sign in word) for word in text.split()) <= 60, text
            assert len(card.get("links", ())) <= 1
            assert len(card["source"]["label"]) <= 60

    def test_potassium_comes_before_acidosis(self, client: TestClient) -> None:
        """Of what is equally urgent a result beyond its limit stands before what it shows in a gas."""
        said = [card["summary"] for card in _cards(client, view("04-aki-nephrotoxics"))]
        potassium = next(n for n, words in enumerate(said) if words.startswith("Potassium 6.2"))
        assert potassium <= 1
        assert not any("acidosis" in words for words in said[:potassium])

    def test_a_patient_who_is_well_gets_no_cards(self, client: TestClient) -> None:
        assert _cards(client, view("08-well-going-home")) == []

    def test_what_was_not_sent_is_said_of_a_well_patient_too(self, client: TestClient) -> None:
        """Our choice: no card at all would read as an all-clear of results that nobody looked at."""
        call = view("08-well-going-home")
        del call["prefetch"]["results"]
        (card,) = _cards(client, call)
        assert card["indicator"] == "info"
        assert card["summary"] == "Not sent, so not looked at: results."
        assert "Not sent" not in card["detail"]

    def test_the_sick_get_the_worst_first_with_whom_to_call(self, client: TestClient) -> None:
        first = _cards(client, view("01-sepsis"))[0]
        assert first["indicator"] == "critical"
        assert first["summary"].startswith("NEWS2 ")
        assert "Call medical registrar" in first["detail"]
        assert first["source"]["label"].startswith("Royal College of Physicians")

    def test_the_present_is_the_moment_of_the_review(self, client: TestClient) -> None:
        """Two days later the same observations are old, and that is said instead of an all-clear."""
        client.app.state.clock = lambda: PRESENT + timedelta(days=2)  # type: ignore[attr-defined]
        (card,) = _cards(client, view("08-well-going-home"))
        assert card["indicator"] == "warning"
        assert card["summary"].startswith("Observations are overdue by 37 hours")

    def test_only_the_patient_of_the_context_is_reviewed(self, client: TestClient) -> None:
        """Somebody else's observations in the prefetch change nothing."""
        call = view("08-well-going-home")
        call["prefetch"]["vitals"]["entry"] += prefetch("01-sepsis")["vitals"]["entry"]
        assert _cards(client, call) == []

    def test_what_two_keys_bring_is_counted_once(self, client: TestClient) -> None:
        call = view("04-aki-nephrotoxics")
        without = copy.deepcopy(call)
        del without["prefetch"]["creatinine"]
        strip = [[c["summary"] for c in _cards(client, one)] for one in (call, without)]
        assert strip[0] == strip[1]

    def test_cards_are_the_same_for_the_same_call(self, client: TestClient) -> None:
        call = view("01-sepsis")
        assert _cards(client, call) == _cards(client, call)


class TestPrefetch:
    """Absent, null, an error, a page of several."""

    @pytest.mark.parametrize("key", ["patient", "vitals"])
    @pytest.mark.parametrize(
        "value",
        [
            pytest.param("absent", id="absent"),
            pytest.param({"resourceType": "OperationOutcome", "issue": []}, id="OperationOutcome"),
            pytest.param("words", id="no resource"),
            pytest.param([], id="a list"),
        ],
    )
    def test_what_is_needed_and_not_known_is_412(self, client: TestClient, key: str, value: object) -> None:
        """412 Precondition Failed: the service is unable to retrieve the necessary FHIR data."""
        call = view("08-well-going-home")
        if value == "absent":
            del call["prefetch"][key]
        else:
            call["prefetch"][key] = value
        answer = client.post(VIEW, json=call)
        assert answer.status_code == 412
        assert answer.json()["resourceType"] == "OperationOutcome"
        assert answer.json()["issue"][0]["expression"] == [f"prefetch.{key}"]

    def test_null_says_that_there_is_nothing(self, client: TestClient) -> None:
        call = view("08-well-going-home")
        call["prefetch"]["vitals"] = None
        (card,) = _cards(client, call)
        assert card["indicator"] == "info"
        assert card["summary"].startswith("Not assessed: ")
        assert "NEWS2 is between 0 and" in card["summary"]

    def test_no_patient_is_not_an_answer(self, client: TestClient) -> None:
        call = view("08-well-going-home")
        call["prefetch"]["patient"] = None
        assert client.post(VIEW, json=call).status_code == 412

    def test_no_prefetch_at_all_is_412(self, client: TestClient) -> None:
        call = view("08-well-going-home")
        del call["prefetch"]
        answer = client.post(VIEW, json=call)
        assert answer.status_code == 412
        (issue,) = answer.json()["issue"]
        assert len(issue["expression"]) == 2

    def test_what_was_not_sent_and_is_not_needed_is_said(self, client: TestClient) -> None:
        call = view("01-sepsis")
        del call["prefetch"]["flags"]
        call["prefetch"]["plans"] = {"resourceType": "OperationOutcome", "issue": []}
        assert "flags, plans" in _cards(client, call)[0]["detail"]

    def test_a_first_page_of_the_chart_is_said_to_be_one(self, client: TestClient) -> None:
        call = view("01-sepsis")
        call["prefetch"]["medications"]["link"] = [{"relation": "next", "url": "https://ehr.example/2"}]
        assert "first page was sent of: medications" in _cards(client, call)[0]["detail"]

    def test_another_patient_than_the_context_is_400(self, client: TestClient) -> None:
        call = view("08-well-going-home")
        call["prefetch"]["patient"]["id"] = "somebody-else"
        assert client.post(VIEW, json=call).status_code == 400


class TestRefusals:
    """400 and 404."""

    @pytest.mark.parametrize(
        ("changes", "place"),
        [
            pytest.param({"hook": "order-sign"}, "hook", id="another hook"),
            pytest.param({"hook": "encounter-start"}, "hook", id="a hook of nobody's"),
            pytest.param({"hookInstance": "1"}, "hookInstance", id="no UUID"),
            pytest.param(
                {"context": {"userId": "Practitioner/x", "patientId": "Patient/p1"}},
                "context.patientId",
                id="a reference for an id",
            ),
            pytest.param({"context": {"userId": "", "patientId": "p1"}}, "context.userId", id="nobody looks"),
            pytest.param(
                {
                    "fhirAuthorization": {
                        "access_token": "t",
                        "token_type": "Bearer",
                        "expires_in": 300,
                        "scope": "user/*.rs",
                        "subject": "s",
                    }
                },
                "fhirServer",
                id="a token for no server",
            ),
            pytest.param(
                {
                    "fhirServer": "https://ehr.example/fhir",
                    "fhirAuthorization": {
                        "access_token": "t",
                        "token_type": "Bearer",
                        "expires_in": 300,
                        "scope": "patient/*.rs",
                        "subject": "s",
                        "patient": "somebody-else",
                    },
                },
                "fhirAuthorization.patient",
                id="a token for another patient",
            ),
        ],
    )
    def test_a_wrong_call_is_400_with_its_place(
        self, client: TestClient, changes: dict[str, Any], place: str
    ) -> None:
        answer = client.post(VIEW, json=view("08-well-going-home", **changes))
        assert answer.status_code == 400
        assert answer.json()["issue"][0]["expression"] == [place]

    @pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"hook": 1}', b"\xff", b"null"])
    def test_a_body_that_is_no_call_is_400(self, client: TestClient, body: bytes) -> None:
        answer = client.post(VIEW, content=body, headers={"Content-Type": "application/json"})
        assert answer.status_code == 400
        assert answer.json()["resourceType"] == "OperationOutcome"

    def test_an_unknown_service_is_404(self, client: TestClient) -> None:
        for path in ("/cds-services/nothing", "/cds-services/nothing/feedback"):
            answer = client.post(path, json=view("08-well-going-home"))
            assert answer.status_code == 404
            assert answer.json()["resourceType"] == "OperationOutcome"

    def test_unknown_fields_are_left_alone(self, client: TestClient) -> None:
        """CDS Hooks 2.0.1, "Extensions": a service ignores what it does not know."""
        call = view("08-well-going-home", extension={"com.example.x": 1}, other={"a": [1]})
        assert _cards(client, call) == []

    def test_orders_without_a_bundle_are_400(self, client: TestClient) -> None:
        call = sign("04-aki-nephrotoxics")
        del call["context"]["draftOrders"]
        answer = client.post(SAFETY, json=call)
        assert answer.json()["issue"][0]["expression"] == ["context.draftOrders"]
        call = sign("04-aki-nephrotoxics", hook="order-select")
        del call["context"]["selections"]
        answer = client.post(SAFETY, json=call)
        assert answer.json()["issue"][0]["expression"] == ["context.selections"]


class TestFeedback:
    """POST …/feedback: counted, and nothing kept."""

    def _metric(self, client: TestClient) -> dict[tuple[str, ...], float]:
        counts = client.app.state.cds_counts._feedback  # type: ignore[attr-defined]
        return {
            tuple(sample.labels.values()): sample.value
            for metric in counts.collect()
            for sample in metric.samples
            if sample.name.endswith("_total")
        }

    def _one(self, outcome: str, **more: Any) -> dict[str, Any]:
        return {
            "card": INSTANCE,
            "outcome": outcome,
            "outcomeTimestamp": "2026-03-12T07:45:00Z",
            **more,
        }

    def test_is_counted_by_outcome_and_by_our_own_reasons(self, client: TestClient) -> None:
        body = {
            "feedback": [
                self._one("accepted", acceptedSuggestions=[{"id": INSTANCE}]),
                self._one("overridden", overrideReason={"reason": {"code": "already-known"}}),
                self._one(
                    "overridden",
                    overrideReason={
                        "reason": {"code": "Ambrose Tidewell"},
                        "userComment": "Ambrose Tidewell is going home",
                    },
                ),
                self._one("overridden"),
            ]
        }
        accept("feedback", body)
        answer = client.post(f"{VIEW}/feedback", json=body)
        assert answer.status_code == 200
        assert self._metric(client) == {
            ("deterioration-review", "accepted", "none"): 1.0,
            ("deterioration-review", "overridden", "already-known"): 1.0,
            ("deterioration-review", "overridden", "other"): 1.0,
            ("deterioration-review", "overridden", "none"): 1.0,
        }

    @pytest.mark.parametrize(
        "one",
        [
            pytest.param({"outcome": "ignored"}, id="unknown outcome"),
            pytest.param({"outcome": "accepted", "acceptedSuggestions": []}, id="accepted without what"),
        ],
    )
    def test_what_is_no_feedback_is_400(self, client: TestClient, one: dict[str, Any]) -> None:
        body = {"feedback": [{**self._one("accepted"), **one}]}
        assert client.post(f"{VIEW}/feedback", json=body).status_code == 400
        assert self._metric(client) == {}


def test_nothing_of_a_call_is_logged(client: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    """Markers planted in every text of a record appear in no log line."""
    call = view("01-sepsis")
    call["prefetch"]["patient"]["name"] = [{"text": "PLANTED-MARKER"}]
    call["fhirServer"] = "https://ehr.example/PLANTED-MARKER"
    with caplog.at_level("DEBUG"):
        client.post(VIEW, json=call)
        client.post(VIEW, content=json.dumps(call)[:-1])
    assert "PLANTED-MARKER" not in caplog.text
    assert patient_id("01-sepsis") not in caplog.text


def test_a_draft_that_cannot_be_read_is_named(client: TestClient) -> None:
    """No card would read as "checked, and fine"."""
    nameless = draft("08-well-going-home", "")
    del nameless["medicationCodeableConcept"]
    (card, *_) = _cards(client, sign("08-well-going-home", nameless), SAFETY)
    assert card["summary"] == "A draft order could not be checked."
    assert "medicine is not named" in card["detail"]


def test_draft_orders_that_are_no_bundle_are_400(client: TestClient) -> None:
    call = sign("08-well-going-home")
    call["context"]["draftOrders"] = "orders"
    assert client.post(SAFETY, json=call).status_code == 400


def test_medicine_safety_needs_what_it_judges_by(client: TestClient) -> None:
    call = sign("04-aki-nephrotoxics", draft("04-aki-nephrotoxics", "ibuprofen"))
    for key in SERVICES["medicine-safety"].needed:
        lacking = copy.deepcopy(call)
        del lacking["prefetch"][key]
        answer = client.post(SAFETY, json=lacking)
        assert answer.status_code == 412
        assert answer.json()["issue"][0]["expression"] == [f"prefetch.{key}"]


def test_an_empty_prefetch_bundle_is_an_answer(client: TestClient) -> None:
    call = view("08-well-going-home")
    call["prefetch"] |= dict.fromkeys(call["prefetch"], bundle()) | {"patient": call["prefetch"]["patient"]}
    (card,) = _cards(client, call)
    assert card["summary"] == "Not assessed: no vital signs are recorded."


@pytest.mark.parametrize(
    ("server", "leads"),
    [("https://ehr.example/fhir/", True), (None, True), ("https://other.example/fhir", False)],
)
def test_cards_lead_to_the_page_from_the_record_where_that_is_set_up(server: str | None, leads: bool) -> None:
    """Link type `smart`: the client adds its own `iss` and `launch`, so nothing of them stands in it."""
    app = create_app(Settings(_env_file=None, launch_servers={"https://ehr.example/fhir": "weatherglass"}))
    app.state.clock = lambda: PRESENT
    call = view("01-sepsis", **({"fhirServer": server} if server else {}))
    with TestClient(app) as client:
        cards = _cards(client, call)
    smart = {
        "label": "The whole review, from the record",
        "url": "http://127.0.0.1:8080/launch",
        "type": "smart",
    }
    assert cards
    for card in cards:
        assert (smart in card.get("links", [])) is leads


@pytest.mark.parametrize("name", NAMES)
def test_a_card_knows_the_decisions_that_the_page_knows(client: TestClient, name: str) -> None:
    """What is recorded is never said to be unknown: both doors are told the same record."""
    body = (WARD / f"{name}.json").read_bytes()
    (one,) = pipeline.review(body, as_of=PRESENT).reviews
    cards = client.post("/cds-services/deterioration-review", json=view(name)).json()["cards"]
    if one.escalation is not None:
        said = cards[0]["detail"].replace("\\", "")
        limits = [words for words, shape, *_ in one.decisions if shape is not DecisionShape.FOR]
        assert [words for words in limits if words not in said] == []
        assert ("resuscitation not recorded" in said) is ("resuscitation not recorded" in " ".join(limits))


def test_what_holds_settle_comes_behind_them(client: TestClient) -> None:
    """What a hold would end is told after the holds, where there is room (ours)."""
    said = " ".join(card["detail"] for card in _cards(client, view("04-aki-nephrotoxics")))
    assert "Consider holding: Ibuprofen" in said
    assert "filtration is lost" not in said.partition("Consider holding: Ibuprofen")[0]
