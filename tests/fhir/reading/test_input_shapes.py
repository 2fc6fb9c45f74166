"""One record in every shape that the standard gives it: each is read to the same numbers.

HL7 FHIR R4: documents.html (an International Patient Summary is one), messaging.html, http.html (searchset
with pages, $everything), and the R4 backport of Subscriptions (a history Bundle whose first entry is a
Parameters of the status). The examples are invented after the shapes of those pages.
"""

from typing import Any

import pytest

from tests.records import AT, measured, patient, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import read_bytes, read_lines
from weatherglass.model.record import Record

Json = dict[str, Any]
BASE = "https://records.example/fhir"
HELD = [
    patient(),
    measured("k", "potassium", "7.1", "mmol/L", at=AT),
    measured("hr", "pulse", "118", "/min", at=AT),
]


def _addressed(resource: Json) -> Json:
    return {"fullUrl": f"{BASE}/{resource['resourceType']}/{resource['id']}", "resource": resource}


def _document() -> Json:
    """Return a summary as a document: a Composition first, with sections that point to the results."""
    composition = {
        "resourceType": "Composition",
        "id": "c",
        "status": "final",
        "type": {"coding": [{"system": "http://loinc.org", "code": "60591-5"}]},
        "subject": {"reference": "Patient/p"},
        "date": AT,
        "author": [{"display": "ward system"}],
        "title": "International Patient Summary",
        "section": [{"title": "Results", "entry": [{"reference": "Observation/k"}]}],
    }
    return {
        "resourceType": "Bundle",
        "type": "document",
        "identifier": {
            "system": "urn:ietf:rfc:3986",
            "value": "urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c11",
        },
        "timestamp": AT,
        "entry": [_addressed(each) for each in (composition, *HELD)],
    }


def _message() -> Json:
    header = {
        "resourceType": "MessageHeader",
        "id": "m",
        "eventUri": "https://records.example/results",
        "source": {"endpoint": "https://laboratory.example"},
        "focus": [{"reference": "Observation/k"}],
    }
    return {
        "resourceType": "Bundle",
        "type": "message",
        "timestamp": AT,
        "entry": [_addressed(each) for each in (header, *HELD)],
    }


def _notification() -> Json:
    status = {
        "resourceType": "Parameters",
        "id": "s",
        "parameter": [
            {"name": "subscription", "valueReference": {"reference": f"{BASE}/Subscription/1"}},
            {"name": "status", "valueCode": "active"},
            {"name": "type", "valueCode": "event-notification"},
        ],
    }
    told = {"request": {"method": "GET", "url": "Subscription/1/$status"}, "response": {"status": "200"}}
    sent = [
        {
            **_addressed(each),
            "request": {"method": "PUT", "url": f"{each['resourceType']}/{each['id']}"},
            "response": {"status": "201"},
        }
        for each in HELD
    ]
    first = {"fullUrl": "urn:uuid:5a4f1c3e-6f0e-4f6e-8a0e-0a2f6a1d9c12", "resource": status, **told}
    return {"resourceType": "Bundle", "type": "history", "timestamp": AT, "entry": [first, *sent]}


def _page(held: list[Json], *relations: str) -> Json:
    return {
        "resourceType": "Bundle",
        "type": "searchset",
        "link": [{"relation": one, "url": f"{BASE}/Patient/p/$everything?page={one}"} for one in relations],
        "entry": [{**_addressed(each), "search": {"mode": "match"}} for each in held],
    }


def _only(records: tuple[tuple[str, Record], ...]) -> dict[str, list[str]]:
    ((key, record),) = records
    assert key == "Patient/p"
    return {
        signal.value: [str(one.value) for one in series.items] for signal, series in record.numbers.items()
    }


READ = {"potassium": ["7.1"], "pulse": ["118"]}


@pytest.mark.parametrize("shape", [_document, _message, _notification])
def test_the_record_is_read_and_the_frame_is_named(shape: Any) -> None:
    reading = read_bytes(text(shape()))
    assert _only(reading.records) == READ
    frame = {"_document": "Composition", "_message": "MessageHeader", "_notification": "Parameters"}[
        shape.__name__
    ]
    assert [(issue.key, frame in issue.text) for issue in reading.issues] == [
        (IssueKey.RESOURCE_NOT_USED, True)
    ]


def test_the_pages_of_everything_together() -> None:
    """The first of two pages alone may be half of a record; with its second one it is whole."""
    first, second = _page(HELD[:2], "self", "next"), _page(HELD[2:], "self", "previous")
    alone = read_bytes(text(first))
    assert IssueKey.INCOMPLETE_BUNDLE in {issue.key for issue in alone.issues}
    assert _only(read_lines([text(second), text(first)]).records) == READ


def test_an_outcome_beside_the_matches_is_said() -> None:
    """HL7 FHIR R4, search.html: an entry of mode outcome tells of what the server could not find."""
    page = _page(HELD, "self")
    outcome = {"resourceType": "OperationOutcome", "issue": [{"severity": "warning", "code": "incomplete"}]}
    page["entry"].append({"resource": outcome, "search": {"mode": "outcome"}})
    reading = read_bytes(text(page))
    assert _only(reading.records) == READ
    assert [issue.key for issue in reading.issues] == [IssueKey.INCOMPLETE_BUNDLE]
