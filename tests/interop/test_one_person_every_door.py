"""One person in several entries, on several servers, under several numbers: every door gives one answer.

The standard: HL7 FHIR R4, Patient.link, references.html (a reference may be an identifier alone), and
bundle.html#references (a short reference is of the server of the entry around it). Records are invented.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import files_of, report_of, rows, run_batch
from tests.records import Json, full_set, measured, patient, text
from weatherglass.pipeline import Answer, review_body

NORTH, SOUTH = "https://north.example/fhir", "https://south.example/fhir"
NUMBER = {"system": "https://north.example/numbers", "value": "4471"}


def _of(resource: Json, **subject: Any) -> Json:
    return {**resource, "subject": subject}


def _replaced(identity: str, by: Json, **rest: Any) -> Json:
    return patient(id=identity, active=False, link=[{"type": "replaced-by", "other": by}], **rest)


def _turns(*subjects: Json) -> list[Json]:
    """One full set of observations, its members under different subjects in turn."""
    return [_of(one, **subjects[place % len(subjects)]) for place, one in enumerate(full_set())]


def _named(name: str) -> Json:
    return {"reference": f"Patient/{name}"}


BY_IDENTIFIER = [_replaced("old", {"identifier": NUMBER}), patient(identifier=[NUMBER])]
SHARED_NUMBER = [_replaced("old", _named("p"), identifier=[NUMBER]), patient(identifier=[NUMBER])]
TWICE = [
    _replaced("a", _named("b")),
    _replaced("b", _named("p")),
    patient(link=[{"type": "replaces", "other": _named("a")}]),
]
JOINED = {
    "by the number of the other": [*BY_IDENTIFIER, *_turns(_named("old"), _named("p"))],
    "by a number that both have": [
        _replaced("old", {"identifier": NUMBER}, identifier=[NUMBER]),
        patient(identifier=[NUMBER]),
        *_turns(_named("old"), _named("p")),
    ],
    "it replaces the other by number": [
        patient(id="old", identifier=[NUMBER]),
        patient(link=[{"type": "replaces", "other": {"identifier": NUMBER}}]),
        *_turns(_named("old"), _named("p")),
    ],
    "subjects by a number that both have": [*SHARED_NUMBER, *_turns({"identifier": NUMBER}, _named("p"))],
    "merged twice, and said twice": [*TWICE, *_turns(_named("a"), _named("b"), _named("p"))],
    "absolute and versioned addresses": [
        _replaced("old", {"reference": f"{NORTH}/Patient/p/_history/2"}),
        patient(),
        *_turns({"reference": f"{NORTH}/Patient/old"}, _named("p")),
    ],
}
CONTRADICTORY = [
    _replaced("a", _named("b")),
    patient(id="b"),
    patient(id="c", link=[{"type": "replaces", "other": _named("a")}]),
    *_turns(_named("a"), _named("b"), _named("c")),
]
UNKNOWN = [_replaced("old", {"identifier": {**NUMBER, "value": "1"}}), *_turns(_named("old"))]


def _requests(resources: list[Json]) -> Iterator[bytes]:
    yield text(
        {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": r} for r in resources]}
    )
    yield b"\n".join(map(text, resources))
    yield b"\n".join(map(text, reversed(resources)))


def _reviewed(answer: Answer) -> set[str]:
    return {str(review.subject.origin) for review in answer.reviews}


def _in_batch(resources: list[Json], folder: Path, *options: str) -> Path:
    given = folder / "in"
    given.mkdir(exist_ok=True)
    (given / "rows.ndjson").write_bytes(b"\n".join(map(text, resources)) + b"\n")
    out = folder / f"out{len(list(folder.iterdir()))}"
    assert run_batch(given, out, "--workers", "1", *options).exception is None
    report_of(out)
    return out


@pytest.mark.parametrize("resources", JOINED.values(), ids=JOINED)
def test_entries_of_one_person_are_read_as_one(resources: list[Json]) -> None:
    for body in _requests(resources):
        answer = review_body(body)
        assert _reviewed(answer) == {"Patient/p"}
        assert not answer.reviews[0].not_assessed, "the set is whole"
        assert all(issue.key.value == "several-patients" for issue in answer.issues)


def test_where_two_stand_in_one_place_nobody_is_joined_and_it_is_said() -> None:
    for body in _requests(CONTRADICTORY):
        answer = review_body(body)
        assert _reviewed(answer) == {"Patient/a", "Patient/b", "Patient/c"}
        (said,) = [issue for issue in answer.issues if issue.patient == "Patient/a"]
        assert "contradicts itself" in said.text


def test_one_that_is_replaced_by_an_unknown_number_is_said() -> None:
    for body in _requests(UNKNOWN):
        answer = review_body(body)
        assert answer.reviews[0].subject.replaced_by == "another Patient"


def _all_at_once() -> list[Json]:
    """Every case with ids and numbers of its own, as one export."""
    found: list[Json] = []
    for number, each in enumerate([*JOINED.values(), CONTRADICTORY, UNKNOWN]):
        written = text(each).replace(b"Patient/", f"Patient/{number}-".encode())
        written = written.replace(b'"4471"', f'"{number}-4471"'.encode())
        found += [{**one, "id": f"{number}-{one['id']}"} for one in json.loads(written)]
    return found


def test_the_batch_joins_and_names_the_same(tmp_path: Path) -> None:
    out = _in_batch(_all_at_once(), tmp_path)
    last = len(JOINED)
    people = [f"Patient/{number}-p" for number in range(last)]
    people += [f"Patient/{last}-{name}" for name in "abc"] + [f"Patient/{last + 1}-old"]
    assert [row["patient"] for row in rows(out / "patients.ndjson")] == people
    assert all(row["row"]["is_assessed"] for row in rows(out / "patients.ndjson")[:last])
    told = (out / "OperationOutcome.ndjson").read_text()
    assert told.count('"diagnostics":"Recorded as replaced by a Patient that was not') == 2


@pytest.mark.spark
def test_spark_joins_and_names_the_same(tmp_path: Path) -> None:
    local = files_of(_in_batch(_all_at_once(), tmp_path))
    assert files_of(_in_batch(_all_at_once(), tmp_path, "--engine", "spark")) == local


def _two_servers() -> list[tuple[str, Json]]:
    """One id on two servers: a well woman, and a man with a potassium that wants somebody now."""
    man = patient(born="1980-01-01", gender="male")
    signs = [(f"{NORTH}/Observation/{one['id']}", one) for one in full_set()]
    potassium = measured("k", "potassium", "7.2", "mmol/L")
    return [
        (f"{NORTH}/Patient/p", patient()),
        (f"{SOUTH}/Patient/p", man),
        *signs,
        (f"{SOUTH}/Observation/k", potassium),
    ]


def _bundle(entries: list[tuple[str, Json]]) -> bytes:
    held = [{"fullUrl": url, "resource": resource} for url, resource in entries]
    return text({"resourceType": "Bundle", "type": "collection", "entry": held})


def _in_bundles(entries: list[tuple[str, Json]], folder: Path, *, apart: bool) -> Path:
    """Write one Bundle, or one a server, as a site that gathers exports has them."""
    folder.mkdir()
    for server in (NORTH, SOUTH) if apart else ("",):
        name = server.removeprefix("https://").partition(".")[0] or "all"
        (folder / f"{name}.json").write_bytes(_bundle([one for one in entries if one[0].startswith(server)]))
    return folder


def _urgency_of(out: Path) -> dict[str, str]:
    return {row["row"]["patient"]: row["row"]["urgency"] for row in rows(out / "patients.ndjson")}


@pytest.mark.parametrize("apart", [False, True])
def test_one_id_on_two_servers_is_two_people_in_every_door(apart: bool, tmp_path: Path) -> None:
    answer = review_body(_bundle(_two_servers()))
    told = {str(one.subject.origin): one.standing for one in answer.reviews}
    assert set(told) == {f"{NORTH}/Patient/p", f"{SOUTH}/Patient/p"}
    given = _in_bundles(_two_servers(), tmp_path / "in", apart=apart)
    assert run_batch(given, tmp_path / "out", "--workers", "1", "--tables").exception is None
    report = json.loads((tmp_path / "out" / "run.json").read_text())
    assert _urgency_of(tmp_path / "out") == told
    assert (report["patients"]["in"], report["patients"]["reviewed"]) == (2, 2)
    assert (report["lines"]["used"], report["lines"]["rejected"]) == (10, 0)
    written = {row["subject"]["reference"] for row in rows(tmp_path / "out" / "Observation.ndjson")}
    assert written == set(told)


def test_the_second_night_knows_both(tmp_path: Path) -> None:
    given = _in_bundles(_two_servers(), tmp_path / "in", apart=True)
    assert run_batch(given, tmp_path / "one", "--workers", "1").exception is None
    since = ("--since", str(tmp_path / "one"))
    assert run_batch(given, tmp_path / "two", "--workers", "1", *since).exception is None
    report = json.loads((tmp_path / "two" / "run.json").read_text())
    assert report["patients"]["unchanged"] == 2


@pytest.mark.spark
def test_spark_knows_both_too(tmp_path: Path) -> None:
    given = _in_bundles(_two_servers(), tmp_path / "in", apart=True)
    assert run_batch(given, tmp_path / "local", "--workers", "1").exception is None
    assert run_batch(given, tmp_path / "spark", "--engine", "spark").exception is None
    assert files_of(tmp_path / "spark") == files_of(tmp_path / "local")


def _again(born: str, updated: str | None, name: str, **rest: Any) -> Json:
    meta = {"meta": {"lastUpdated": updated}} if updated else {}
    return patient(born=born, name=[{"family": name, "given": ["Ada"]}], **meta, **rest)


EARLY, LATE = "2026-02-01T08:00:00Z", "2026-02-02T08:00:00Z"


@pytest.mark.parametrize(
    ("one", "other", "doubtful"),
    [
        pytest.param(
            _again("1950-06-01", None, "Quill"), _again("1980-01-01", None, "Quill"), True, id="born"
        ),
        pytest.param(
            _again("1950-06-01", EARLY, "Quill"), _again("1980-01-01", LATE, "Rush"), True, id="named"
        ),
        pytest.param(
            _again("1950-06-01", EARLY, "Quill"), _again("1950-01-06", LATE, "QUILL"), False, id="corrected"
        ),
        pytest.param(_again("1950-06-01", None, "Quill"), _again("1950", None, "Rush"), False, id="married"),
        pytest.param(
            _again("1950-06-01", None, "Quill", identifier=[NUMBER]),
            _again("1950-06-01", None, "Quill", identifier=[{**NUMBER, "value": "9"}]),
            True,
            id="number",
        ),
        pytest.param(
            _again("1950-06-01", None, "Quill"),
            _again("1950-06-01", None, "Quill", gender="male"),
            True,
            id="sex",
        ),
    ],
)
def test_two_exports_that_number_people_alike_are_said_to_be_mixed(
    one: Json, other: Json, doubtful: bool
) -> None:
    """NDJSON names no server, so nothing tells the two apart; ours: a corrected person keeps a name."""
    resources = [one, other, *full_set()]
    for body in _requests(resources):
        answer = review_body(body)
        assert answer.reviews[0].subject.doubtful is doubtful
        assert any("Two patients may be mixed" in said for said in answer.reviews[0].ceiling) is doubtful
