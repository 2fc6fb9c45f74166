"""Every engine and every single request: the same bytes, for the ward and for outside populations.

The outside populations are carebundle 0.5.0 (one visit each, clean) and clinosim 0.6.5
(in-patients with dirty corners), both from a seed; scores that clinosim computes itself
are taken out unread.
"""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.batch.compared import by_spark, check_against_single_requests, check_spark, check_workers
from tests.batch.exports import WARD, files_of, joined, lines_in, pulse, report_of, run_batch, write_lines
from tests.once import clinosim


@pytest.fixture(scope="module")
def visits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty visits by carebundle, as a bulk export."""
    folder = tmp_path_factory.mktemp("carebundle")
    program = Path(sys.executable).with_name("carebundle")
    asked = (
        "generate --profile mixed --count 60 --seed 42 --sex mixed --age-range 25-95 --format ndjson --out"
    )
    subprocess.run([program, *asked.split(), folder], check=True, capture_output=True)
    return _gathered(folder, tmp_path_factory.mktemp("visits") / "in")


@pytest.fixture(scope="module")
def export(tools: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Sixty people by clinosim, as a bulk export."""
    return _gathered(clinosim(tools, tmp_path_factory), tmp_path_factory.mktemp("export") / "in")


@pytest.fixture(scope="module")
def by_workers(export: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What one worker writes of them, and two as well."""
    return check_workers(export, tmp_path_factory.mktemp("inpatients"))


def _gathered(folder: Path, into: Path) -> Path:
    into.mkdir()
    for path in sorted(folder.rglob("*.ndjson")):
        lines = [line for line in path.read_bytes().splitlines() if b"nursing-scores" not in line]
        (into / path.name).write_bytes(b"".join(line + b"\n" for line in lines))
    return into


def test_outside_visits_by_local_engine_and_single_requests(visits: Path, tmp_path: Path) -> None:
    """Sixty clean visits, local engine only."""
    out = check_workers(visits, tmp_path)
    assert report_of(out)["patients"]["reviewed"] == 60
    check_against_single_requests(visits, out)


@pytest.mark.slow
def test_outside_inpatients_by_local_engine_and_single_requests(export: Path, by_workers: Path) -> None:
    """Sixty people with dirty corners, local engine only."""
    assert report_of(by_workers)["lines"]["in"] == len(lines_in(export))
    check_against_single_requests(export, by_workers)


@pytest.mark.spark
class TestSpark:
    """`groupBy(patient).applyInArrow` on local[*]."""

    def test_the_ward(self, tmp_path: Path) -> None:
        """Thirteen patients, thirteen places, one Medication that is referred to."""
        check_against_single_requests(WARD, check_spark(WARD, check_workers(WARD, tmp_path), tmp_path))

    def test_everything_that_can_be_wrong(self, tmp_path: Path) -> None:
        """Nobody's lines, broken lines, other encodings, identifiers, Bundles as lines, gzip."""
        number = {"system": "urn:made-up:number", "value": "12"}
        bundle = {
            "resourceType": "Bundle",
            "type": "collection",
            "entry": [{"resource": pulse("Patient/p9", 8)}],
        }
        resources = [
            {"resourceType": "Patient", "id": "p1", "identifier": [number]},
            *(pulse(f"Patient/p{n % 4}", n) for n in range(20)),
            pulse(None, 21),
            pulse(None, 22, subject={"identifier": number}),
            pulse("PatientGroup/g1", 23),
            {"resourceType": "Organization", "id": "o1"},
            {"resourceType": "Location", "id": "nowhere"},
            {"resourceType": "Medication", "id": ["not", "an", "id"]},
            bundle,
        ]
        given = write_lines(tmp_path / "in", resources)
        with (given / "rows.ndjson").open("ab") as more:
            more.write(b'\xef\xbb\xbf{"resourceType":"Basic","id":"b"}\r\n\n   \n')
            more.write(b'{"resourceType":"Observation","id":"\xff\xfe"}\n{"resourceType":"Obs\r\n')
        out = check_spark(given, check_workers(given, tmp_path), tmp_path)
        assert report_of(out)["lines"]["rejected"] == 5

    @pytest.mark.slow
    def test_outside_inpatients(self, export: Path, by_workers: Path, tmp_path: Path) -> None:
        """Sixty people by clinosim."""
        check_spark(export, by_workers, tmp_path)

    def test_since_an_earlier_run(self, tmp_path: Path) -> None:
        """What an earlier run remembers is one more row of the patient."""
        first = [pulse(f"Patient/p{n % 4}", n) for n in range(8)]
        assert run_batch(write_lines(tmp_path / "a", first), tmp_path / "earlier").exception is None
        given = write_lines(tmp_path / "b", [line for line in first if "p3" not in json.dumps(line)])
        write_lines(given, [pulse("Patient/p1", 30)], "more.ndjson")
        since = ("--since", str(tmp_path / "earlier"))
        assert run_batch(given, tmp_path / "local", *since).exception is None
        by_spark(given, tmp_path / "spark", *since)
        assert files_of(tmp_path / "spark") == files_of(tmp_path / "local")
        assert report_of(tmp_path / "spark")["since"]["patients_gone"] == 1

    def test_addresses(self, tmp_path: Path) -> None:
        """Input and output where Spark's file systems reach: here by a `file:` address, one file a type."""
        given = write_lines(tmp_path / "in", [pulse(f"Patient/p{n % 3}", n) for n in range(9)])
        (given / "notes.txt").write_text("not read")
        assert run_batch(given, tmp_path / "local").exception is None
        by_spark(f"file://{given}", f"file://{tmp_path}/there", "--one-file")
        found = {name: text for name, text in files_of(tmp_path / "there").items() if name[0] != "."}
        assert found == files_of(tmp_path / "local")
        again = run_batch(f"file://{given}", f"file://{tmp_path}/there", "--engine", "spark", "--resume")
        assert again.exception is None
        assert "Nothing left to do" in again.output
        nowhere = run_batch(f"file://{tmp_path}/nowhere", tmp_path / "x", "--engine", "spark").exception
        assert "no such file or folder" in str(nowhere)

    def test_parts_at_an_address(self, tmp_path: Path) -> None:
        """What the machines wrote stays as they wrote it: the parts, joined, are the files of one machine."""
        given = write_lines(tmp_path / "in", [pulse(f"Patient/p{n % 40}", n) for n in range(90)])
        assert run_batch(given, tmp_path / "local").exception is None
        there = tmp_path / "there"
        by_spark(f"file://{given}", f"file://{there}")
        assert joined(there) == {
            name: text for name, text in files_of(tmp_path / "local").items() if name != "run.json"
        }
        report = json.loads((there / "run.json").read_bytes())
        assert sum(name.startswith("Observation-") for name in report["files"]) > 1
        shown = {path.name for path in there.iterdir() if path.name[0] not in "._"}
        assert shown == {*report["files"], "run.json"}
        for name, written in report["files"].items():
            text = (there / name).read_bytes()
            assert len(text) == written["bytes"]
            if name.endswith(".ndjson"):
                patients = len(text.splitlines())
                assert patients == written["lines"]
