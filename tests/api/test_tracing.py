"""Traces: what a span holds, and that nothing else travels with it."""

import json
from collections.abc import Iterator

import pytest
from opentelemetry.sdk.trace import ReadableSpan
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from starlette.testclient import TestClient

from tests.api.answers import REVIEW
from weatherglass.api import app as application
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry.tracing import exported

MARKER = "Zanzibar-Quill"
PARENT = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"  # The example of W3C Trace Context.


@pytest.fixture
def spans(monkeypatch: pytest.MonkeyPatch) -> InMemorySpanExporter:
    """Where the spans of the application end."""
    exporter = InMemorySpanExporter()
    monkeypatch.setattr(application, "exported", lambda: exported(exporter))
    return exporter


@pytest.fixture
def traced(spans: InMemorySpanExporter) -> Iterator[TestClient]:
    """An application that sends traces."""
    with TestClient(
        application.create_app(Settings(tracing=True)), headers={"Content-Type": "application/fhir+json"}
    ) as client:
        yield client


def _finished(client: TestClient, spans: InMemorySpanExporter) -> dict[str, ReadableSpan]:
    client.__exit__()  # The last spans leave when the application stops.
    return {span.name: span for span in spans.get_finished_spans()}


def test_a_request_is_a_span_with_its_parts(
    traced: TestClient, spans: InMemorySpanExporter, sepsis: bytes
) -> None:
    answer = traced.post(f"{REVIEW}?criteria=news2", content=sepsis, headers={"traceparent": PARENT})
    found = _finished(traced, spans)
    span = found["POST /fhir/$review-deterioration"]
    assert span.attributes is not None
    assert span.attributes["http.response.status_code"] == 200
    assert span.attributes["weatherglass.patients"] == 1
    assert span.attributes["weatherglass.request_id"] == answer.headers["x-request-id"]
    assert span.parent is not None
    assert f"{span.parent.span_id:016x}" == PARENT.split("-")[2]
    receive = found["receive"]
    assert receive.parent is not None
    assert span.context is not None
    assert receive.parent.span_id == span.context.span_id
    assert (
        (span.start_time or 0) <= (receive.start_time or 0) <= (receive.end_time or 0) <= (span.end_time or 0)
    )


def test_nothing_that_a_caller_wrote_is_in_a_span(traced: TestClient, spans: InMemorySpanExporter) -> None:
    """Address, query, headers, baggage, trace state and body: none of it is exported."""
    headers = {
        "traceparent": PARENT,
        "tracestate": f"vendor={MARKER}",
        "baggage": f"patient={MARKER}",
        "User-Agent": MARKER,
        "X-Request-Id": MARKER,
    }
    traced.get(f"/fhir/Patient/{MARKER}?name={MARKER}", headers=headers)
    traced.post(f"{REVIEW}?detail={MARKER}", content=MARKER, headers=headers)
    traced.request(MARKER, "/health/live", headers=headers)
    found = _finished(traced, spans)
    assert found
    for span in found.values():
        assert MARKER not in json.dumps(json.loads(span.to_json() or "{}"))


def test_a_fault_marks_the_span_without_its_message(
    traced: TestClient, spans: InMemorySpanExporter, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ValueError(MARKER)

    monkeypatch.setattr("weatherglass.api.requests.operations.review_each", fail)
    assert traced.post(REVIEW, content=b'{"resourceType":"Bundle","type":"collection"}').status_code == 500
    span = _finished(traced, spans)["POST /fhir/$review-deterioration"]
    assert span.status.is_ok is False
    assert not span.events
    assert MARKER not in (span.to_json() or "")
