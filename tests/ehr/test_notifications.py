"""What notifications say: R4 rest-hooks and the history Bundles of the R5 backport.

Expected: FHIR R4, Subscription (rest-hook: PUT of the resource, or an empty POST);
Subscriptions R5 Backport 1.1.0 (history Bundle, handshake, heartbeat, empty, id-only,
full-resource).
"""

import asyncio
import json
from typing import Any

import pytest

from weatherglass.ehr.events.notifications import Kind, UnreadableNotificationError, read_post, read_resource

BASE = "https://ehr.example/fhir"
OBSERVATION = {"resourceType": "Observation", "id": "o1", "subject": {"reference": "Patient/p1"}}
OWN = {**OBSERVATION, "id": "s1", "identifier": [{"system": "urn:weatherglass:finding", "value": "x"}]}


def _history(kind: str, *entries: dict[str, Any], events: tuple[dict[str, Any], ...] = ()) -> bytes:
    status: dict[str, Any] = {
        "resourceType": "Parameters",
        "parameter": [
            {"name": "subscription", "valueReference": {"reference": f"{BASE}/Subscription/1"}},
            {"name": "status", "valueCode": "active"},
            {"name": "type", "valueCode": kind},
            *({"name": "notification-event", "part": event["part"]} for event in events),
        ],
    }
    first = {
        "fullUrl": "urn:uuid:1",
        "resource": status,
        "request": {"method": "GET", "url": f"{BASE}/Subscription/1/$status"},
    }
    return json.dumps({"resourceType": "Bundle", "type": "history", "entry": [first, *entries]}).encode()


def _event(*references: str) -> dict[str, Any]:
    names = ("focus", "additional-context")
    parts = [
        {"name": names[min(n, 1)], "valueReference": {"reference": one}} for n, one in enumerate(references)
    ]
    return {"part": [{"name": "event-number", "valueString": "7"}, *parts]}


@pytest.mark.parametrize("kind", ["handshake", "heartbeat", "query-status"])
def test_what_brings_no_news_is_told_apart(kind: str) -> None:
    notification = read_post(_history(kind))
    assert notification.kind.value == kind
    assert not notification.is_news


@pytest.mark.parametrize(
    "patient",
    ["Patient/p1", f"{BASE}/Patient/p1", "Patient/p1/_history/3"],
    ids=["relative", "absolute", "versioned"],
)
def test_a_rest_hook_with_its_resource_names_the_patient(patient: str) -> None:
    body = json.dumps({**OBSERVATION, "subject": {"reference": patient}}).encode()
    for read in (read_resource, read_post):
        assert read(body).patients == {"Patient/p1"}


def test_a_patient_is_about_itself() -> None:
    assert read_resource(b'{"resourceType":"Patient","id":"p1"}').patients == {"Patient/p1"}


def test_an_empty_post_says_only_that_something_changed() -> None:
    for body in (b"", b"  \n"):
        notification = read_post(body)
        assert notification.kind is Kind.PING
        assert notification.is_news


def test_whole_resources_name_their_patients() -> None:
    entry = {"fullUrl": f"{BASE}/Observation/o1", "resource": OBSERVATION, "request": {"method": "PUT"}}
    body = _history("event-notification", entry, events=(_event(f"{BASE}/Observation/o1"),))
    notification = read_post(body)
    assert notification.patients == {"Patient/p1"}
    assert notification.resources == set()


def test_ids_alone_are_to_be_looked_up_unless_the_patient_is_named_beside_them() -> None:
    entry = {"fullUrl": f"{BASE}/Observation/o1", "request": {"method": "PUT"}}
    body = _history("event-notification", entry, events=(_event(f"{BASE}/Observation/o1"),))
    assert read_post(body).resources == {"Observation/o1"}
    named = _history("event-notification", events=(_event("Observation/o1", f"{BASE}/Patient/p9"),))
    assert read_post(named).patients == {"Patient/p9"}


def test_an_event_without_content_is_a_ping() -> None:
    assert read_post(_history("event-notification", events=(_event(),))).kind is Kind.PING


def test_what_we_wrote_ourselves_is_no_news() -> None:
    """Otherwise each result would lead to a review, and so on without end."""
    assert not read_resource(json.dumps(OWN).encode()).is_news
    entry = {"fullUrl": f"{BASE}/Observation/s1", "resource": OWN, "request": {"method": "PUT"}}
    body = _history("event-notification", entry, events=(_event(f"{BASE}/Observation/s1"),))
    notification = read_post(body)
    assert not notification.is_news
    assert notification.own == 1


def test_a_deletion_is_counted_as_unclear() -> None:
    entry = {"fullUrl": f"{BASE}/Observation/o1", "request": {"method": "DELETE"}}
    notification = read_post(_history("event-notification", entry))
    assert notification.unclear == 1


def test_a_subscription_status_of_r4b_is_understood() -> None:
    status = {
        "resourceType": "SubscriptionStatus",
        "type": "event-notification",
        "notificationEvent": [
            {
                "focus": {"reference": f"{BASE}/Observation/o1"},
                "additionalContext": [{"reference": "Patient/p2"}],
            }
        ],
    }
    body = json.dumps({"resourceType": "Bundle", "type": "history", "entry": [{"resource": status}]})
    notification = read_post(body.encode())
    assert notification.patients == {"Patient/p2"}
    assert notification.resources == {"Observation/o1"}


@pytest.mark.parametrize(
    "body",
    [
        pytest.param(b"{", id="no JSON"),
        pytest.param(b"[]", id="a list"),
        pytest.param(b'{"resourceType":"Bundle","type":"history"}', id="no entries"),
        pytest.param(b'{"resourceType":"Bundle","type":"batch","entry":[{}]}', id="another Bundle"),
        pytest.param(
            b'{"resourceType":"Bundle","type":"history","entry":[{"resource":{"resourceType":"Patient"}}]}',
            id="no status",
        ),
        pytest.param(
            b'{"resourceType":"Bundle","type":"history","entry":[{"resource":{"resourceType":"Parameters",'
            b'"parameter":[{"name":"type","valueCode":"gossip"}]}}]}',
            id="of no known type",
        ),
    ],
)
def test_what_is_no_notification_is_said_to_be_none(body: bytes) -> None:
    with pytest.raises(UnreadableNotificationError):
        read_post(body)


@pytest.mark.parametrize(
    "reference",
    [
        "",
        "Observation",
        "../x",
        "javascript:alert(1)",
        "Patient/",
        "Patient/..",
        "Patient/.",
        "Observation/a?b=c",
        "Observation/a%2f..",
        "observation/a",
    ],
)
def test_odd_references_lead_nowhere(reference: str) -> None:
    """A name becomes part of an address that is asked: it must not lead up or out."""
    notification = read_post(_history("event-notification", events=(_event(reference),)))
    assert (notification.patients, notification.resources) == (set(), set())
    resource = json.dumps({**OBSERVATION, "subject": {"reference": reference}}).encode()
    assert read_resource(resource).patients == set()


def test_what_waits_is_counted_before_it_is_kept() -> None:
    """A notification of more patients than may wait is refused whole; one that fits is taken whole."""
    from weatherglass.ehr.client.transport import Transport
    from weatherglass.ehr.events.follow import Follower, FullError
    from weatherglass.ehr.events.notifications import Notification

    follower = Follower(Transport(base=BASE))
    many = Notification(Kind.EVENT)
    many.patients.update(f"Patient/{number}" for number in range(10_001))
    with pytest.raises(FullError):
        follower.take(many)
    many.patients.remove("Patient/0")
    follower.take(many)
    follower.take(many)
    with pytest.raises(FullError):
        follower.take(read_resource(json.dumps(OBSERVATION).encode()))


def test_however_many_wait_few_records_are_held_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A hundred notified together, as after the server was away: everyone is reviewed, eight at a time."""
    from weatherglass.ehr.client.transport import Transport
    from weatherglass.ehr.events.follow import AT_ONCE, Follower
    from weatherglass.ehr.events.notifications import Notification
    from weatherglass.ehr.writing_back.delivery import Report

    under_way: set[str] = set()
    most, seen = 0, set()

    async def review(_: Follower, patient: str) -> Report:
        nonlocal most
        under_way.add(patient)
        most = max(most, len(under_way))
        await asyncio.sleep(0.001)
        under_way.remove(patient)
        seen.add(patient)
        return Report()

    monkeypatch.setattr(Follower, "_review", review)
    follower = Follower(Transport(base=BASE), settle=0.0)
    many = Notification(Kind.EVENT)
    many.patients.update(f"Patient/{number}" for number in range(100))

    async def work() -> None:
        async with follower.running():
            follower.take(many)
            while len(seen) < 100:
                await asyncio.sleep(0.01)

    asyncio.run(asyncio.wait_for(work(), 60))
    assert most == AT_ONCE == 8
