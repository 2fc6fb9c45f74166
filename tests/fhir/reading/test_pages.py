"""Search results sent page by page in one Bundle: what is missing, and what lies beside.

Expected: FHIR R4 3.1.1.5.2 (paging by the `next` link).
"""

import json
from typing import Any

import pytest

from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.bundle import read_bytes

BASE = "https://ehr.example/fhir"
PATIENT = {"resourceType": "Patient", "id": "p1"}


def _page(number: int, *, following: object = None, itself: str = "") -> dict[str, Any]:
    pulse = {
        "resourceType": "Observation",
        "id": f"o{number}",
        "status": "final",
        "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
        "subject": {"reference": "Patient/p1"},
        "effectiveDateTime": f"2026-03-12T0{number}:00:00Z",
        "valueQuantity": {"value": 80, "system": "http://unitsofmeasure.org", "code": "/min"},
    }
    links = [{"relation": "next", "url": following}] if following is not None else []
    links += [{"relation": "self", "url": itself}] if itself else []
    return {"resourceType": "Bundle", "type": "searchset", "link": links, "entry": [{"resource": pulse}]}


def _missing(*entries: dict[str, Any]) -> int:
    body = {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": PATIENT}, *entries]}
    reading = read_bytes(json.dumps(body).encode())
    assert reading.counted >= len(entries)
    return sum(issue.key is IssueKey.INCOMPLETE_BUNDLE for issue in reading.issues)


def test_a_page_that_was_sent_beside_is_not_missing() -> None:
    """Known by the address that it was fetched from, or by its own link."""
    assert (
        _missing(
            {"resource": _page(1, following=f"{BASE}?p=2")}, {"fullUrl": f"{BASE}?p=2", "resource": _page(2)}
        )
        == 0
    )
    assert (
        _missing(
            {"resource": _page(1, following=f"{BASE}?p=2")}, {"resource": _page(2, itself=f"{BASE}?p=2")}
        )
        == 0
    )


@pytest.mark.parametrize("following", [f"{BASE}?p=3", "", 5])
def test_a_page_that_was_not_sent_is_said(following: object) -> None:
    """Another address, an empty one, or none that can be read."""
    pages = ({"resource": _page(1, following=following)}, {"fullUrl": f"{BASE}?p=2", "resource": _page(2)})
    assert _missing(*pages) == 1


def test_the_last_page_of_several_may_be_missing() -> None:
    first = {"fullUrl": f"{BASE}?p=1", "resource": _page(1, following=f"{BASE}?p=2")}
    second = {"fullUrl": f"{BASE}?p=2", "resource": _page(2, following=f"{BASE}?p=3")}
    assert _missing(first, second) == 1


def test_a_search_result_that_is_the_whole_body_is_as_before() -> None:
    page = _page(1, following=f"{BASE}?p=2")
    page["entry"].append({"fullUrl": f"{BASE}?p=2", "resource": PATIENT})
    reading = read_bytes(json.dumps(page).encode())
    assert [issue.key for issue in reading.issues].count(IssueKey.INCOMPLETE_BUNDLE) == 1
