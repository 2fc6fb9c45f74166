"""`batch --detail brief`: fewer bytes, the same ward list, and what is not used is still named."""

import json
from pathlib import Path

from tests.batch.exports import WARD, report_of, rows, run_batch


def test_brief_writes_less_and_ranks_the_same(tmp_path: Path) -> None:
    """Scores, stages and what was not used are the same resources; findings and tasks are left out."""
    brief, full = tmp_path / "brief", tmp_path / "full"
    assert run_batch(WARD, brief, "--workers", "1", "--detail", "brief").exit_code == 0
    assert run_batch(WARD, full, "--workers", "1").exit_code == 0
    for name in ("ward-list.csv", "rejected.ndjson"):
        assert (brief / name).read_bytes() == (full / name).read_bytes()
    issues = [[one["issue"] for one in rows(out / "OperationOutcome.ndjson")] for out in (brief, full)]
    assert issues[0] == issues[1]
    assert not (brief / "DetectedIssue.ndjson").exists()
    assert not (brief / "Task.ndjson").exists()
    ids = [
        {one["identifier"][0]["value"] for one in rows(out / "Observation.ndjson")} for out in (brief, full)
    ]
    assert ids[0] <= ids[1]
    one, other = report_of(brief), report_of(full)
    assert one["findings"] == other["findings"]
    assert one["settings"] != other["settings"], "a later night must not carry over what was written in brief"
    sizes = [sum(path.stat().st_size for path in out.glob("*.ndjson")) for out in (brief, full)]
    assert sizes[0] < sizes[1] / 2


def test_a_brief_review_says_that_it_is_a_part(tmp_path: Path) -> None:
    """So that whoever keeps results does not take what is not written for withdrawn."""
    out = tmp_path / "out"
    run_batch(WARD, out, "--workers", "1", "--detail", "brief")
    marked = [one for one in rows(out / "Observation.ndjson") if "part-of-a-review" in json.dumps(one)]
    assert len(marked) == len(rows(out / "patients.ndjson"))
