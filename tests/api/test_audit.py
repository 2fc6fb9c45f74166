"""AuditEvents to a sink of the operator's; the resource is judged by the outside judges."""

import json
import os
import stat
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW, issue
from tests.conformance.judges import Judges
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry.audit import AuditSinkError
from weatherglass.ehr.client.audit_post import AuditPost
from weatherglass.ehr.client.faults import EhrError

FHIR = {"Content-Type": "application/fhir+json"}


def _client(**settings: Any) -> TestClient:
    return TestClient(create_app(Settings(**settings)), headers=FHIR)


@pytest.fixture
def audited(tmp_path: Path, sepsis: bytes) -> list[dict[str, Any]]:
    """The events of a review, a refusal and a health check."""
    path = tmp_path / "audit.ndjson"
    with _client(audit_file=str(path)) as client:
        client.post(REVIEW, content=sepsis)
        client.post(REVIEW, content=b"hello")
        client.get("/health/live")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    return [json.loads(line) for line in path.read_text("utf-8").splitlines()]


class TestEvents:
    def test_what_brings_data_is_audited_and_how_it_ended(self, audited: list[dict[str, Any]]) -> None:
        """R4 value set audit-event-outcome: 0 success, 4 minor failure. Reading health is not audited."""
        assert [event["outcome"] for event in audited] == ["0", "4"]
        assert [event["entity"][0]["name"] for event in audited] == ["/fhir/$review-deterioration"] * 2
        details = {d["type"]: d["valueString"] for d in audited[0]["entity"][0]["detail"]}
        assert details["patients-reviewed"] == "1"
        assert details["http-status"] == "200"
        assert len(details["request-id"]) == 32

    def test_a_look_at_the_page_says_how_many_patients_were_looked_at(
        self, tmp_path: Path, sepsis: bytes
    ) -> None:
        path = tmp_path / "looked.ndjson"
        with _client(audit_file=str(path)) as client:
            client.post("/view", content=sepsis)
        (event,) = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
        details = {d["type"]: d["valueString"] for d in event["entity"][0]["detail"]}
        assert details["patients-reviewed"] == "1"

    def test_no_event_names_the_patient(self, audited: list[dict[str, Any]], sepsis: bytes) -> None:
        patient = next(
            e["resource"] for e in json.loads(sepsis)["entry"] if e["resource"]["resourceType"] == "Patient"
        )
        text = json.dumps(audited)
        assert patient["id"] not in text
        assert patient["name"][0]["family"] not in text

    def test_they_are_valid(self, audited: list[dict[str, Any]], judges: Judges) -> None:
        assert audited
        for event in audited:
            judges.accept(event)


class TestFile:
    def test_off_unless_a_sink_is_named(self) -> None:
        with _client() as client:
            assert client.post(REVIEW, content=b"{}").status_code == 400

    @pytest.mark.parametrize(
        ("settings", "said"),
        [
            ({"audit_file": "/no/such/folder/a.ndjson"}, "audit_file"),
            ({"audit_file": "a", "audit_url": "https://sink.example"}, "one sink"),
            ({"audit_required": True}, "needs"),
            ({"audit_url": "http://sink.example/fhir/AuditEvent"}, "https"),
            ({"audit_url": "https://sink.example", "audit_token_file": "/no/such/token"}, "no such file"),
        ],
    )
    def test_a_sink_that_cannot_work_stops_the_start(self, settings: dict[str, Any], said: str) -> None:
        with pytest.raises(AuditSinkError, match=said):
            create_app(Settings(**settings))

    def test_a_full_disk_is_counted_and_the_answer_goes_out(self, sepsis: bytes) -> None:
        """/dev/full refuses every byte, as a full disk does."""
        with _client(audit_file="/dev/full") as client:
            assert client.post(REVIEW, content=sepsis).status_code == 200
            assert "weatherglass_audit_events_unstored_total 1.0" in client.get("/metrics").text

    def test_a_full_disk_withholds_the_answer_where_the_audit_is_required(self, sepsis: bytes) -> None:
        with _client(audit_file="/dev/full", audit_required=True) as client:
            answer = client.post(REVIEW, content=sepsis)
            assert answer.status_code == 503
            assert answer.headers["retry-after"] == "30"
            assert issue(answer)["code"] == "throttled"
            assert answer.headers["x-request-id"]
            assert client.get("/health/live").status_code == 200

    def test_a_line_that_broke_off_spoils_no_other(self, tmp_path: Path, monkeypatch: Any) -> None:
        """The disk fills in the middle of an event, and has room again for the next."""
        path = tmp_path / "audit.ndjson"
        real = os.write
        with _client(audit_file=str(path)) as client:
            client.post(REVIEW, content=b"{}")
            monkeypatch.setattr(os, "write", lambda file, data: real(file, data[:50]))
            client.post(REVIEW, content=b"{}")
            monkeypatch.setattr(os, "write", real)
            client.post(REVIEW, content=b"{}")
        readable = [line for line in path.read_text("utf-8").splitlines() if line.endswith("]}")]
        assert len(readable) == 2
        assert all(json.loads(line)["resourceType"] == "AuditEvent" for line in readable)


class _Repository(BaseHTTPRequestHandler):
    """Takes AuditEvents, after saying "not now" a few times."""

    got: list[dict[str, Any]]
    tokens: list[str]
    refusals: int

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        kind = type(self)
        if kind.refusals > 0:
            kind.refusals -= 1
            self.send_response(503)
        else:
            kind.got.append(json.loads(body))
            kind.tokens.append(self.headers.get("Authorization", ""))
            self.send_response(201)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def repository() -> Iterator[tuple[str, type[_Repository]]]:
    """An audit record repository on loopback."""
    kind = type("Repository", (_Repository,), {"got": [], "tokens": [], "refusals": 0})
    server = HTTPServer(("127.0.0.1", 0), kind)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/fhir/AuditEvent", kind
    server.shutdown()
    thread.join()
    server.server_close()


class TestHttp:
    def test_events_arrive_though_the_repository_is_away_at_first(
        self, repository: tuple[str, type[_Repository]], tmp_path: Path, sepsis: bytes
    ) -> None:
        address, kind = repository
        kind.refusals = 2
        (tmp_path / "token").write_text("secret-of-the-sink\n", "utf-8")
        with _client(audit_url=address, audit_token_file=str(tmp_path / "token")) as client:
            assert client.post(REVIEW, content=sepsis).status_code == 200
        assert [event["outcome"] for event in kind.got] == ["0"]
        assert kind.tokens == ["Bearer secret-of-the-sink"]

    def test_a_repository_that_stays_away_is_reported(self) -> None:
        """What was taken and could not be delivered when the service stops is counted as lost."""
        lost: list[int] = []
        post = _post(_away, lost=lambda: lost.append(1), pause=0.01, closing=0.3)
        assert post.take(b"{}")
        assert post.take(b"{}")
        post.close()
        assert len(lost) == 2

    def test_a_full_queue_takes_no_more(self) -> None:
        held = threading.Event()

        def slow(_: httpx.Request) -> httpx.Response:
            held.wait(5)
            return httpx.Response(201)

        post = _post(slow, length=1)
        taken = [post.take(b"{}") for _ in range(4)]
        held.set()
        post.close()
        assert taken[0]
        assert not taken[-1]

    def test_a_refused_event_is_not_sent_again(self) -> None:
        lost: list[int] = []
        asked: list[int] = []

        def refuse(_: httpx.Request) -> httpx.Response:
            asked.append(1)
            return httpx.Response(422)

        post = _post(refuse, lost=lambda: lost.append(1))
        post.take(b"{}")
        post.close()
        assert (len(asked), len(lost)) == (1, 1)

    def test_no_token_over_an_open_network(self) -> None:
        with pytest.raises(EhrError, match="https"):
            AuditPost("http://sink.example/fhir/AuditEvent")


def _away(_: httpx.Request) -> httpx.Response:
    raise httpx.ConnectError("nobody there")


def _post(answer: Callable[[httpx.Request], httpx.Response], **rest: Any) -> AuditPost:
    return AuditPost("https://sink.example/AuditEvent", transport=httpx.MockTransport(answer), **rest)
