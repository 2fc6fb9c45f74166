"""What goes into a record: orders that cards suggest, results that are delivered, subscriptions."""

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.cds_hooks.calls import NAMES, PRESENT, draft, sign, view
from tests.conformance.judges import Judges
from tests.ehr.little_store import LittleStore
from tests.ehr.pretend import Pretend, run
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings
from weatherglass.ehr.events.subscribing import Wanted
from weatherglass.ehr.writing_back.delivery import Delivery
from weatherglass.ehr.writing_back.results import results_in
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"


@pytest.fixture(scope="module")
def client() -> TestClient:
    """The application at the ward's present."""
    app = create_app(Settings(_env_file=None))
    app.state.clock = lambda: PRESENT
    return TestClient(app)


def _suggested(cards: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [
        action["resource"]
        for card in cards
        for suggestion in card.get("suggestions", [])
        for action in suggestion["actions"]
        if "resource" in action
    ]


@pytest.mark.parametrize("name", NAMES)
def test_orders_that_cards_suggest_are_valid(client: TestClient, judges: Judges, name: str) -> None:
    """Every suggested resource of the ward, as it would stand in the record after a click."""
    answer = client.post("/cds-services/deterioration-review", json=view(name)).json()
    judges.accept(*_suggested(answer["cards"]))


def test_drafts_that_are_signed_on_hold_are_valid(client: TestClient, judges: Judges) -> None:
    order = draft("04-aki-nephrotoxics", "ibuprofen 400 mg tablets")
    answer = client.post("/cds-services/medicine-safety", json=sign("04-aki-nephrotoxics", order)).json()
    suggested = _suggested(answer["cards"])
    assert suggested
    judges.accept(*suggested)


@pytest.mark.parametrize("name", ["01-sepsis", "04-aki-nephrotoxics", "09-incomplete-after-operation"])
def test_delivered_results_are_valid_open_and_closed(judges: Judges, name: str) -> None:
    """As the server holds them: named, tagged, digested; and after a review that repeats nothing."""
    store = LittleStore()
    body = json.loads((WARD / f"{name}.json").read_text())
    emptied = {**body, "entry": [e for e in body["entry"] if e["resource"]["resourceType"] == "Patient"]}
    patient = emptied["entry"][0]["resource"]["id"]
    emptied["entry"].append({"resource": _one_pulse(patient)})

    async def deliver(record: dict[str, Any]) -> None:
        async with Pretend(store).transport() as transport:
            collection = review(json.dumps(record).encode()).collection(stamp())
            await Delivery(transport).deliver(results_in(collection))

    run(deliver(body))
    judges.accept(*store.held.values())
    run(deliver(emptied))
    statuses = {r["status"] for r in store.of("DetectedIssue")}
    assert "cancelled" in statuses
    judges.accept(*store.held.values())


def _one_pulse(patient: str) -> dict[str, Any]:
    return {
        "resourceType": "Observation",
        "id": "pulse",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
        "subject": {"reference": f"Patient/{patient}"},
        "effectiveDateTime": "2026-03-12T09:00:00+00:00",
        "valueQuantity": {"value": 70, "unit": "/min", "system": "http://unitsofmeasure.org", "code": "/min"},
    }


@pytest.mark.parametrize(
    "wanted",
    [
        pytest.param({"criteria": "Observation?status=final"}, id="R4"),
        pytest.param({"criteria": "Observation?status=final", "content": "empty"}, id="R4, empty"),
        pytest.param(
            {"criteria": "https://ward.example/topic", "content": "id-only", "filters": ("Observation?a=b",)},
            id="R5 backport",
        ),
    ],
)
def test_subscriptions_are_valid(judges: Judges, wanted: dict[str, Any]) -> None:
    made = Wanted(endpoint="https://adapter.example/notifications", secret="s", **wanted).resource()
    judges.accept(made)
