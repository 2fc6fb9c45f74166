"""NDJSON in and out: one resource a line (FHIR R4 bulk data and its `nd-json` page)."""

import gzip
import json
import random
from typing import Any

import anyio
import httpx
import pytest
from starlette.testclient import TestClient

from tests.api.answers import HANDOVER, REVIEW, code_of, issue, resources
from weatherglass.api.app import create_app

NDJSON = {"Content-Type": "application/fhir+ndjson"}


def _lines(content: bytes) -> list[dict[str, Any]]:
    assert content.endswith(b"\n")
    return [json.loads(line) for line in content.splitlines()]


def test_the_ward_in_lines_is_the_ward_in_bundles(
    client: TestClient, ward_lines: bytes, ward: dict[str, bytes]
) -> None:
    """Both doors give the same results under the same names."""
    answer = client.post(REVIEW, content=ward_lines, headers=NDJSON)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/fhir+ndjson; charset=utf-8"
    by_line = {r["identifier"][0]["value"] for r in _lines(answer.content) if "identifier" in r}
    by_bundle = {
        r["identifier"][0]["value"]
        for one in ward.values()
        for r in resources(client.post(REVIEW, content=one))
        if "identifier" in r
    }
    assert by_line == by_bundle


def test_the_order_of_lines_does_not_matter(client: TestClient, ward_lines: bytes) -> None:
    """Only the places in the report on what was not used follow the lines."""
    lines = ward_lines.splitlines()
    random.Random(5).shuffle(lines)
    one = _lines(client.post(REVIEW, content=ward_lines, headers=NDJSON).content)
    other = _lines(client.post(REVIEW, content=b"\n".join(lines), headers=NDJSON).content)
    assert one[:-1] == other[:-1]


def test_patient_by_patient_and_the_report_last(client: TestClient, ward_lines: bytes) -> None:
    lines = _lines(client.post(REVIEW, content=ward_lines, headers=NDJSON).content)
    assert lines[0]["resourceType"] == "Device"
    assert lines[-1]["resourceType"] == "OperationOutcome"
    subjects = [s for r in lines if (s := r.get("subject", r.get("patient", {})).get("reference"))]
    runs = [s for n, s in enumerate(subjects) if n == 0 or subjects[n - 1] != s]
    assert len(runs) == len(set(runs)) == 13


def test_each_patient_leaves_as_soon_as_it_is_ready(ward_lines: bytes) -> None:
    """Streamed: the answer comes in pieces, not at the end in one."""
    pieces = []

    async def ask() -> None:
        # Straight at the application: a test client would join the pieces.
        sent = False

        async def receive() -> dict[str, Any]:
            nonlocal sent
            if sent:
                await anyio.sleep(3600)
            sent = True
            return {"type": "http.request", "body": ward_lines, "more_body": False}

        async def send(message: Any) -> None:
            if message["type"] == "http.response.body" and message.get("body"):
                pieces.append(message["body"])

        scope = {
            "type": "http",
            "method": "POST",
            "path": REVIEW,
            "query_string": b"",
            "headers": [(b"content-type", b"application/fhir+ndjson")],
        }
        await create_app()(scope, receive, send)

    anyio.run(ask)
    assert len(pieces) == 1 + 13 + 1  # The software, the patients, the report.
    assert max(map(len, pieces)) < sum(map(len, pieces)) / 4


def test_a_bad_line_is_named_and_loses_nothing_else(client: TestClient, ward_lines: bytes) -> None:
    good = _lines(client.post(REVIEW, content=ward_lines, headers=NDJSON).content)
    spoilt = _lines(
        client.post(REVIEW, content=ward_lines + b'\n{"resourceType": NaN}\n', headers=NDJSON).content
    )
    assert spoilt[:-1] == good[:-1]
    number = ward_lines.count(b"\n") + 2
    assert any(f"line {number}" in "".join(i.get("expression", ())) for i in spoilt[-1]["issue"])


def test_options_are_query_keys(client: TestClient, ward_lines: bytes) -> None:
    query = "?criteria=news2&detail=brief&members=true&asOf=2026-03-12T00:00:00Z"
    lines = _lines(client.post(REVIEW + query, content=ward_lines, headers=NDJSON).content)
    assert not any(r["resourceType"] == "DetectedIssue" for r in lines)
    assert any("hasMember" in r for r in lines)
    assert client.post(f"{REVIEW}?detail=x", content=ward_lines, headers=NDJSON).status_code == 400


@pytest.mark.parametrize(
    ("given", "accept", "lines"),
    [
        ("application/fhir+ndjson", "*/*", True),
        ("application/x-ndjson", "application/fhir+ndjson", True),
        ("application/ndjson", "application/fhir+json", False),
        ("application/fhir+json", "application/fhir+ndjson", True),
        ("application/fhir+json", "application/fhir+ndjson;q=0.5, application/fhir+json", False),
        ("application/fhir+json", "*/*", False),
    ],
)
def test_the_answer_is_in_the_callers_format(
    client: TestClient, sepsis: bytes, given: str, accept: str, *, lines: bool
) -> None:
    """Either may be asked for whatever was sent; without a wish the answer is like the request."""
    body = sepsis
    if "ndjson" in given:
        body = b"\n".join(json.dumps(r).encode() for r in resources(json.loads(sepsis)))
    answer = client.post(REVIEW, content=body, headers={"Content-Type": given, "Accept": accept})
    assert answer.status_code == 200
    assert ("ndjson" in answer.headers["content-type"]) is lines
    if lines:
        assert _lines(answer.content)[-1]["resourceType"] == "OperationOutcome"
    else:
        assert answer.json()["type"] == "collection"


def test_packed_lines(client: TestClient, ward_lines: bytes) -> None:
    packed = client.post(
        REVIEW,
        content=gzip.compress(ward_lines),
        headers={**NDJSON, "Content-Encoding": "gzip", "Accept-Encoding": "gzip"},
    )
    assert packed.headers["content-encoding"] == "gzip"
    plain = client.post(REVIEW, content=ward_lines, headers={**NDJSON, "Accept-Encoding": "identity"})
    assert "content-encoding" not in plain.headers
    assert packed.content == plain.content


def test_one_document_a_patient(client: TestClient, ward_lines: bytes) -> None:
    lines = _lines(client.post(HANDOVER, content=ward_lines, headers=NDJSON).content)
    assert [r.get("type") for r in lines] == ["document"] * 13 + [None]
    assert lines[-1]["resourceType"] == "OperationOutcome"


def test_nothing_usable(client: TestClient) -> None:
    answer: httpx.Response = client.post(REVIEW, content=b"hello\n{}\n", headers=NDJSON)
    assert (answer.status_code, code_of(issue(answer))) == (400, "not-json")
