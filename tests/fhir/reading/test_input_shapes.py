"""One record in every shape that the standard gives it: each is read to the same numbers.

HL7 FHIR R4: documents.html (an International Patient Summary is one), messaging.html, http.html (searchset
with pages, $everything), and the R4 backport of Subscriptions (a history Bundle whose first entry is a
Parameters of the status). The examples are invented after the shapes of those pages.
"""

from typing import Any

import pytest

from tests.records import AT, measured, patient, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import Reading, read_bytes, read_lines
from weatherglass.model.record.record import Record

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


def _page(held: list[Json], **links: str) -> Json:
    return {
        "resourceType": "Bundle",
        "type": "searchset",
        "link": [{"relation": one, "url": url} for one, url in links.items()],
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


ASKED = f"{BASE}/Patient/p/$everything"
FIRST = _page(HELD[:2], self=ASKED, next=f"{ASKED}?page=2")
#: The same page asked for through another host, in another order and written for people.
SECOND = _page(
    HELD[2:], self="http://inner:8080/fhir/Patient/p/$everything?_pretty=true&page=2", previous=ASKED
)


def _are_incomplete(reading: Reading) -> bool:
    return IssueKey.INCOMPLETE_BUNDLE in {issue.key for issue in reading.issues}


class TestPages:
    """HL7 FHIR R4, http.html#paging: a page names itself and its neighbours by address."""

    @pytest.mark.parametrize("page", [FIRST, SECOND], ids=["the first", "the second"])
    def test_one_alone_may_be_half_of_a_record(self, page: Json) -> None:
        assert _are_incomplete(read_bytes(text(page)))

    @pytest.mark.parametrize("turn", [1, -1])
    def test_together_as_lines_they_are_whole(self, turn: int) -> None:
        reading = read_lines([text(FIRST), text(SECOND)][::turn])
        assert _only(reading.records) == READ
        assert not reading.issues

    @pytest.mark.parametrize("turn", [1, -1])
    def test_together_in_one_bundle_they_are_whole(self, turn: int) -> None:
        pages = [{"resource": page} for page in (FIRST, SECOND)][::turn]
        reading = read_bytes(text({"resourceType": "Bundle", "type": "collection", "entry": pages}))
        assert _only(reading.records) == READ
        assert not reading.issues

    def test_of_three_the_middle_one_is_missed(self) -> None:
        first = _page(HELD[:2], self=ASKED, next=f"{ASKED}?page=2")
        third = _page(HELD[2:], self=f"{ASKED}?page=3", previous=f"{ASKED}?page=2")
        assert _are_incomplete(read_lines([text(first), text(third)]))

    @pytest.mark.parametrize("address", ["", None, "http://[", f"{ASKED}?page=7"])
    def test_a_neighbour_that_cannot_be_found_is_missed(self, address: str | None) -> None:
        odd = {**FIRST, "link": [{"relation": "self", "url": ASKED}, {"relation": "next", "url": address}]}
        assert _are_incomplete(read_lines([text(odd), text(SECOND)]))

    def test_a_result_of_one_page_is_whole(self) -> None:
        assert not read_bytes(text(_page(HELD, self=ASKED, first=ASKED, last=ASKED))).issues


def test_an_outcome_beside_the_matches_is_said() -> None:
    """HL7 FHIR R4, search.html: an entry of mode outcome tells of what the server could not find."""
    page = _page(HELD, self=ASKED)
    outcome = {"resourceType": "OperationOutcome", "issue": [{"severity": "warning", "code": "incomplete"}]}
    page["entry"].append({"resource": outcome, "search": {"mode": "outcome"}})
    reading = read_bytes(text(page))
    assert _only(reading.records) == READ
    assert [issue.key for issue in reading.issues] == [IssueKey.INCOMPLETE_BUNDLE]
