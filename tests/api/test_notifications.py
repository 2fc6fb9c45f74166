"""The endpoint that a server notifies: quick, locked, and working on what arrives.

Expected: FHIR R4 Subscription, Subscriptions R5 Backport 1.1.0: a 2xx before processing.
"""

import asyncio
import copy
import json
import time
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from typing import Any

import httpx
import pytest
from joserfc.jwk import ECKey
from starlette.testclient import TestClient

from tests.ehr.little_store import LittleStore
from tests.ehr.pretend import Pretend
from weatherglass.api.notification_serving import notification_app
from weatherglass.cli.server_options import Server
from weatherglass.ehr.events.follow import Follower
from weatherglass.ehr.events.subscribing import Subscribed, Wanted, keep_on, subscribe
from weatherglass.pipeline import review_lines

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
SECRET = "of-the-subscription"
LOCK = {"Authorization": f"Bearer {SECRET}"}
HANDSHAKE = {
    "resourceType": "Bundle",
    "type": "history",
    "entry": [
        {
            "resource": {
                "resourceType": "Parameters",
                "parameter": [{"name": "type", "valueCode": "handshake"}],
            }
        }
    ],
}


class _Place:
    """A store with one patient's record, a follower of it, and the endpoint."""

    def __init__(self, *names: str) -> None:
        self.store = LittleStore()
        for name in names:
            for entry in json.loads((WARD / f"{name}.json").read_text())["entry"]:
                self.store.keep(entry["resource"])
        self.pretend = Pretend(self.store)
        self.follower = Follower(self.pretend.transport(), settle=0.02)
        self.app = notification_app(self.follower, SECRET)
        follower = self.follower
        self.app.router.lifespan_context = lambda _: follower.running()

    def wait(self, outcome: str, count: int = 1) -> None:
        """Wait until something has been done so often."""
        end = time.monotonic() + 20
        while self.follower.done[outcome] < count:
            assert time.monotonic() < end, dict(self.follower.done)
            time.sleep(0.01)

    def results(self) -> list[dict[str, Any]]:
        """What we have written into the store."""
        return [r for r in self.store.held.values() if "urn:weatherglass:finding" in json.dumps(r)]


@pytest.fixture
def place() -> _Place:
    """A place with a patient who is well."""
    return _Place("08-well-going-home")


def _client(place: _Place) -> TestClient:
    return TestClient(place.app, headers=LOCK)


def _observation(place: _Place) -> dict[str, Any]:
    return next(r for r in place.store.of("Observation") if "identifier" not in r)


def test_a_changed_observation_is_followed_and_its_score_written_back(place: _Place) -> None:
    """R4 rest-hook: PUT {endpoint}/Observation/{id}."""
    observation = _observation(place)
    with _client(place) as client:
        began = time.monotonic()
        answer = client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        assert time.monotonic() - began < 1
        assert answer.status_code == 200
        assert answer.content == b""
        place.wait("reviewed")
    assert {"Observation", "Provenance", "Device"} <= {r["resourceType"] for r in place.results()}


def test_many_notifications_about_one_patient_are_one_review(place: _Place) -> None:
    place.follower.settle = 0.3
    observations = [r for r in place.store.of("Observation") if "identifier" not in r][:10]
    with _client(place) as client:
        for observation in observations:
            client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("reviewed")
        time.sleep(0.5)
    assert place.follower.done["reviewed"] == 1


def test_our_own_results_do_not_come_round_again(place: _Place) -> None:
    observation = _observation(place)
    with _client(place) as client:
        client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("reviewed")
        writes = place.store.writes
        for result in [r for r in place.results() if r["resourceType"] == "Observation"]:
            client.put(f"/notifications/Observation/{result['id']}", json=result)
        time.sleep(0.3)
    assert place.follower.done["reviewed"] == 1
    assert place.store.writes == writes


def test_the_same_notification_again_changes_nothing(place: _Place) -> None:
    """Delivery is best effort: repeats happen."""
    observation = _observation(place)
    writes: list[int] = []
    with _client(place) as client:
        for count in (1, 2):
            client.put(f"/notifications/Observation/{observation['id']}", json=observation)
            place.wait("reviewed", count)
            writes.append(place.store.writes)
    assert writes[0] == writes[1]


@pytest.mark.parametrize("content", ["empty", "id-only", "focus"])
def test_what_is_not_said_is_looked_up(place: _Place, content: str) -> None:
    observation = _observation(place)
    focus = {"name": "focus", "valueReference": {"reference": f"Observation/{observation['id']}"}}
    event = {"name": "notification-event", "part": [focus] if content == "focus" else []}
    body = json.loads(json.dumps(HANDSHAKE))
    body["entry"][0]["resource"]["parameter"] = [{"name": "type", "valueCode": "event-notification"}, event]
    if content == "id-only":
        body["entry"].append({"fullUrl": f"https://ehr.example/fhir/Observation/{observation['id']}"})
    with _client(place) as client:
        answer = (
            client.post("/notifications", json=body) if content != "empty" else client.post("/notifications")
        )
        assert answer.status_code == 200
        place.wait("reviewed")
    assert place.results()


def test_handshake_and_heartbeat_are_answered_and_lead_to_nothing(place: _Place) -> None:
    with _client(place) as client:
        assert client.post("/notifications", json=HANDSHAKE).status_code == 200
        heartbeat = json.loads(json.dumps(HANDSHAKE).replace("handshake", "heartbeat"))
        assert client.post("/notifications/", json=heartbeat).status_code == 200
        time.sleep(0.2)
    assert place.pretend.asked == []


@pytest.mark.parametrize(
    "headers",
    [{"Authorization": ""}, {"Authorization": "Bearer wrong"}, {"Authorization": f"Basic {SECRET}"}],
)
def test_without_the_secret_nobody_starts_a_review(place: _Place, headers: dict[str, str]) -> None:
    observation = _observation(place)
    with TestClient(place.app, headers=headers) as client:
        for answer in (
            client.put("/notifications/Observation/x", json=observation),
            client.post("/notifications"),
        ):
            assert answer.status_code == 401
            assert answer.headers["www-authenticate"] == "Bearer"
        time.sleep(0.2)
    assert place.pretend.asked == []


@pytest.mark.parametrize(
    "body",
    [
        b"{",
        b"[]",
        b'{"resourceType":"Bundle","type":"batch","entry":[{}]}',
        b'{"resourceType":"Observation","id":"\xff"}',
        b'{"resourceType":"Observation","subject":{"reference":"Patient/\xff"}}',
        b'{"resourceType":"Bundle","type":"\xff"}',
        b'{"resourceType":"Observation","id":"1","subject":{"reference":"Patient/a"},"subject":{}}',
    ],
)
def test_what_is_no_notification_is_400(place: _Place, body: bytes) -> None:
    with _client(place) as client:
        assert client.post("/notifications", content=body).status_code == 400
        assert client.put("/notifications/Observation/1", content=body).status_code in (200, 400)


@pytest.mark.parametrize("where", ["entry", "fullUrl"])
def test_a_history_in_which_something_stands_twice_is_400(place: _Place, where: str) -> None:
    body = json.dumps({**HANDSHAKE, "id": "x"}).replace('"id": "x"', '"entry": []')
    if where == "fullUrl":
        body = json.dumps(HANDSHAKE).replace('{"resource"', '{"fullUrl": "a", "fullUrl": "b", "resource"')
    with _client(place) as client:
        assert client.post("/notifications", content=body).status_code == 400


def test_a_failing_server_is_tried_again_and_said_without_a_name(
    place: _Place, caplog: pytest.LogCaptureFixture
) -> None:
    place.store.refuses = frozenset({"Provenance"})
    observation = _observation(place)
    with _client(place) as client, caplog.at_level("DEBUG", "weatherglass"):
        client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("reviewed")
    assert place.follower.done["result refused"] > 0
    assert observation["subject"]["reference"] not in caplog.text


def test_a_patient_who_is_not_there_is_counted(place: _Place) -> None:
    with _client(place) as client:
        client.put(
            "/notifications/Observation/x",
            json={"resourceType": "Observation", "id": "x", "subject": {"reference": "Patient/nobody"}},
        )
        place.wait("failed: a review")
    assert not place.results()


def test_one_records_fault_does_not_end_the_following_of_all(
    place: _Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of ours in one review: it is counted, and the next notification is followed."""

    def broken(*arguments: Any, **options: Any) -> Any:
        monkeypatch.setattr("weatherglass.ehr.events.follow.review_lines", review_lines)
        raise KeyError("a fault")

    monkeypatch.setattr("weatherglass.ehr.events.follow.review_lines", broken)
    observation = _observation(place)
    with _client(place) as client:
        client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("failed: a review")
        client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("reviewed")


class _Away:
    """A store that answers with a status, or not at all, until it is back."""

    def __init__(self, store: LittleStore, status: int) -> None:
        self.store, self.status, self.back = store, status, False

    def __call__(self, request: httpx.Request) -> httpx.Response:
        """Answer as long as it is away with its status; 0 is no connection."""
        if self.back:
            return self.store(request)
        if not self.status:
            raise httpx.ConnectError("away")
        return httpx.Response(self.status)


@pytest.mark.parametrize("status", [0, 429, 500, 503])
@pytest.mark.parametrize("content", ["resource", "id-only", "empty"])
def test_who_waits_goes_on_waiting_while_the_server_is_away(
    place: _Place, monkeypatch: pytest.MonkeyPatch, status: int, content: str
) -> None:
    """A notification was taken: however long the server is away, it comes to a review (our choice)."""
    monkeypatch.setattr("weatherglass.ehr.events.follow._AGAIN_AFTER", 0.05)
    away = _Away(place.store, status)
    place.pretend.handler = away
    observation = _observation(place)
    named = {"fullUrl": f"https://ehr.example/fhir/Observation/{observation['id']}"}
    body = json.loads(json.dumps(HANDSHAKE).replace("handshake", "event-notification"))
    body["entry"].append(named)
    failed = {"resource": "failed: a review", "id-only": "not found: a named resource"}
    with _client(place) as client:
        if content == "resource":
            client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        elif content == "id-only":
            client.post("/notifications", json=body)
        else:
            client.post("/notifications")
        # More often than what time does not mend is tried.
        place.wait(failed.get(content, "failed: looking for what has changed"), 4)
        away.back = True
        place.wait("reviewed")
    assert place.results()


@pytest.mark.parametrize("status", [400, 403, 404])
def test_what_time_does_not_mend_is_not_tried_again(
    place: _Place, monkeypatch: pytest.MonkeyPatch, status: int
) -> None:
    monkeypatch.setattr("weatherglass.ehr.events.follow._AGAIN_AFTER", 0.01)
    place.pretend.handler = _Away(place.store, status)
    observation = _observation(place)
    with _client(place) as client:
        client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("failed: a review")
        time.sleep(0.3)
    assert place.follower.done["failed: a review"] == 1


def test_results_that_a_busy_server_did_not_take_are_written_later(
    place: _Place, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("weatherglass.ehr.events.follow._AGAIN_AFTER", 0.05)
    busy = [True]

    def answer(request: httpx.Request) -> httpx.Response:
        if busy[0] and request.method == "POST" and request.url.path.rstrip("/").endswith("/fhir"):
            return httpx.Response(503)
        return place.store(request)

    place.pretend.handler = answer
    observation = _observation(place)
    with _client(place) as client:
        client.put(f"/notifications/Observation/{observation['id']}", json=observation)
        place.wait("result refused")
        assert {"Observation"}.isdisjoint(r["resourceType"] for r in place.results())
        busy[0] = False
        place.wait("result created")
    assert "503" in caplog.text
    assert observation["subject"]["reference"] not in caplog.text


@pytest.mark.parametrize("hours", [-26, 26])
def test_a_clock_of_ours_that_is_wrong_hides_no_change(place: _Place, hours: int) -> None:
    """How far back to look is counted by the server's clock."""
    told = datetime(2026, 3, 12, 7, 40, tzinfo=UTC)
    place.follower.clock = lambda: told + timedelta(hours=hours)

    def answer(request: httpx.Request) -> httpx.Response:
        answered = place.store(request)
        answered.headers["date"] = format_datetime(told, usegmt=True)
        return answered

    place.pretend.handler = answer
    with _client(place) as client:
        client.put(f"/notifications/Observation/{_observation(place)['id']}", json=_observation(place))
        place.wait("reviewed")
        client.post("/notifications")
        place.wait("reviewed", 2)
    looked = next(
        r for r in place.pretend.asked if "_lastUpdated" in r.url.params and "patient" not in r.url.params
    )
    since = datetime.fromisoformat(looked.url.params["_lastUpdated"].removeprefix("ge"))
    assert told - timedelta(minutes=10) < since < told


@pytest.mark.parametrize("active", [True, False])
def test_what_was_said_of_a_record_that_is_empty_now_is_closed(active: bool) -> None:
    """After a merge the other record holds only the person: nothing goes on asking about it."""
    place = _Place("01-sepsis")
    person = place.store.of("Patient")[0]
    with _client(place) as client:
        client.put(f"/notifications/Patient/{person['id']}", json=person)
        place.wait("reviewed")
        asks = [r for r in place.results() if r["resourceType"] == "CommunicationRequest"]
        assert {r["status"] for r in asks} == {"active"}
        mine = {r["id"] for r in place.results()}
        for key, held in list(place.store.held.items()):
            if held["id"] not in mine and held["resourceType"] not in ("Patient", "Device"):
                del place.store.held[key]
        place.store.held[f"Patient/{person['id']}"]["active"] = active
        client.put(f"/notifications/Patient/{person['id']}", json=person)
        place.wait("reviewed", 2)
    asks = [r for r in place.results() if r["resourceType"] == "CommunicationRequest"]
    assert {r["status"] for r in asks} == {"revoked"}


@pytest.mark.parametrize("status", ["error", "off"])
def test_a_subscription_that_the_server_gave_up_is_switched_on_again(status: str) -> None:
    """FHIR R4 Subscription.status: a server that cannot deliver sets it to error, and notifies no more."""
    place = _Place("08-well-going-home")
    wanted = Wanted(criteria="Observation?", endpoint="https://here.example/notifications", secret=SECRET)
    given_up = {**wanted.resource(), "id": "s1", "status": status}
    place.store.held["Subscription/s1"] = given_up
    place.store.held["Subscription/s2"] = {**given_up, "id": "s2", "status": "active"}
    put: list[str] = []

    def answer(request: httpx.Request) -> httpx.Response:
        if request.method == "PUT":
            put.append(request.url.path)
            place.store.held["Subscription/s1"] = json.loads(request.content)
            return httpx.Response(200, json={})
        return place.store(request)

    place.pretend.handler = answer
    missed: list[datetime] = []

    async def work() -> None:
        async with place.pretend.transport() as transport:
            names = ["Subscription/s1", "Subscription/s2"]
            watch = asyncio.create_task(keep_on(transport, [wanted] * 2, names, missed.append, every=0.01))
            while place.store.held["Subscription/s1"]["status"] == status:
                await asyncio.sleep(0.01)
            await asyncio.sleep(0.1)
            watch.cancel()

    asyncio.run(work())
    assert put == ["/fhir/Subscription/s1"]
    assert place.store.held["Subscription/s1"]["status"] == "requested"
    assert len(missed) == 1


@pytest.mark.parametrize(
    ("status", "changed", "missed"),
    [
        pytest.param("error", "2026-03-12T06:00:00Z", timedelta(hours=4), id="given up"),
        pytest.param("off", "2026-03-12T06:00:00Z", timedelta(hours=4), id="we stopped"),
        pytest.param("off", "2026-03-10T06:00:00Z", timedelta(days=1), id="long ago: a pull's matter"),
        pytest.param("error", "", timedelta(days=1), id="nobody knows since when"),
        pytest.param("active", "2026-02-01T06:00:00Z", timedelta(hours=2), id="we were killed"),
        pytest.param("", "", None, id="the first start"),
    ],
)
def test_a_start_looks_up_what_was_missed_before_it(
    status: str, changed: str, missed: timedelta | None
) -> None:
    """Our choice: a day at most, and two hours for whoever waited when we ended."""
    place = _Place("08-well-going-home")
    now = datetime(2026, 3, 12, 8, 0, tzinfo=UTC)
    wanted = Wanted(criteria="Observation?", endpoint="https://here.example/notifications", secret=SECRET)
    if status:
        meta = {"meta": {"lastUpdated": changed}} if changed else {}
        place.store.held["Subscription/s1"] = {**wanted.resource(), "id": "s1", "status": status, **meta}

    def answer(request: httpx.Request) -> httpx.Response:
        if request.method == "GET":
            answered = place.store(request)
            answered.headers["date"] = format_datetime(now, usegmt=True)
            return answered
        return httpx.Response(200 if request.method == "PUT" else 201, json={"id": "s1"})

    place.pretend.handler = answer

    async def work() -> Subscribed:
        async with place.pretend.transport() as transport:
            return await subscribe(transport, [wanted])

    told = asyncio.run(work())
    assert told.references == ["Subscription/s1"]
    since = told.missed and now - told.missed
    assert (since is None) == (missed is None)
    assert abs((since or timedelta(0)) - (missed or timedelta(0))) < timedelta(seconds=5)


def test_a_secret_lasts_from_start_to_start_and_tells_nothing_of_its_key(tmp_path: Path) -> None:
    """What a server has still to send from before a restart is taken; another endpoint has another secret."""
    key = ECKey.generate_key("P-384", {"kid": "one"})
    file = tmp_path / "key.jwk"
    file.write_text(json.dumps(key.as_dict(private=True)))
    where = [Server(base="https://ehr.example/fhir", key_file=str(file)) for _ in range(2)]
    first, again = (one.lasting_secret("https://here.example/notifications") for one in where)
    assert first == again
    assert first is not None
    assert len(first) == 64
    assert where[0].lasting_secret("https://elsewhere.example/notifications") != first
    assert Server(base="https://ehr.example/fhir").lasting_secret("x") is None


def test_what_nobody_told_is_looked_up_in_every_type() -> None:
    """A patient of whom only the person has changed is reviewed as well."""
    place = _Place("08-well-going-home")
    kinds = {"Patient", "Encounter", "Condition", "MedicationRequest"}
    with _client(place) as client:
        assert client.portal is not None
        client.portal.call(place.follower.look_back, datetime(2026, 3, 12, 7, 40, tzinfo=UTC))
        place.wait("reviewed")
    asked = {r.url.path.removeprefix("/fhir/") for r in place.pretend.asked if "_lastUpdated" in r.url.params}
    assert kinds <= asked


def test_a_mistyped_date_that_was_corrected_holds_up_nothing(place: _Place) -> None:
    """A pulse under tomorrow's date is reviewed as of then; corrected, the reviews of today go on at once."""
    pulse = copy.deepcopy(_observation(place)) | {
        "id": "slip",
        "effectiveDateTime": "2026-03-13T07:00:00+00:00",
    }
    place.store.keep(pulse)
    address = f"/notifications/Observation/{pulse['id']}"
    with _client(place) as client:
        client.put(address, json=pulse)
        place.wait("reviewed")
        ahead = {r["id"] for r in place.results() if r.get("effectiveDateTime", "").startswith("2026-03-13")}
        assert ahead
        right = {**pulse, "status": "corrected", "effectiveDateTime": "2026-03-12T06:58:00+00:00"}
        place.store.keep(right)
        client.put(address, json=right)
        place.wait("reviewed", 2)
    assert place.follower.done["result outdated"] == 0
    standing = {r["id"] for r in place.results() if r.get("status") != "entered-in-error"}
    assert ahead.isdisjoint(standing)
    assert any(r.get("effectiveDateTime", "").startswith("2026-03-12") for r in place.results())
