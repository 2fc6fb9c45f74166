"""`--since`: only patients with new lines are looked at again, and what is new is said."""

import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import WARD, files_of, pulse, report_of, rows, run_batch, write_lines
from weatherglass.cli.errors import UsageError


def _fast(patient: str, number: int, rate: int) -> dict[str, Any]:
    value = {"value": rate, "system": "http://unitsofmeasure.org", "code": "/min"}
    return pulse(patient, number, valueQuantity=value)


@pytest.fixture
def yesterday(tmp_path: Path) -> Path:
    """Three patients: p1 at rest, p2 with a fast pulse, p3 at rest."""
    lines = [_fast("Patient/p1", 1, 72), _fast("Patient/p2", 2, 140), _fast("Patient/p3", 3, 70)]
    assert run_batch(write_lines(tmp_path / "in-1", lines), tmp_path / "out-1").exception is None
    return tmp_path / "out-1"


@pytest.fixture
def today(yesterday: Path, tmp_path: Path) -> Path:
    """p1 gets a fast pulse, p2 settles, p3 stays, p4 is new."""
    lines = [_fast("Patient/p1", 1, 72), _fast("Patient/p2", 2, 140), _fast("Patient/p3", 3, 70)]
    lines += [_fast("Patient/p1", 11, 135), _fast("Patient/p2", 12, 80), _fast("Patient/p4", 14, 76)]
    given = write_lines(tmp_path / "in-2", lines)
    result = run_batch(given, tmp_path / "out-2", "--since", yesterday / "run.json", "--workers", "2")
    assert result.exception is None
    return tmp_path / "out-2"


def _row(out: Path, patient: str) -> Any:
    return next(entry["row"] for entry in rows(out / "patients.ndjson") if entry["patient"] == patient)


def test_only_new_lines_are_looked_at(today: Path) -> None:
    """p3 has none, so that p3 is not reviewed and no result about p3 is written again."""
    report = report_of(today)
    assert report["patients"]["reviewed"] == 3
    assert report["patients"]["unchanged"] == 1
    assert report["lines"] == {"in": 6, "used": 5, "not_needed": 0, "rejected": 0, "unchanged": 1}
    results = (today / "Observation.ndjson").read_text("utf-8")
    assert "Patient/p1" in results
    assert "Patient/p3" not in results


def test_what_is_new_and_what_is_gone(today: Path) -> None:
    """The ward list compares with the earlier run, in words."""
    change = _row(today, "Patient/p1")["change"]
    assert change["urgency"] == "not assessed"
    assert any("135" in words for words in change["new"])
    assert any("140" in words for words in _row(today, "Patient/p2")["change"]["gone"])
    assert _row(today, "Patient/p4")["change"] is None
    page = (today / "ward-list.html").read_text("utf-8")
    assert "No longer: " in page
    assert "1 without new lines since the earlier run" in page


def test_who_is_unchanged_stays_on_the_list(yesterday: Path, today: Path) -> None:
    """A patient without new lines keeps the row of the earlier run, marked."""
    before, now = _row(yesterday, "Patient/p3"), _row(today, "Patient/p3")
    assert now == before
    table = (today / "ward-list.csv").read_text("utf-8")
    line = next(line for line in table.splitlines() if "Patient/p3" in line)
    assert "No new lines since the earlier run." in line


def test_nothing_new_changes_nothing(today: Path, tmp_path: Path) -> None:
    """The same input again: nobody is reviewed, everybody stays on the list, and memory is the same."""
    assert run_batch(tmp_path / "in-2", tmp_path / "out-3", "--since", today).exception is None
    report = report_of(tmp_path / "out-3")
    assert report["patients"] == {
        "in": 4, "reviewed": 0, "refused": 0, "refused_with_nothing_to_review": 0, "unchanged": 4
    }  # fmt: skip
    assert (tmp_path / "out-3/patients.ndjson").read_bytes() == (today / "patients.ndjson").read_bytes()


def test_other_settings_review_everybody(yesterday: Path, tmp_path: Path) -> None:
    """The same lines under another moment are another question, so that nobody counts as unchanged."""
    result = run_batch(
        tmp_path / "in-1", tmp_path / "out-2", "--since", yesterday, "--as-of", "2026-03-12T09:00:00Z"
    )
    assert result.exception is None
    assert report_of(tmp_path / "out-2")["patients"]["reviewed"] == 3


def test_patients_who_are_gone_and_records_that_shrank(yesterday: Path, tmp_path: Path) -> None:
    """An export of what is new only is no record: fewer lines than before are said."""
    given = write_lines(tmp_path / "in-2", [_fast("Patient/p1", 11, 90), _fast("Patient/zz", 2, 90)])
    assert run_batch(given, tmp_path / "out-2", "--since", yesterday).exception is None
    assert report_of(tmp_path / "out-2")["since"]["patients_gone"] == 2
    more = write_lines(tmp_path / "in-3", [_fast("Patient/p1", n, 90) for n in range(3)])
    assert run_batch(more, tmp_path / "out-3", "--since", tmp_path / "out-2").exception is None
    assert run_batch(given, tmp_path / "out-4", "--since", tmp_path / "out-3").exception is None
    assert report_of(tmp_path / "out-4")["since"]["patients_with_fewer_lines"] == 1


@pytest.mark.parametrize("spoil", ["no report", "not a report", "no memory"])
def test_an_unusable_earlier_run_is_used_wrongly(spoil: str, yesterday: Path, tmp_path: Path) -> None:
    """Exit code 2, with what is missing."""
    if spoil == "no memory":
        (yesterday / "patients.ndjson").unlink()
    elif spoil == "not a report":
        (yesterday / "run.json").write_text("{}")
    else:
        (yesterday / "run.json").unlink()
    result = run_batch(tmp_path / "in-1", tmp_path / "out-2", "--since", yesterday / "run.json")
    assert isinstance(result.exception, UsageError)
    assert not (tmp_path / "out-2").exists()


def test_workers_and_files_change_nothing_here_either(tmp_path: Path) -> None:
    """The demo ward without its last lines, then whole, compared by one worker and by three."""
    shutil.copytree(WARD, tmp_path / "in")
    whole = (tmp_path / "in/Observation.ndjson").read_bytes()
    (tmp_path / "in/Observation.ndjson").write_bytes(b"".join(whole.splitlines(keepends=True)[:-400]))
    assert run_batch(tmp_path / "in", tmp_path / "before").exception is None
    outs = []
    for workers in ("1", "3"):
        out = tmp_path / f"after-{workers}"
        result = run_batch(WARD, out, "--since", tmp_path / "before/run.json", "--workers", workers)
        assert result.exception is None
        outs.append(files_of(out))
    assert outs[0] == outs[1]
    assert report_of(tmp_path / "after-1")["lines"]["rejected"] >= 0
