"""One person in two entries of a batch: joined where the record says so, and said where only a number does.

The standard: HL7 FHIR R4, Patient.link (`replaced-by`, `replaces`). The same record sent as one request
is read alike.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import files_of, pulse, report_of, rows, run_batch, write_lines

_NUMBER = {"system": "urn:made-up:number", "value": "77"}


def _person(name: str, *links: tuple[str, str], **more: Any) -> dict[str, Any]:
    said = [{"type": kind, "other": {"reference": f"Patient/{other}"}} for kind, other in links]
    return {"resourceType": "Patient", "id": name, **({"link": said} if said else {}), **more}


def _patients(out: Path) -> list[str]:
    report_of(out)
    return [row["patient"] for row in rows(out / "patients.ndjson")]


def _told(out: Path) -> str:
    return (out / "OperationOutcome.ndjson").read_text("utf-8")


@pytest.mark.parametrize(
    "people",
    [
        [_person("p1", ("replaced-by", "p9")), _person("p9")],
        [_person("p1"), _person("p9", ("replaces", "p1"))],
        [_person("p9", ("replaces", "p1"))],
        [_person("p1", ("replaced-by", "p5")), _person("p5", ("replaced-by", "p9")), _person("p9")],
    ],
    ids=["replaced by", "replaces", "the old entry is not there", "a chain"],
)
def test_lines_of_a_replaced_entry_are_read_as_those_of_the_one_that_stands(
    people: list[dict[str, Any]], tmp_path: Path
) -> None:
    lines = [*people, pulse("Patient/p1", 1), pulse("Patient/p9", 2), pulse("Patient/p2", 3)]
    given = write_lines(tmp_path / "in", lines)
    assert run_batch(given, tmp_path / "out").exception is None
    assert _patients(tmp_path / "out") == ["Patient/p2", "Patient/p9"]
    assert report_of(tmp_path / "out")["lines"]["rejected"] == 0


@pytest.mark.parametrize(
    "people",
    [
        [_person("p1", ("replaced-by", "p9"))],
        [_person("p1", ("replaced-by", "p9")), _person("p9", ("replaced-by", "p1"))],
        [_person("p1", ("seealso", "p9")), _person("p9")],
        [_person("p1") | {"link": "odd"}, _person("p9")],
    ],
    ids=["its Patient is not there", "a circle", "they only refer to each other", "no link"],
)
def test_others_are_two(people: list[dict[str, Any]], tmp_path: Path) -> None:
    given = write_lines(tmp_path / "in", [*people, pulse("Patient/p1", 1), pulse("Patient/p9", 2)])
    assert run_batch(given, tmp_path / "out").exception is None
    assert _patients(tmp_path / "out") == ["Patient/p1", "Patient/p9"]


def test_one_number_on_two_patients_is_said_of_both(tmp_path: Path) -> None:
    people = [
        _person("p1", identifier=[_NUMBER]),
        _person("p2", identifier=[_NUMBER]),
        _person("p3", identifier=[_NUMBER | {"system": "urn:made-up:other"}]),
        _person("p4", identifier=[{"value": "77"}]),
        _person("p5", identifier=[{"value": "77"}]),
    ]
    given = write_lines(tmp_path / "in", [*people, *(pulse(f"Patient/p{n}", n) for n in range(1, 6))])
    assert run_batch(given, tmp_path / "out").exception is None
    assert _told(tmp_path / "out").count('"diagnostics":"Another Patient of the run has the same number') == 2
    assert report_of(tmp_path / "out")["lines"]["rejected"] == 0


def test_one_number_on_entries_that_are_joined_is_no_doubt(tmp_path: Path) -> None:
    people = [_person("p1", ("replaced-by", "p2"), identifier=[_NUMBER]), _person("p2", identifier=[_NUMBER])]
    given = write_lines(tmp_path / "in", [*people, pulse("Patient/p1", 1), pulse("Patient/p2", 2)])
    assert run_batch(given, tmp_path / "out").exception is None
    assert "the same number" not in _told(tmp_path / "out")


@pytest.mark.spark
def test_spark_joins_them_too(tmp_path: Path) -> None:
    lines = [
        _person("p1", ("replaced-by", "p5")),
        _person("p5", ("replaced-by", "p9"), identifier=[_NUMBER]),
        _person("p9", identifier=[_NUMBER]),
        _person("q1", identifier=[_NUMBER]),
        _person("q2", ("replaced-by", "nobody")),
        *(pulse(f"Patient/{name}", n) for n, name in enumerate(("p1", "p5", "p9", "q1", "q2"))),
    ]
    given = write_lines(tmp_path / "in", lines)
    assert run_batch(given, tmp_path / "local").exception is None
    assert run_batch(given, tmp_path / "spark", "--engine", "spark").exception is None
    assert files_of(tmp_path / "spark") == files_of(tmp_path / "local")
    assert _patients(tmp_path / "local") == ["Patient/p9", "Patient/q1", "Patient/q2"]
