"""A key that stands twice around the resources of a request is refused by name, at every door.

RFC 8259 section 4: what a receiver makes of such an object is unpredictable.
"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.answers import HANDOVER, REVIEW, code_of, issue
from tests.cds_hooks.calls import PRESENT, draft, sign, view
from tests.records import measured
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.bundle import read_bytes, read_lines

_NAME = "01-sepsis"


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    app = create_app(Settings(_env_file=None))
    app.state.clock = lambda: PRESENT
    with TestClient(app) as started:
        yield started


def _json(value: Any) -> str:
    return json.dumps(value, default=float)


_PULSE, _FAST = (_json(measured("o", "pulse", value, "/min")) for value in ("80", "180"))
_ONE, _OTHER = f'{{"resource": {_PULSE}}}', f'{{"resource": {_FAST}}}'
_BUNDLE = f'{{"resourceType": "Bundle", "type": "collection", "entry": [{_ONE}]}}'
_TWO = f'{{"resource": {_PULSE}, "resource": {_FAST}}}'
_DEEP = '{"resource": {"resourceType": "Basic", "x": ' + "[" * 3000 + "]" * 3000 + "}}"


def _bundle(entries: str, more: str = "") -> str:
    return f'{{"resourceType": "Bundle", {more}"entry": [{entries}]}}'


SHELLS = [
    pytest.param(_bundle(_ONE, f'"entry": [{_OTHER}], '), "Bundle.entry", id="entry"),
    pytest.param(_bundle(_ONE, f'"entry": [{_ONE}], '), "Bundle.entry", id="entry-the-same"),
    pytest.param(_bundle(_ONE, '"type": "batch", "type": "collection", '), "Bundle.type", id="type"),
    pytest.param(
        _bundle(f"{_ONE}, {_TWO}"),
        "Bundle.entry[1].resource",
        id="resource",
    ),
    pytest.param(
        _bundle(f'{{"fullUrl": "urn:uuid:a", "fullUrl": "urn:uuid:b", "resource": {_PULSE}}}'),
        "Bundle.entry[0].fullUrl",
        id="fullUrl",
    ),
    pytest.param(
        _bundle(f'{{"request": {{"method": "PUT", "method": "DELETE"}}, "resource": {_PULSE}}}'),
        "Bundle.entry[0].method",
        id="method",
    ),
    pytest.param(_bundle(f"{_TWO}, {_DEEP}"), "Bundle.entry[0].resource", id="deep"),
    pytest.param(
        _bundle(f'{{"resource": {_bundle(_ONE, f"{chr(34)}entry{chr(34)}: [{_OTHER}], ")}}}'),
        "Bundle.entry[0].resource.entry",
        id="a-bundle-within",
    ),
]  # fmt: skip


def _parameter(name: str, inside: str) -> str:
    return f'{{"name": "{name}", {inside}}}'


_RECORD = _parameter("record", f'"resource": {_BUNDLE}')


@pytest.mark.parametrize(("body", "place"), SHELLS)
@pytest.mark.parametrize("door", [REVIEW, HANDOVER])
def test_of_a_bundle(client: TestClient, door: str, body: str, place: str) -> None:
    refused = client.post(door, content=body)
    assert refused.status_code == 400
    assert code_of(issue(refused)) == "duplicate-key"
    assert issue(refused)["expression"] == [place]


@pytest.mark.parametrize(("body", "place"), SHELLS)
def test_at_the_other_doors(client: TestClient, body: str, place: str) -> None:
    assert client.post("/view", content=body).status_code == 422
    with pytest.raises(UnreadableError, match="stands twice"):
        read_bytes(body.encode())
    assert "stands twice" in str(read_lines([_PULSE.encode(), body.encode()]).issues)
    record = _parameter("record", f'"resource": {body}')
    wrapped = f'{{"resourceType": "Parameters", "parameter": [{record}]}}'
    refused = client.post(REVIEW, content=wrapped)
    assert (refused.status_code, code_of(issue(refused))) == (400, "duplicate-key")


@pytest.mark.parametrize(
    ("parameters", "place"),
    [
        pytest.param(f'"parameter": [], "parameter": [{_RECORD}]', "Parameters.parameter", id="parameter"),
        pytest.param(
            '"parameter": ['
            + _parameter("record", f'"resource": {_BUNDLE}, "resource": {_bundle(_OTHER)}')
            + "]",
            "Parameters.parameter[0].resource",
            id="resource",
        ),
        pytest.param(
            f'"parameter": [{_RECORD}, '
            + _parameter("asOf", '"valueDateTime": "2026-03-01", "valueDateTime": "2026-03-02"')
            + "]",
            "Parameters.parameter[1].valueDateTime",
            id="value",
        ),
    ],
)  # fmt: skip
def test_of_parameters(client: TestClient, parameters: str, place: str) -> None:
    refused = client.post(REVIEW, content=f'{{"resourceType": "Parameters", {parameters}}}')
    assert (refused.status_code, code_of(issue(refused))) == (400, "duplicate-key")
    assert issue(refused)["expression"] == [place]


def _call(client: TestClient, body: str, service: str = "deterioration-review") -> tuple[int, str, list[str]]:
    answer = client.post(f"/cds-services/{service}", content=body)
    if answer.status_code == 200:
        return 200, "", []
    return answer.status_code, code_of(issue(answer)), issue(answer).get("expression", [])


@pytest.mark.parametrize(
    ("before", "after", "place"),
    [
        pytest.param('"vitals": ', '"vitals": {}, "vitals": ', "prefetch.vitals", id="key"),
        pytest.param('"prefetch": ', '"prefetch": {}, "prefetch": ', "prefetch", id="prefetch"),
        pytest.param('"context": ', '"context": {}, "context": ', "context", id="context"),
        pytest.param('"userId": ', '"userId": "Practitioner/other", "userId": ', "context.userId", id="user"),
        pytest.param('"hook": ', '"hook": "order-sign", "hook": ', "hook", id="hook"),
        pytest.param('"entry": ', '"entry": [], "entry": ', "prefetch.vitals.entry", id="entry"),
    ],
)  # fmt: skip
def test_of_a_call(client: TestClient, before: str, after: str, place: str) -> None:
    body = json.dumps(view(_NAME))
    assert _call(client, body) == (200, "", [])
    assert _call(client, body.replace(before, after, 1)) == (400, "duplicate-key", [place])


def test_of_the_drafts_of_a_call(client: TestClient) -> None:
    body = json.dumps(sign(_NAME, draft(_NAME, "Ibuprofen 400 mg tablets")))
    assert _call(client, body, "medicine-safety")[0] == 200
    for key in ("draftOrders", "medicationCodeableConcept"):
        spoilt = body.replace(f'"{key}": ', f'"{key}": {{}}, "{key}": ', 1)
        assert _call(client, spoilt, "medicine-safety")[:2] == (400, "duplicate-key")


def test_of_feedback(client: TestClient) -> None:
    body = '{"feedback": [], "feedback": []}'
    assert _call(client, body, "deterioration-review/feedback") == (400, "duplicate-key", ["feedback"])


@pytest.mark.parametrize("text", ["hook", "userId", "vitals", "patient-view"])
def test_bytes_that_are_not_utf8(client: TestClient, text: str) -> None:
    """RFC 8259 section 8.1: JSON that travels is UTF-8."""
    body = (
        json.dumps(view(_NAME)).encode().replace(f'"{text}"'.encode(), f'"{text}\xff"'.encode("latin-1"), 1)
    )
    assert client.post("/cds-services/deterioration-review", content=body).status_code == 400
    feedback = b'{"feedback": [{"card": "\xff", "outcome": "accepted", "outcomeTimestamp": ""}]}'
    assert client.post("/cds-services/deterioration-review/feedback", content=feedback).status_code == 400


@pytest.mark.parametrize("patient", [".", ".."])
def test_a_patient_of_dots(client: TestClient, patient: str) -> None:
    """RFC 3986 section 5.2.4: dots alone lead out of an address."""
    call = view(_NAME)
    call["context"]["patientId"] = patient
    status, _, expression = _call(client, json.dumps(call))
    assert (status, expression) == (400, ["context.patientId"])
