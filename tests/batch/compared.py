"""The same input by one worker, by two, by Spark and alone: the same bytes."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
from starlette.testclient import TestClient

from tests.batch.exports import files_of, lines_in, rows, run_batch, split_anew
from weatherglass.api.app import create_app
from weatherglass.batch.sources.partition_keys import look, needs_of, patient_key


def by_spark(given: str | Path, out: str | Path, *more: str | Path) -> None:
    result = run_batch(given, out, "--engine", "spark", *more)
    assert result.exception is None, result.exception


def check_workers(given: Path, tmp_path: Path) -> Path:
    """One worker and two."""
    one = tmp_path / "one"
    assert run_batch(given, one, "--workers", "1", "--tables").exception is None
    assert run_batch(given, tmp_path / "two", "--workers", "2", "--tables").exception is None
    assert files_of(tmp_path / "two") == files_of(one)
    return one


def check_spark(given: Path, one: Path, tmp_path: Path) -> Path:
    """Spark, from other files, and what one worker wrote."""
    by_spark(split_anew(lines_in(given), tmp_path / "anew", seed=5, files=3), tmp_path / "spark", "--tables")
    assert files_of(tmp_path / "spark") == files_of(one)
    return one


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
