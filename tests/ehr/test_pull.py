"""Bulk export from kick-off to folder, against an exacting pretended server.

Expected: Bulk Data Access 2.0.0: kick-off, status, manifest, files, delete.
"""

import json
from pathlib import Path

import httpx
import pytest

from tests.ehr.export_server import ExportServer, content
from tests.ehr.pretend import BASE, Pretend, json_answer, lines, outcome, run, searchset
from weatherglass.ehr.client.faults import EhrError, RefusedError, UnexpectedAnswerError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.fetching.export import ExportRequest
from weatherglass.ehr.fetching.ledger import load
from weatherglass.ehr.fetching.pull import Pulled, pull_by_export, pull_by_search
from weatherglass.ehr.signing_in.backend_services import FixedToken

PATIENTS = lines(*({"resourceType": "Patient", "id": f"p{n}"} for n in range(3)))
FIRST = lines(*({"resourceType": "Observation", "id": f"o{n}"} for n in range(40)))
SECOND = lines({"resourceType": "Observation", "id": "o99"})
FILES = {"Patient": PATIENTS, "Observation1": FIRST, "Observation2": SECOND}
REQUEST = ExportRequest(types=("Patient", "Observation"))


def _pull(
    server: ExportServer, folder: Path, request: ExportRequest = REQUEST, attempts: int = 3
) -> tuple[Pulled, Pretend]:
    pretend = Pretend(server)
    tokens = FixedToken(server.token) if server.token else None
    transport = pretend.transport(tokens=tokens, retry=RetryPolicy(attempts=attempts, first_pause=0.1))

    async def work() -> Pulled:
        async with transport:
            return await pull_by_export(transport, folder, request)

    return run(work()), pretend


WHOLE = {
    "Observation.000.ndjson": FIRST,
    "Observation.001.ndjson": SECOND,
    "Patient.000.ndjson": PATIENTS,
}


def test_an_export_becomes_a_folder_and_is_deleted_at_the_server(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, token="secret")
    pulled, pretend = _pull(server, tmp_path)
    assert pulled.lines == {"Observation": 41, "Patient": 3}
    assert content(tmp_path) == WHOLE
    assert server.deletions == 1
    kick_off = pretend.asked[0].url
    assert kick_off.params["_type"] == "Patient,Observation"
    assert kick_off.params["_outputFormat"] == "application/fhir+ndjson"
    manifest = json.loads((tmp_path / "manifest.json").read_text())
    assert [(f["type"], f["url"], f["count"]) for f in manifest["output"]] == [
        ("Patient", "Patient.000.ndjson", 3),
        ("Observation", "Observation.000.ndjson", 40),
        ("Observation", "Observation.001.ndjson", 1),
    ]
    assert manifest["requiresAccessToken"] is False
    assert manifest["transactionTime"] == "2026-03-12T07:30:01Z"


def test_a_waiting_server_is_asked_as_often_as_it_says(tmp_path: Path) -> None:
    """202 with Retry-After, 429 with Retry-After, 202 without: 7 s, 9 s, then our own pause."""
    waits = [
        httpx.Response(202, headers={"Retry-After": "7", "X-Progress": "collecting"}),
        httpx.Response(429, headers={"Retry-After": "9"}),
        httpx.Response(202),
    ]
    _, pretend = _pull(ExportServer(files=FILES, waits=waits), tmp_path)
    assert pretend.slept == [7.0, 9.0, 1.0]


@pytest.mark.parametrize("required", [True, False], ids=["token required", "token must not be sent"])
def test_files_get_the_token_exactly_when_the_manifest_says_so(tmp_path: Path, required: bool) -> None:
    server = ExportServer(files=FILES, token="secret", requires_token=required)
    _, pretend = _pull(server, tmp_path)
    sent = {r.headers.get("authorization") for r in pretend.asked if r.url.host == "files.example"}
    assert sent == ({"Bearer secret"} if required else {None})


@pytest.mark.parametrize("how", ["squeezed", "squeezed_files"])
def test_compressed_transfers_and_compressed_files_are_unpacked(tmp_path: Path, how: str) -> None:
    server = ExportServer(files=FILES)
    setattr(server, how, True)
    _, pretend = _pull(server, tmp_path)
    assert content(tmp_path) == WHOLE
    files = [r for r in pretend.asked if r.url.host == "files.example"]
    assert all(r.headers["accept-encoding"] == "gzip" for r in files)


def test_a_file_that_breaks_off_is_downloaded_again(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, break_off={"Observation1": 2})
    _pull(server, tmp_path)
    assert content(tmp_path) == WHOLE
    assert server.served.count("Observation1") == 3


def test_an_interrupted_pull_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """The same export, and no file is downloaded twice that had arrived."""
    server = ExportServer(files=FILES, break_off={"Observation1": 3})
    with pytest.raises(EhrError, match=r"download Observation\.000\.ndjson"):
        _pull(server, tmp_path)
    assert set(content(tmp_path)) == {"Patient.000.ndjson", "Observation.001.ndjson"}
    assert not server.deletions
    pulled, _ = _pull(server, tmp_path)
    assert pulled.resumed == 2
    assert content(tmp_path) == WHOLE
    assert server.kicked_off == 1
    assert server.served.count("Patient") == server.served.count("Observation2") == 1


def test_a_file_that_changed_on_disk_is_downloaded_again(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, break_off={"Observation1": 3})
    with pytest.raises(EhrError):
        _pull(server, tmp_path)
    (tmp_path / "Patient.000.ndjson").write_bytes(b"")
    _pull(server, tmp_path)
    assert content(tmp_path) == WHOLE


def test_an_export_that_the_server_forgot_is_started_again(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, break_off={"Observation1": 3})
    with pytest.raises(EhrError):
        _pull(server, tmp_path)
    server.gone = True
    pulled, _ = _pull(server, tmp_path)
    assert server.kicked_off == 2
    assert pulled.resumed == 0
    assert content(tmp_path) == WHOLE


def test_an_expired_address_makes_us_ask_for_the_manifest_again(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, expire_once={"Observation1"})
    _pull(server, tmp_path)
    assert server.manifests == 2
    assert server.kicked_off == 1
    assert content(tmp_path) == WHOLE
    assert server.served.count("Patient") == 1


def test_a_wrong_count_is_an_error_and_no_file(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, counts={"Observation1": 41})
    with pytest.raises(EhrError, match="40 lines arrived, 41 are listed"):
        _pull(server, tmp_path)
    assert "Observation.000.ndjson" not in content(tmp_path)
    assert not list(tmp_path.glob("*.part"))


def test_errors_and_deletions_lie_apart_and_are_counted(tmp_path: Path) -> None:
    problems = lines(outcome("exception"), outcome("informational", "information"))
    gone = lines({"resourceType": "Bundle", "type": "transaction"})
    pulled, _ = _pull(
        ExportServer(files=FILES, errors={"error": problems}, deleted={"deleted": gone}), tmp_path
    )
    assert (pulled.not_exported, pulled.remarks, pulled.deleted) == (1, 1, 1)
    assert content(tmp_path) == WHOLE
    assert (tmp_path / "error" / "OperationOutcome.000.ndjson").read_bytes() == problems
    assert (tmp_path / "deleted" / "Bundle.000.ndjson").read_bytes() == gone


def test_a_second_pull_replaces_the_first(tmp_path: Path) -> None:
    server = ExportServer(files=FILES)
    _pull(server, tmp_path)
    server.files = {"Patient": PATIENTS}
    _pull(server, tmp_path)
    assert content(tmp_path) == {"Patient.000.ndjson": PATIENTS}


def test_files_of_somebody_else_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.ndjson").write_text("{}\n")
    server = ExportServer(files=FILES)
    with pytest.raises(EhrError, match="name an empty folder"):
        _pull(server, tmp_path)
    assert not server.kicked_off
    assert (tmp_path / "notes.ndjson").read_text() == "{}\n"


@pytest.mark.parametrize("name", ["../../etc/x", "Patient/..", "", "patient"])
def test_a_type_that_is_none_never_becomes_a_file_name(tmp_path: Path, name: str) -> None:
    def handle(request: httpx.Request) -> httpx.Response:
        if request.url.path.endswith("$export"):
            return httpx.Response(202, headers={"Content-Location": "https://ehr.example/s"})
        return json_answer({"output": [{"type": name, "url": "https://files.example/x"}]})

    async def work() -> None:
        async with Pretend(handle).transport() as transport:
            await pull_by_export(transport, tmp_path / "in", REQUEST)

    with pytest.raises(UnexpectedAnswerError, match=r"output\[0\] has no type or address"):
        run(work())


def test_a_server_that_does_not_export_says_so_at_once(tmp_path: Path) -> None:
    pretend = Pretend(lambda _: json_answer(outcome("not-supported"), 501))

    async def work() -> None:
        async with pretend.transport() as transport:
            await pull_by_export(transport, tmp_path, REQUEST)

    with pytest.raises(RefusedError, match="start the export"):
        run(work())
    assert len(pretend.asked) == 1


def test_the_ledger_is_private_and_holds_no_patient(tmp_path: Path) -> None:
    server = ExportServer(files=FILES, break_off={"Observation1": 3}, token="secret")
    with pytest.raises(EhrError):
        _pull(server, tmp_path)
    ledger = tmp_path / ".pull.json"
    assert ledger.stat().st_mode & 0o077 == 0
    assert b"secret" not in ledger.read_bytes()
    known = load(tmp_path)
    assert known is not None
    assert {a.file for a in known.arrived.values()} == {"Patient.000.ndjson", "Observation.001.ndjson"}


@pytest.mark.parametrize("with_operation", [True, False], ids=["$everything", "searches"])
def test_a_pull_by_search_writes_the_same_kind_of_folder(tmp_path: Path, with_operation: bool) -> None:
    statement = {
        "resourceType": "CapabilityStatement",
        "fhirVersion": "4.0.1",
        "rest": [
            {
                "resource": [
                    {"type": "Patient", "operation": [{"name": "everything"}] if with_operation else []},
                    {"type": "Observation"},
                ]
            }
        ],
    }

    def handle(request: httpx.Request) -> httpx.Response:
        path = request.url.path.removeprefix("/fhir/")
        if path == "metadata":
            return json_answer(statement)
        if path == "Patient":
            return json_answer(searchset(*({"resourceType": "Patient", "id": f"p{n}"} for n in (2, 1))))
        patient = path.split("/")[1] if "/" in path else request.url.params["patient"]
        person = {"resourceType": "Patient", "id": patient}
        if path.startswith("Patient/") and not path.endswith("$everything"):
            return json_answer(person)
        observation = {"resourceType": "Observation", "id": f"o-{patient}"}
        note = {"resourceType": "Communication", "id": "c"}
        return json_answer(searchset(person, observation, note) if with_operation else searchset(observation))

    async def work() -> Pulled:
        async with Pretend(handle).transport() as transport:
            return await pull_by_search(transport, tmp_path, ())

    for _ in range(2):
        pulled = run(work())
        assert pulled.lines == {"Observation": 2, "Patient": 2}
        assert content(tmp_path) == {
            "Observation.000.ndjson": b'{"resourceType":"Observation","id":"o-p1"}\n'
            b'{"resourceType":"Observation","id":"o-p2"}\n',
            "Patient.000.ndjson": b'{"resourceType":"Patient","id":"p1"}\n'
            b'{"resourceType":"Patient","id":"p2"}\n',
        }


def test_kick_off_paths() -> None:
    """System, Group and Patient level; filters are escaped, commas between them are not."""
    assert ExportRequest().path == "$export?_outputFormat=application/fhir%2Bndjson"
    assert ExportRequest(group="ward 1").path.startswith("Group/ward%201/$export?")
    assert ExportRequest(patients_only=True).path.startswith("Patient/$export?")
    filtered = ExportRequest(type_filters=("Observation?category=laboratory", "Observation?code=a|b")).path
    assert filtered.endswith("_typeFilter=Observation%3Fcategory%3Dlaboratory,Observation%3Fcode%3Da%7Cb")
    assert BASE not in filtered
