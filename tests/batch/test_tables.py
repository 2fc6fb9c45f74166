"""The tables beside the NDJSON: they add up to the report, other programs read them, bytes are the same.

Common practice, no source: a table is checked by another reader than the one that wrote it (pyarrow).
"""

import json
import re
from collections import Counter
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import duckdb
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from tests.batch.exports import (
    WARD,
    files_of,
    lines_in,
    pulse,
    report_of,
    rows,
    run_batch,
    split_anew,
    write_lines,
)
from weatherglass.batch import reviewing
from weatherglass.cli.errors import RunError, UsageError
from weatherglass.model.local_choices import LocalChoices
from weatherglass.stamp import stamp
from weatherglass.tables.schema import BY_NAME, TABLES

NAMES = sorted(BY_NAME)
ARROW = {
    "VARCHAR": pa.string(),
    "VARCHAR[]": pa.list_(pa.field("element", pa.string())),
    "TIMESTAMPTZ": pa.timestamp("us", tz="UTC"),
    "DATE": pa.date32(),
    "INTEGER": pa.int32(),
    "DOUBLE": pa.float64(),
    "BOOLEAN": pa.bool_(),
}


@pytest.fixture(scope="module")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo ward with its tables."""
    out = tmp_path_factory.mktemp("tables") / "out"
    assert run_batch(WARD, out, "--workers", "1", "--tables").exception is None
    return out


def table(out: Path, name: str) -> list[dict[str, Any]]:
    """The rows of a table, read by pyarrow."""
    read: list[dict[str, Any]] = pq.read_table(out / f"{name}.parquet").to_pylist()
    return read


@pytest.mark.parametrize("name", NAMES)
def test_both_readers_see_the_schema(name: str, ward: Path) -> None:
    """Names and types are those that are documented, and a column needs no quotes in SQL."""
    path = ward / f"{name}.parquet"
    schema = pq.read_schema(path)
    assert [(field.name, field.type) for field in schema] == [
        (column.name, ARROW[column.type]) for column in BY_NAME[name].columns
    ]
    for column in BY_NAME[name].columns:
        duckdb.execute(f"SELECT {column.name}, 1 AS one FROM '{path}'").fetchall()  # noqa: S608
    read = duckdb.execute(f"SELECT count(*) FROM '{path}'").fetchall()  # noqa: S608
    assert read == [(pq.read_metadata(path).num_rows,)]


@pytest.mark.parametrize("name", NAMES)
def test_a_file_says_what_its_columns_mean(name: str, ward: Path) -> None:
    """Units and meanings travel with the file."""
    told = json.loads(pq.read_schema(ward / f"{name}.parquet").metadata[b"weatherglass"])
    assert told["schema"] == "1"
    assert {key: value["unit"] for key, value in told["columns"].items()} == {
        column.name: column.unit for column in BY_NAME[name].columns
    }


def test_rows_add_up_to_the_report(ward: Path) -> None:
    """Patients, findings by kind and urgency, and what was left out: counted twice, the same."""
    report = report_of(ward)
    for one in TABLES:
        assert report["files"][f"{one.name}.parquet"]["lines"] == len(table(ward, one.name))
    patients, findings = table(ward, "patients"), table(ward, "findings")
    assert Counter(row["status"] for row in patients) == {"reviewed": report["patients"]["reviewed"]}
    assert Counter(row["urgency"] for row in patients) == report["patients_by_urgency"]
    counted = Counter((row["kind"], row["urgency"]) for row in findings)
    assert counted == Counter(
        {
            (kind, word): counts[word]
            for kind, counts in report["findings"].items()
            for word in ("emergency", "urgent", "prompt", "routine")
            if counts[word]
        }
    )
    assert Counter(row["patient"] for row in findings) == Counter(
        {row["patient"]: row["findings"] for row in patients if row["findings"]}
    )
    assert Counter(row["code"] for row in table(ward, "issues")) == report["inputs"]["left_out"]


def test_rows_of_other_tables_belong_to_a_finding(ward: Path) -> None:
    """A measure or a suggestion names a finding that is there; its inputs are lines of the export."""
    findings = {(row["patient"], row["finding"]): row for row in table(ward, "findings")}
    known = {f"{one['resourceType']}/{one['id']}" for one in map(json.loads, lines_in(WARD))}
    assert table(ward, "measures")
    assert table(ward, "medicines")
    for row in table(ward, "measures"):
        assert (row["patient"], row["finding"]) in findings
        assert (row["value"] is None) != (row["word"] is None)
        assert row["origin"] is None or row["origin"].partition("#")[0] in known
    for row in table(ward, "medicines"):
        assert findings[row["patient"], row["finding"]]["urgency"] == row["urgency"]
        assert row["order_line"] in known


def test_a_round_stands_once_and_the_newest_is_that_of_the_review(ward: Path) -> None:
    """NEWS2 of the septic patient rises to 14: RCP NEWS2 2017, Chart 1, worked by hand in the case."""
    every = table(ward, "scores")
    keys = [(row["patient"], row["score"], row["at_time"]) for row in every]
    assert len(keys) == len(set(keys))
    newest = [row for row in every if row["patient"] == "Patient/tidewell" and row["score"] == "news2"][-1]
    assert (newest["total"], newest["is_newest"]) == (14, True)
    assert newest["at_time"] == datetime(2026, 3, 12, 7, 10, tzinfo=UTC)


#: Scores whose total is the sum of their parameters: RCP 2017 (NEWS2), Subbe 2001 (MEWS), Vincent 1996
#: (SOFA), Seymour 2016 (qSOFA), Lim 2003 (CURB-65), Lo 2006 (4Ts), Parshuram 2009 (Bedside PEWS).
_SUMS = {"news2", "mews", "sofa", "qsofa", "curb-65", "four-ts", "bedside-pews"}


def test_sub_scores_add_up_to_their_round(ward: Path) -> None:
    """Where nothing is missing the points are the total; where something is, the lowest total is no less."""
    rounds = {(row["patient"], row["score"], row["at_time"]): row for row in table(ward, "scores")}
    points: dict[tuple[Any, ...], list[int | None]] = {}
    for row in table(ward, "sub_scores"):
        points.setdefault((row["patient"], row["score"], row["at_time"]), []).append(row["points"])
    assert {key[1] for key in points} >= {"news2", "mews", "sofa", "qsofa", "sirs", "bedside-pews"}
    for key, own in points.items():
        if key[1] in _SUMS and None not in own:
            assert sum(each or 0 for each in own) == rounds[key]["total"], key
    told = {key for key, row in rounds.items() if row["value"] is None}
    assert told == set(points), "every sum of points has its parameters, and no quotient has"


def test_the_parameters_of_the_septic_patients_newest_round(ward: Path) -> None:
    """RCP NEWS2 2017, Chart 1, as in the case's own table: 14 points."""
    found = [
        row
        for row in table(ward, "sub_scores")
        if (row["patient"], row["score"], row["is_newest"]) == ("Patient/tidewell", "news2", True)
    ]
    assert len(found) == 7
    assert sum(row["points"] for row in found) == 14
    assert all((row["lowest"], row["highest"]) == (row["points"],) * 2 for row in found)
    assert all(row["shown"] and row["missing"] is None for row in found)


def test_a_missing_parameter_is_named_and_has_no_points(ward: Path) -> None:
    """Never 0 for what was not measured; the newest round says why and what it could have been."""
    found = [row for row in table(ward, "sub_scores") if row["is_newest"] and row["points"] is None]
    assert found
    assert all(row["missing"] and row["highest"] > row["lowest"] for row in found)


def test_a_stage_stands_once_at_a_moment(ward: Path) -> None:
    """KDIGO 2012 stage 2 of the patient on nephrotoxic medicines, once, though several findings know it."""
    levels = table(ward, "levels")
    keys = [(row["patient"], row["ladder"], row["at_time"], row["on_date"]) for row in levels]
    assert len(keys) == len(set(keys))
    stages = [r for r in levels if r["patient"] == "Patient/saltmere" and r["ladder"] == "aki-kdigo"]
    assert (stages[-1]["level"], stages[-1]["name"]) == (2, "stage 2")


def test_no_name_and_no_birth_date_is_in_any_table(ward: Path) -> None:
    """Whoever gets the tables does not get who it was in words."""
    told = "".join(json.dumps(table(ward, name), default=str) for name in NAMES)
    for patient in rows(WARD / "Patient.ndjson"):
        for name in patient["name"]:
            assert not re.search(rf"(?<![/\w-]){name['family']}\b", told)
        assert patient["birthDate"] not in told
        for identifier in patient.get("identifier", []):
            assert identifier["value"] not in told


@pytest.mark.parametrize("seed", [1, 2])
def test_order_files_and_workers_change_no_byte(seed: int, ward: Path, tmp_path: Path) -> None:
    """The order of rows is fixed by the patients and their reviews."""
    given = split_anew(lines_in(WARD), tmp_path / "in", seed=seed, files=3)
    assert run_batch(given, tmp_path / "out", "--workers", "2", "--tables").exception is None
    assert files_of(tmp_path / "out") == files_of(ward)


def test_tables_change_nothing_else(ward: Path, tmp_path: Path) -> None:
    """Without the option there is no table, and every other file is the same but for the list of files."""
    assert run_batch(WARD, tmp_path / "out", "--workers", "1").exception is None
    plain, full = files_of(tmp_path / "out"), files_of(ward)
    assert set(full) - set(plain) == {f"{name}.parquet" for name in NAMES}
    assert all(plain[name] == full[name] for name in plain if name != "run.json")


def test_who_was_not_reviewed_is_in_the_table(tmp_path: Path) -> None:
    """A patient with nothing usable, one with nothing timed, and a line of nobody."""
    given = write_lines(
        tmp_path / "in",
        [
            pulse("Patient/well"),
            {"resourceType": "Patient", "id": "bare"},
            {"resourceType": "Observation", "id": "no-code", "subject": {"reference": "Patient/broken"}},
            pulse(None, 7),
        ],
    )
    assert run_batch(given, tmp_path / "out", "--tables").exception is None
    found = {row["patient"]: row for row in table(tmp_path / "out", "patients")}
    assert {key: row["status"] for key, row in found.items()} == {
        "Patient/well": "reviewed", "Patient/bare": "refused", "Patient/broken": "refused"
    }  # fmt: skip
    assert found["Patient/bare"]["why_not"]
    assert found["Patient/bare"]["urgency"] is None
    report = report_of(tmp_path / "out")
    assert len(found) == report["patients"]["in"]
    nobodys = [row for row in table(tmp_path / "out", "issues") if row["patient"] is None]
    assert [row["place"].partition(".")[0] for row in nobodys] == ["Observation/pulse-7"]


def test_a_damaged_input_adds_up_too(tmp_path: Path) -> None:
    """Counted by hand: every line that was refused and every patient without a review has its row, once."""
    given = write_lines(
        tmp_path / "in",
        [
            pulse("Patient/well"),
            pulse("Patient/broken", valueQuantity={"value": "x"}),
            pulse("Patient/undated", effectiveDateTime="2026"),
            pulse("Patient/coded", code={"coding": [{"system": "http://loinc.org", "code": "0-0"}]}),
            {"resourceType": "Observation", "id": "nobodys", "status": "final"},
            {"resourceType": "Patient", "id": "bare"},
        ],
    )
    (given / "more.ndjson").write_text("{cut off\n[]\n", "utf-8")
    out = tmp_path / "out"
    assert run_batch(given, out, "--tables").exception is None
    report = report_of(out)
    for one in TABLES:
        assert report["files"][f"{one.name}.parquet"]["lines"] == len(table(out, one.name))
    told = Counter(row["code"] for row in table(out, "issues"))
    assert told == {
        "wrong-type": 1, "partial-time": 1, "code-not-used": 1, "missing-element": 1, "not-json": 1,
        "wrong-resource": 1, "empty": 2,
    }  # fmt: skip
    empty = report["patients"]["refused_with_nothing_to_review"]
    assert told == report["rejected_by_reason"] | report["inputs"]["left_out"] | {"empty": empty}
    status = Counter(row["status"] for row in table(out, "patients"))
    assert status == {"reviewed": report["patients"]["reviewed"], "refused": report["patients"]["refused"]}


def test_a_failed_review_is_refused_in_the_table(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault of ours in one review is a refused patient, never a missing row."""
    monkeypatch.setattr(reviewing, "review_reading", lambda *_, **__: 1 / 0)
    settings = reviewing.Settings(as_of=None, choices=LocalChoices(), stamp=stamp(), tables=True)
    output = reviewing.review_group("Patient/x", [json.dumps(pulse("Patient/x")).encode()], [], settings)
    (line,) = output.sections["table-patients"]
    assert json.loads(line)["status"] == "refused"


def test_a_date_alone_is_no_moment(tmp_path: Path) -> None:
    """A result with a date and no time of day stands under its date; noon was never recorded."""
    creatinine = pulse(
        "Patient/a",
        1,
        code={"coding": [{"system": "http://loinc.org", "code": "14682-9"}]},
        effectiveDateTime="2026-03-11",
        valueQuantity={"value": 190, "system": "http://unitsofmeasure.org", "code": "umol/L"},
    )
    person = {"resourceType": "Patient", "id": "a", "birthDate": "1950-01-01", "gender": "female"}
    given = write_lines(tmp_path / "in", [person, creatinine, pulse("Patient/a", 2)])
    assert run_batch(given, tmp_path / "out", "--tables").exception is None
    dated = [r for r in table(tmp_path / "out", "measures") if r["origin"] == "Observation/pulse-1"]
    assert dated
    assert {(row["at_time"], row["on_date"]) for row in dated} == {(None, date(2026, 3, 11))}


def test_unchanged_patients_are_named(ward: Path, tmp_path: Path) -> None:
    """On a second night without new lines each patient has one row, and there are no findings."""
    assert run_batch(WARD, tmp_path / "out", "--tables", "--since", str(ward)).exception is None
    assert {row["status"] for row in table(tmp_path / "out", "patients")} == {"unchanged"}
    assert table(tmp_path / "out", "findings") == []
    assert report_of(tmp_path / "out")["files"]["patients.parquet"]["lines"] == 13


def test_a_table_that_does_not_add_up_is_not_published(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Lost rows stop the run before anything is published."""
    monkeypatch.setattr("weatherglass.batch.output.finishing.write_parquet", _one_row_short)
    result = run_batch(write_lines(tmp_path / "in", [pulse("Patient/a")]), tmp_path / "out", "--tables")
    assert isinstance(result.exception, RunError)
    assert "findings.parquet has" in str(result.exception) or "patients.parquet has" in str(result.exception)
    assert not (tmp_path / "out" / "run.json").exists()


def _one_row_short(lines: Path, table: Any, out: Path) -> int:
    from weatherglass.tables.writing import write_parquet

    return write_parquet(lines, table, out) - 1


def test_an_unfinished_run_is_not_continued_with_other_tables(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Half of the patients without rows would be a table that lies."""
    given = write_lines(tmp_path / "in", [pulse("Patient/a")])
    monkeypatch.setattr("weatherglass.batch.engine.local.finish", lambda *_, **__: _stop())
    assert isinstance(run_batch(given, tmp_path / "out").exception, RunError)
    monkeypatch.undo()
    result = run_batch(given, tmp_path / "out", "--tables", "--resume")
    assert isinstance(result.exception, UsageError)
    assert "tables changed since" in str(result.exception)


def _stop() -> None:
    raise OSError(28, "No space left on device")
