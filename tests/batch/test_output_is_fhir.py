"""What the batch writes is judged from outside: valid R4, and every reference leads somewhere."""

import json
from pathlib import Path

import pytest

from tests.batch.exports import WARD, rows, run_batch
from tests.conformance import house_rules
from tests.conformance.judges import Judges


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo ward, reviewed."""
    folder = tmp_path_factory.mktemp("fhir") / "out"
    assert run_batch(WARD, folder).exception is None
    return folder


def test_every_line_is_valid(out: Path, judges: Judges) -> None:
    """No judge has anything against any line of any file of results."""
    assert (out / "Observation.ndjson").exists()
    for path in sorted(out.glob("[A-Z]*.ndjson")):
        lines = path.read_bytes()
        assert judges.accept_ndjson(lines) == lines.count(b"\n") > 0, path.name


def test_every_reference_leads_to_a_line(out: Path) -> None:
    """A reference 'urn:uuid:X' leads to the line whose id is X; any other to a line of the input."""
    results = [row for path in out.glob("[A-Z]*.ndjson") for row in rows(path)]
    written = {f"urn:uuid:{row['id']}" for row in results}
    assert len(written) == len(results), "no id is used twice"
    given = {f"{row['resourceType']}/{row.get('id')}" for path in WARD.iterdir() for row in rows(path)}
    checked = 0
    for result in results:
        for _, part in house_rules.walk(result):
            # A DetectedIssue itself has an element of this name: the address of a publication.
            reference = "" if "resourceType" in part else part.get("reference", "")
            if isinstance(reference, str) and reference:
                assert reference in (written if reference.startswith("urn:uuid:") else given)
                checked += 1
    assert checked > 100


def test_one_resource_type_a_file(out: Path) -> None:
    """Bulk Data Access 2.0.0: each file holds one type of resource, and its name says which."""
    assert (out / "Observation.ndjson").exists()
    for path in out.glob("[A-Z]*.ndjson"):
        assert {json.loads(line)["resourceType"] for line in path.read_bytes().splitlines()} == {path.stem}
