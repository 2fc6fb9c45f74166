"""What a client did not send is fetched from the server that it names, if we may ask that server.

Expected: CDS Hooks 2.0.1, "FHIR resource access"; the allow-list is ours: an address in a
request is never asked because it is there.
"""

import json
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

import pytest
from starlette.testclient import TestClient

from tests.cds_hooks.calls import PRESENT, Json, prefetch, view
from tests.cds_hooks.schemas import accept
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

NAME = "01-sepsis"
TOKEN = "given-by-the-record"


@dataclass
class _Record:
    """A FHIR server on this machine that answers the prefetch queries of one patient."""

    base: str = ""
    asked: list[tuple[str, str | None]] = field(default_factory=list)
    slow: float = 0.0
    refuses: bool = False

    def answer(self, path: str) -> Json | None:
        sent = prefetch(NAME)
        parts = urlsplit(path)
        query = parse_qs(parts.query)
        kind = parts.path.removeprefix("/fhir/")
        if kind.startswith("Patient/"):
            patient: Json = sent["patient"]
            return patient if kind == f"Patient/{patient['id']}" else None
        if query["patient"] != [sent["patient"]["id"]]:
            return None
        if kind == "Observation":
            category = query.get("category", [""])[0].partition(",")[0]
            codes = query.get("code", [""])[0]
            by_code = {"2160-0": "creatinine", "304251008": "decisions"}
            key = {"vital-signs": "vitals", "exam": "bedside", "laboratory": "results"}.get(
                category, next((key for code, key in by_code.items() if code in codes), "potassium")
            )
        elif query.get("status") == ["stopped,completed"]:
            key = "ended"
        else:
            key = {
                "MedicationRequest": "medications",
                "MedicationAdministration": "administrations",
                "MedicationStatement": "statements",
                "AllergyIntolerance": "allergies",
                "Condition": "conditions",
                "Encounter": "encounters",
                "Procedure": "procedures",
                "ServiceRequest": "requests",
                "Flag": "flags",
                "CarePlan": "plans",
                "Consent": "consents",
                "DocumentReference": "documents",
            }[kind]
        found: Json = sent[key]
        return found


@pytest.fixture
def ehr() -> Iterator[_Record]:
    """The server, running."""
    record = _Record()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            record.asked.append((self.path, self.headers.get("Authorization")))
            time.sleep(record.slow)
            if record.refuses or self.headers.get("Authorization") != f"Bearer {TOKEN}":
                self.send_response(401)
                self.end_headers()
                return
            found = record.answer(self.path)
            body = json.dumps(found or {"resourceType": "OperationOutcome", "issue": []}).encode()
            self.send_response(200 if found else 404)
            self.send_header("Content-Type", "application/fhir+json")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:  # noqa: A002
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    record.base = f"http://127.0.0.1:{server.server_port}/fhir"
    yield record
    server.shutdown()
    server.server_close()
    thread.join()


def _client(*servers: str, seconds: float = 5.0) -> TestClient:
    app = create_app(Settings(_env_file=None, cds_fhir_servers=servers, cds_fetch_seconds=seconds))
    app.state.clock = lambda: PRESENT
    return TestClient(app)


def _call(ehr: _Record, *, without: tuple[str, ...] = (), token: str | None = TOKEN) -> Json:
    call = view(NAME, fhirServer=ehr.base)
    call["prefetch"] = {k: v for k, v in call["prefetch"].items() if k not in without}
    if not call["prefetch"]:
        del call["prefetch"]
    if token is not None:
        call["fhirAuthorization"] = {
            "access_token": token,
            "token_type": "Bearer",
            "expires_in": 300,
            "scope": "user/*.rs",
            "subject": "weatherglass",
            "patient": call["context"]["patientId"],
        }
    accept("request", call)
    return call


EVERYTHING = tuple(prefetch(NAME))


@pytest.mark.parametrize("slash", ["", "/"])
def test_what_was_not_sent_is_fetched_with_the_given_token(ehr: _Record, slash: str) -> None:
    """Nothing sent, everything fetched: the same cards as when everything is sent."""
    with _client(f"{ehr.base}{slash}") as client:
        fetched = client.post("/cds-services/deterioration-review", json=_call(ehr, without=EVERYTHING))
        assert fetched.status_code == 200, fetched.text
        assert len(ehr.asked) == len(EVERYTHING)
        assert {authorization for _, authorization in ehr.asked} == {f"Bearer {TOKEN}"}
        sent = client.post("/cds-services/deterioration-review", json=_call(ehr))
        assert len(ehr.asked) == len(EVERYTHING)
    assert fetched.json() == sent.json()
    assert fetched.json()["cards"]


def test_only_what_is_missing_is_fetched(ehr: _Record) -> None:
    with _client(ehr.base) as client:
        answer = client.post("/cds-services/deterioration-review", json=_call(ehr, without=("vitals",)))
    assert answer.status_code == 200
    assert len(ehr.asked) == 1
    assert "category=vital-signs" in ehr.asked[0][0]


def test_a_server_that_is_not_on_the_list_is_never_asked(ehr: _Record) -> None:
    """Server-side request forgery: the address comes from the request, so it is not trusted."""
    for servers in ((), (f"{ehr.base}/other",), (ehr.base.replace("127.0.0.1", "localhost"),)):
        with _client(*servers) as client:
            answer = client.post("/cds-services/deterioration-review", json=_call(ehr, without=("vitals",)))
        assert answer.status_code == 412
    assert ehr.asked == []


def test_a_server_that_refuses_leaves_the_call_at_412(ehr: _Record) -> None:
    ehr.refuses = True
    with _client(ehr.base) as client:
        answer = client.post("/cds-services/deterioration-review", json=_call(ehr, without=("vitals",)))
    assert answer.status_code == 412
    assert answer.json()["issue"][0]["expression"] == ["prefetch.vitals"]


def test_without_a_token_the_server_decides(ehr: _Record) -> None:
    with _client(ehr.base) as client:
        call = _call(ehr, without=("vitals",), token=None)
        assert client.post("/cds-services/deterioration-review", json=call).status_code == 412
    assert ehr.asked[0][1] is None


def test_a_slow_server_is_not_waited_for(ehr: _Record) -> None:
    ehr.slow = 2.0
    with _client(ehr.base, seconds=0.3) as client:
        began = time.monotonic()
        answer = client.post("/cds-services/deterioration-review", json=_call(ehr, without=("vitals",)))
        assert time.monotonic() - began < 1.5
    assert answer.status_code == 412
