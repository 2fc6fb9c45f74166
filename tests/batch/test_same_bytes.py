"""The same lines give the same bytes: whatever the workers, the files, the order or the packing."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
import pytest
from starlette.testclient import TestClient

from tests.batch.exports import WARD, files_of, lines_in, report_of, rows, run_batch, split_anew
from weatherglass.api.app import create_app
from weatherglass.batch.sources.partition_keys import look, needs_of, patient_key


@pytest.fixture(scope="module")
def reference(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo ward, reviewed by one worker."""
    out = tmp_path_factory.mktemp("reference") / "out"
    assert run_batch(WARD, out, "--workers", "1").exception is None
    return out


def test_the_ward_is_accounted_for(reference: Path) -> None:
    """Every line of the thirteen patients is counted, every patient is reviewed."""
    report = report_of(reference)
    assert report["lines"]["in"] == len(lines_in(WARD))
    assert report["patients"] == {
        "in": 13, "reviewed": 13, "refused": 0, "refused_with_nothing_to_review": 0
    }  # fmt: skip


@pytest.mark.parametrize("workers", [2, 3])
def test_number_of_workers_changes_nothing(workers: int, reference: Path, tmp_path: Path) -> None:
    """More workers cut the input and the patients otherwise."""
    assert run_batch(WARD, tmp_path / "out", "--workers", str(workers)).exception is None
    assert files_of(tmp_path / "out") == files_of(reference)


@pytest.mark.parametrize(("seed", "files", "packed"), [(1, 1, False), (2, 7, False), (3, 5, True)])
def test_order_files_and_packing_change_nothing(
    seed: int, files: int, packed: bool, reference: Path, tmp_path: Path
) -> None:
    """Rows of one patient may lie anywhere, in any order, types mixed, gzip or not."""
    given = split_anew(lines_in(WARD), tmp_path / "in", seed=seed, files=files, packed=packed)
    assert run_batch(given, tmp_path / "out", "--workers", "2").exception is None
    assert files_of(tmp_path / "out") == files_of(reference)


#: Each line is looked at once for all patients.
_looked = cache(look)


def request_for(patient: str, lines: list[bytes]) -> list[bytes]:
    """A patient's own lines, then those that they refer to, as the batch would bring them together."""
    own: list[bytes] = []
    shelf: dict[str, bytes] = {}
    for line in lines:
        seen = _looked(line)
        pointer = seen.subject or seen.patient
        reference = pointer.reference if pointer is not None else None
        name = f"{seen.resourceType}/{seen.id}"
        if patient in (name, patient_key(reference or "")):
            own.append(line)
        elif seen.resourceType in ("Medication", "Location"):
            shelf[name] = line
    wanted = [name for line in own for name in needs_of(_looked(line))]
    found: dict[str, bytes] = {}
    while wanted:
        name = wanted.pop()
        if name in shelf and name not in found:
            found[name] = shelf[name]
            wanted += needs_of(_looked(shelf[name]))
    return [*sorted(own), *sorted(set(found.values()))]


class _Entry(msgspec.Struct):
    fullUrl: str
    resource: msgspec.Raw


class _Bundle(msgspec.Struct):
    entry: list[_Entry]


@cache
def _door() -> TestClient:
    return TestClient(create_app(), headers={"Content-Type": "application/fhir+json"})


def alone(request: list[bytes]) -> list[_Entry]:
    """The answer to one request: a Bundle of these lines, sent to the HTTP door."""
    entries = b",".join(b'{"resource":' + line + b"}" for line in request)
    body = b'{"resourceType":"Bundle","type":"collection","entry":[' + entries + b"]}"
    answer = _door().post("/fhir/$review-deterioration", content=body)
    assert answer.status_code == 200, answer.text
    return msgspec.json.decode(answer.content, type=_Bundle).entry


def as_line(entry: _Entry) -> tuple[str, bytes]:
    """An entry as a line: what the Bundle says by `fullUrl` a line says by `id`."""
    raw = bytes(entry.resource)
    kind = json.loads(raw)["resourceType"]
    head = f'{{"resourceType":"{kind}",'.encode()
    assert raw.startswith(head)
    identity = entry.fullUrl.removeprefix("urn:uuid:")
    return kind, head + f'"id":"{identity}",'.encode() + raw.removeprefix(head) + b"\n"


def check_against_single_requests(given: Path, out: Path) -> None:
    """Compare every file of results, byte for byte, with the patients' requests one by one."""
    lines = lines_in(given)
    expected: dict[str, list[bytes]] = {}
    outcomes = rows(out / "OperationOutcome.ndjson")
    for person, outcome in zip(rows(out / "patients.ndjson"), outcomes, strict=True):
        request = request_for(person["patient"], lines)
        for kind, line in map(as_line, alone(request)):
            if kind == "OperationOutcome":
                assert [_named(issue, request) for issue in json.loads(line)["issue"]] == outcome["issue"]
            else:
                expected.setdefault(kind, []).append(line)
    expected["Device"] = expected["Device"][:1]  # The software is the same for all and stands there once.
    for kind, written in expected.items():
        assert (out / f"{kind}.ndjson").read_bytes() == b"".join(written), kind
    assert {path.stem for path in out.glob("[A-Z]*.ndjson")} == {*expected, "OperationOutcome"}


def _named(issue: dict[str, Any], request: list[bytes]) -> dict[str, Any]:
    """The same issue with a place as the batch says it: by the resource, not by an entry's number."""
    paths = issue.get("expression")
    if not paths or not paths[0].startswith("Bundle.entry["):
        return issue
    return issue | {"expression": [_by_resource(path, request) for path in paths]}


def _by_resource(path: str, request: list[bytes]) -> str:
    number, _, rest = path.removeprefix("Bundle.entry[").partition("].resource")
    seen = look(request[int(number)])
    return f"{seen.resourceType}/{seen.id}{rest}"


def test_single_requests_give_the_same_bytes(reference: Path) -> None:
    """One patient's lines sent alone give what the batch wrote about that patient."""
    check_against_single_requests(WARD, reference)
