"""Markers through every door: the service's log, numbers, traces, audit, errors and headers stay clean.

An answer that succeeds holds the patient's own data, that is its purpose. Everything
else that leaves the process is looked at here.
"""

import gzip
import io
import json
import logging
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from starlette.testclient import TestClient

from tests.cds_hooks import calls
from tests.privacy.planted import BORN, MARKER, NUMBER, good, leaks, record, spoilt, text
from weatherglass.api import app as application
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry.logs import configure
from weatherglass.api.telemetry.tracing import exported

FHIR = "application/fhir+json"
HEADERS = {
    "X-Request-Id": f"{MARKER} {BORN}",
    "traceparent": "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01",
    "tracestate": f"v={MARKER}",
    "baggage": f"patient={MARKER}",
    "User-Agent": MARKER,
    "Referer": f"https://ehr.example/{MARKER}",
    "Cookie": f"session={MARKER}",
}
SPOILT = [pytest.param(body, id=name) for name, body in spoilt()]


class Watched:
    """The application with everything that it tells about requests."""

    def __init__(
        self, client: TestClient, log: io.StringIO, spans: InMemorySpanExporter, audit: Path
    ) -> None:
        self.client = client
        self._log = log
        self._spans = spans
        self._audit = audit

    def send(self, method: str, path: str, **rest: Any) -> Any:
        """Send a request that carries markers in its headers too."""
        headers = {**HEADERS, "Content-Type": FHIR, **rest.pop("headers", {})}
        return self.client.request(method, path, headers=headers, **rest)

    def told(self) -> dict[str, str]:
        """Return everything that was told, by where."""
        spans = [span.to_json() for span in self._spans.get_finished_spans()]
        return {
            "log": self._log.getvalue(),
            "metrics": self.client.get("/metrics").text,
            "traces": json.dumps(spans),
            "audit": self._audit.read_text("utf-8"),
        }


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Watched]:
    """An application with log, traces and audit on, at their most talkative."""
    log, exporter = io.StringIO(), InMemorySpanExporter()
    loggers = [logging.getLogger(name) for name in ("", "weatherglass", "uvicorn", "uvicorn.access")]
    before = [(one, one.handlers[:], one.level, one.propagate, one.disabled) for one in loggers]
    configure("debug", log)
    logging.getLogger().setLevel(logging.DEBUG)
    monkeypatch.setattr(application, "exported", lambda: exported(exporter))
    settings = Settings(tracing=True, audit_file=str(tmp_path / "audit.ndjson"))
    app = application.create_app(settings)
    with TestClient(app, raise_server_exceptions=False) as client:
        yield Watched(client, log, exporter, tmp_path / "audit.ndjson")
    # What was told while stopping counts as well.
    assert not leaks(log.getvalue())
    assert not leaks(json.dumps([span.to_json() for span in exporter.get_finished_spans()]))
    logging.captureWarnings(capture=False)
    for one, handlers, level, propagate, disabled in before:
        one.handlers[:], one.propagate, one.disabled = handlers, propagate, disabled
        one.setLevel(level)


def _nothing_told(watched: Watched, answer: Any) -> None:
    """Look at everything but the body of an answer that succeeded."""
    for where, what in watched.told().items():
        assert not leaks(what), where
    assert not leaks(json.dumps(dict(answer.headers)))
    assert "no-store" in answer.headers.get("cache-control", "no-store")
    if answer.status_code >= 400:
        assert not leaks(answer.text)
    elif "fhir" in answer.headers.get("content-type", ""):
        for line in answer.text.splitlines() if "ndjson" in answer.headers["content-type"] else [answer.text]:
            for outcome in _outcomes(json.loads(line)):
                assert not leaks("\n".join(issue["diagnostics"] for issue in outcome["issue"]))


def _outcomes(found: Any) -> Iterator[dict[str, Any]]:
    if found.get("resourceType") == "OperationOutcome":
        yield found
    for entry in found.get("entry", []):
        yield from _outcomes(entry["resource"])


class TestMarkers:
    def test_they_would_be_found(self) -> None:
        """The marker is in every part of the record, and in whatever spelling."""
        assert leaks(good().decode().upper())
        assert leaks(f"born {BORN}")

    def test_a_review_shows_them_to_the_caller(self, watched: Watched) -> None:
        """Else a clean log would prove nothing: the markers did go through the service."""
        answer = watched.send("POST", "/fhir/$review-deterioration", content=good())
        assert answer.status_code == 200
        assert leaks(answer.text)
        assert NUMBER in watched.send("POST", "/fhir/$handover-document", content=good()).text


@pytest.mark.parametrize("operation", ["/fhir/$review-deterioration", "/fhir/$handover-document", "/view"])
class TestOperations:
    @pytest.mark.parametrize("body", [pytest.param(good(), id="good"), *SPOILT])
    def test_json(self, watched: Watched, operation: str, body: bytes) -> None:
        _nothing_told(watched, watched.send("POST", operation, content=body))

    @pytest.mark.parametrize("body", SPOILT)
    def test_strictly(self, watched: Watched, operation: str, body: bytes) -> None:
        """Strict handling refuses, and says why in more words."""
        answer = watched.send("POST", operation, content=body, headers={"Prefer": "handling=strict"})
        _nothing_told(watched, answer)

    def test_as_lines(self, watched: Watched, operation: str) -> None:
        entries = [*record()["entry"], *record(status=MARKER)["entry"]]
        lines = b"\n".join([*(text(entry["resource"]) for entry in entries), MARKER.encode()])
        headers = {"Content-Type": "application/fhir+ndjson"}
        _nothing_told(watched, watched.send("POST", operation, content=lines, headers=headers))

    @pytest.mark.parametrize(
        "headers",
        [
            {"Content-Type": f"text/{MARKER}"},
            {"Content-Type": f"{FHIR}; fhirVersion={MARKER}"},
            {"Accept": f"text/{MARKER}"},
            {"Content-Encoding": MARKER},
            {"Content-Encoding": "gzip"},
            {"Authorization": f"Bearer {MARKER}"},
            {"Prefer": f"handling={MARKER}"},
        ],
        ids=lambda headers: next(iter(headers)),
    )
    def test_headers(self, watched: Watched, operation: str, headers: dict[str, str]) -> None:
        _nothing_told(watched, watched.send("POST", operation, content=good(), headers=headers))

    def test_a_packed_body(self, watched: Watched, operation: str) -> None:
        packed = gzip.compress(good())
        for body in (packed, packed[:-9]):
            answer = watched.send("POST", operation, content=body, headers={"Content-Encoding": "gzip"})
            _nothing_told(watched, answer)

    def test_the_address(self, watched: Watched, operation: str) -> None:
        query = f"?asOf={BORN}{MARKER}&criteria={MARKER}&{MARKER}={MARKER}&patient={MARKER}"
        _nothing_told(watched, watched.send("POST", f"{operation}{query}", content=good()))

    def test_a_mistake_of_ours(
        self, watched: Watched, operation: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Every stage fails with a message that quotes the record."""
        for stage in (
            "weatherglass.api.requests.operations.items_of",
            "weatherglass.api.requests.operations.read_items",
            "weatherglass.api.requests.operations.review_reading",
            "weatherglass.api.requests.operations.written",
            "weatherglass.web.page.review_reading",
        ):
            with monkeypatch.context() as patched:
                patched.setattr(stage, _fail)
                answer = watched.send("POST", operation, content=good())
                _nothing_told(watched, answer)


def _fail(*_: object, **__: object) -> None:
    raise ValueError(f"cannot use {MARKER}, born {BORN}")


class TestOtherAddresses:
    @pytest.mark.parametrize("method", ["GET", "POST", "PUT", "DELETE", MARKER])
    @pytest.mark.parametrize(
        "path",
        [
            f"/fhir/Patient/{MARKER}?birthdate={BORN}",
            f"/{MARKER}",
            f"/criteria/{MARKER}",
            f"/static/{MARKER}.js",
            f"/demo/{MARKER}.json",
            f"/fhir/OperationDefinition/{MARKER}",
            f"/cds-services/{MARKER}",
            f"/health/live?patient={MARKER}",
            f"/metrics?patient={MARKER}",
            f"/openapi.json?patient={MARKER}",
        ],
    )
    def test_an_address_with_a_marker(self, watched: Watched, method: str, path: str) -> None:
        body = good() if method in ("POST", "PUT") else None
        answer = watched.send(method, path, content=body)
        _nothing_told(watched, answer)


class TestCdsHooks:
    @pytest.fixture
    def call(self) -> dict[str, Any]:
        """A call about a patient who is all markers."""
        resources = [entry["resource"] for entry in record()["entry"]]
        return {
            "hook": "patient-view",
            "hookInstance": calls.INSTANCE,
            "fhirServer": f"https://{MARKER}.example/fhir",
            "fhirAuthorization": {
                "access_token": MARKER,
                "token_type": "Bearer",
                "expires_in": 300,
                "scope": MARKER,
                "subject": MARKER,
            },
            "context": {"patientId": MARKER, "userId": f"Practitioner/{MARKER}", "encounterId": MARKER},
            "prefetch": {
                "patient": resources[0],
                "vitals": calls.bundle(resources[1]),
                "conditions": calls.bundle(resources[2]),
                "medications": calls.bundle(resources[3]),
            },
        }

    @pytest.mark.parametrize(
        "change",
        [
            {},
            {"hook": MARKER},
            {"hookInstance": MARKER},
            {"context": {"patientId": f"{MARKER} {BORN}", "userId": MARKER}},
            {"context": MARKER},
            {"context": {"patientId": 5, MARKER: MARKER}},
            {"prefetch": {}},
            {"prefetch": {"patient": MARKER}},
            {"prefetch": {MARKER: {"resourceType": MARKER}}},
            {"fhirAuthorization": {"access_token": MARKER, "token_type": MARKER}},
            {"fhirServer": MARKER},
            {"fhirServer": [MARKER]},
        ],
        ids=str,
    )
    @pytest.mark.parametrize("service", ["deterioration-review", "medicine-safety"])
    def test_calls(
        self, watched: Watched, call: dict[str, Any], service: str, change: dict[str, Any]
    ) -> None:
        headers = {"Content-Type": "application/json"}
        answer = watched.send(
            "POST", f"/cds-services/{service}", content=text({**call, **change}), headers=headers
        )
        _nothing_told(watched, answer)

    @pytest.mark.parametrize(
        "body",
        [
            {"feedback": [{"card": MARKER, "outcome": "overridden", "outcomeTimestamp": BORN}]},
            {
                "feedback": [
                    {
                        "card": calls.INSTANCE,
                        "outcome": "overridden",
                        "overrideReason": {"reason": {"code": MARKER}, "userComment": f"{MARKER} {BORN}"},
                        "outcomeTimestamp": "2026-03-01T10:00:00Z",
                    }
                ]
            },
            {"feedback": MARKER},
            {"feedback": [{"outcome": MARKER}]},
        ],
    )
    def test_feedback(self, watched: Watched, body: dict[str, Any]) -> None:
        """What a prescriber wrote as a reason is counted by code at most, never kept."""
        headers = {"Content-Type": "application/json"}
        answer = watched.send(
            "POST", "/cds-services/deterioration-review/feedback", content=text(body), headers=headers
        )
        _nothing_told(watched, answer)
