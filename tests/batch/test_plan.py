"""The input is found and checked before anything is started."""

import gzip
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.batch.exports import BUNDLES, WARD, pulse, report_of, run_batch, write_lines
from weatherglass.batch.plan import InputKind, PlanError, plan
from weatherglass.cli.errors import UsageError

_LINE = json.dumps(pulse("Patient/p1")) + "\n"
_BUNDLE = json.dumps(
    {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": pulse("Patient/p1")}]}
)


def test_the_ward_is_an_export() -> None:
    """A folder of NDJSON is an export, one file a type or many."""
    found = plan(str(WARD))
    assert found.kind is InputKind.EXPORT
    assert len(found.sources) == len(list(WARD.iterdir()))


def test_the_bundles_are_bundles() -> None:
    """A folder of Bundles is told by what the files hold."""
    found = plan(str(BUNDLES))
    assert found.kind is InputKind.BUNDLES
    assert len(found.sources) == len(list(BUNDLES.iterdir()))


def test_content_decides_and_not_the_name(tmp_path: Path) -> None:
    """Gzip without the ending, NDJSON called .json, a byte order mark, and what else lies there."""
    (tmp_path / "a.ndjson").write_bytes(gzip.compress(_LINE.encode()))
    (tmp_path / "b.json").write_text(_LINE + _LINE)
    (tmp_path / "c.ndjson").write_bytes(b"\xef\xbb\xbf" + _LINE.encode())
    (tmp_path / "README.txt").write_text("about this export")
    (tmp_path / "empty.ndjson").write_text("")
    (tmp_path / ".hidden.ndjson").write_text(_LINE)
    found = plan(str(tmp_path))
    assert [(Path(s.path).name, s.packed) for s in found.sources] == [
        ("a.ndjson", True),
        ("b.json", False),
        ("c.ndjson", False),
    ]
    assert set(found.unread) == {"README.txt", "empty.ndjson"}


def _nothing(_: Path) -> None: ...


def _empty_files(folder: Path) -> None:
    (folder / "Observation.ndjson").write_text("")
    (folder / "Patient.ndjson.gz").write_bytes(gzip.compress(b""))


def _other_files(folder: Path) -> None:
    (folder / "results.csv").write_text("a,b\n1,2\n")
    (folder / "doc.xml").write_text("<Bundle/>")


def _mixed(folder: Path) -> None:
    (folder / "Observation.ndjson").write_text(_LINE)
    (folder / "patient.json").write_text(_BUNDLE)


def _only_folders(folder: Path) -> None:
    (folder / "2026-03-12").mkdir()


def _not_gzip(folder: Path) -> None:
    (folder / "Observation.ndjson").write_text(_LINE)
    (folder / "Patient.ndjson.gz").write_bytes(b"\x00\x01\x02 this was gzip once" * 9)


def _own_output(folder: Path) -> None:
    for name in ("run.json", "rejected.ndjson", "Observation.ndjson"):
        (folder / name).write_text(_LINE)


@pytest.mark.parametrize(
    ("fill", "said"),
    [
        (_nothing, "is empty"),
        (_empty_files, "1 empty (.ndjson), 1 empty (.ndjson.gz)"),
        (_other_files, "1 something else (.csv), 1 something else (.xml)"),
        (_mixed, "both NDJSON and Bundles"),
        (_only_folders, "1 folder(s), which are not searched"),
        (_not_gzip, "Patient.ndjson.gz: named as gzip but does not begin as gzip"),
        (_own_output, "the output of a batch"),
    ],
)
def test_unusable_input_is_used_wrongly(fill: Callable[[Path], None], said: str, tmp_path: Path) -> None:
    """Wrong, empty and mixed input is refused with what was found, and nothing is written."""
    given, out = tmp_path / "in", tmp_path / "out"
    given.mkdir()
    fill(given)
    result = run_batch(given, out)
    assert isinstance(result.exception, UsageError)
    assert said in str(result.exception)
    assert not out.exists()


def test_a_missing_folder_is_said(tmp_path: Path) -> None:
    """A slip in the path ends with exit code 2, through the real command, without an engine."""
    code = (
        "import sys; from weatherglass.cli.main import run; code = run(sys.argv[1:]); "
        "assert 'duckdb' not in sys.modules and 'jinja2' not in sys.modules; sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "batch", str(tmp_path / "nowhere"), str(tmp_path / "out")],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr == f"weatherglass: no such file or folder: {tmp_path / 'nowhere'}\n"


class TestManifest:
    """Bulk Data Access 2.0.0, the body of a finished export: output, error and deleted are lists of files."""

    @staticmethod
    def _written(folder: Path, **more: object) -> Path:
        folder.mkdir(exist_ok=True)
        body = {
            "transactionTime": "2026-03-12T07:00:00Z",
            "request": "https://ward.example/fhir/$export",
            "requiresAccessToken": False,
            "output": [
                {"type": "Observation", "url": "https://ward.example/files/Observation.1.ndjson", "count": 2}
            ],
            "error": [],
        }
        (folder / "manifest.json").write_text(json.dumps(body | more))
        return folder / "manifest.json"

    def test_files_lie_beside_it(self, tmp_path: Path) -> None:
        """A file is found by the last part of its address."""
        given = self._written(tmp_path / "in")
        write_lines(tmp_path / "in", [pulse("Patient/p1"), pulse("Patient/p1", 1)], "Observation.1.ndjson")
        assert run_batch(given, tmp_path / "out", "--workers", "1").exception is None
        report = report_of(tmp_path / "out")
        assert report["input"]["kind"] == "export manifest"
        assert report["lines"]["in"] == 2

    def test_files_that_were_not_downloaded_are_named(self, tmp_path: Path) -> None:
        """A manifest alone is no export."""
        with pytest.raises(PlanError, match=r"Observation\.1\.ndjson.*weatherglass pull"):
            plan(str(self._written(tmp_path)))

    def test_fewer_lines_than_promised_end_in_failure(self, tmp_path: Path) -> None:
        """A count that is not reached is said in the report, on the ward list and by the exit code."""
        given = self._written(tmp_path / "in")
        write_lines(tmp_path / "in", [pulse("Patient/p1")], "Observation.1.ndjson")
        result = run_batch(given, tmp_path / "out", "--workers", "1")
        assert "the input was not complete" in str(result.exception)
        assert report_of(tmp_path / "out")["input"]["short"] == {"Observation": [2, 1]}
        assert (
            "2 Observation resources were promised, 1 came" in (tmp_path / "out/ward-list.html").read_text()
        )

    def test_what_the_server_reports_is_passed_on(self, tmp_path: Path) -> None:
        """A manifest with an error file is a success for HTTP, and a warning for the ward."""
        given = self._written(tmp_path / "in", error=[{"type": "OperationOutcome", "url": "e.ndjson"}])
        write_lines(tmp_path / "in", [pulse("Patient/p1"), pulse("Patient/p1", 1)], "Observation.1.ndjson")
        assert run_batch(given, tmp_path / "out", "--workers", "1").exception is None
        assert "the export may be incomplete" in (tmp_path / "out/ward-list.html").read_text()

    def test_in_a_folder_it_belongs_to_the_files(self, tmp_path: Path) -> None:
        """`weatherglass batch FOLDER` holds a manifest in the folder to its promises."""
        self._written(tmp_path / "in")
        write_lines(tmp_path / "in", [pulse("Patient/p1")], "Observation.1.ndjson")
        assert plan(str(tmp_path / "in")).promised == {"Observation": 2}
