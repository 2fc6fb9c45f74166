"""Markers through the commands: standard error, reports and file names stay clean.

Output that holds the patient's data on purpose is named: the results themselves, the
ward list, and `rejected.ndjson`, which keeps each line that could not be used so that
somebody can mend it.
"""

import io
import subprocess
import sys
from pathlib import Path

import pytest

from tests.privacy.planted import MARKER, good, leaks, record, spoilt, text
from weatherglass.cli.main import run


def _run(*arguments: str | Path, given: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "weatherglass", *arguments], input=given, capture_output=True, check=False
    )


@pytest.mark.parametrize("body", [pytest.param(body, id=name) for name, body in spoilt()])
def test_a_review_that_fails_quotes_nothing(
    body: bytes,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(body)))
    code = run(["review", "-"])
    told = capfd.readouterr().err
    assert not leaks(told + caplog.text)
    assert code == 0 or told.startswith("weatherglass: ")


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bulk export in which good lines and spoilt ones stand side by side."""
    folder = tmp_path_factory.mktemp("export")
    lines = [text(entry["resource"]) for entry in record()["entry"]]
    lines += [text(entry["resource"]) for entry in record(status=MARKER, id=f"{MARKER}-2")["entry"]]
    lines += [body.replace(b"\n", b" ") for _, body in spoilt() if b"\x00" not in body]
    (folder / "export.ndjson").write_bytes(b"\n".join(lines) + b"\n")
    return folder


@pytest.fixture(scope="module")
def night(export: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The output folder of a batch, and its standard error."""
    out = tmp_path_factory.mktemp("night") / "out"
    done = _run("batch", export, out, "--workers", "1")
    return out, done.stderr.decode() + done.stdout.decode()


class TestBatch:
    def test_what_is_printed(self, night: tuple[Path, str]) -> None:
        assert not leaks(night[1])

    def test_the_report_of_the_run(self, night: tuple[Path, str]) -> None:
        assert not leaks((night[0] / "run.json").read_text("utf-8"))

    def test_file_names(self, night: tuple[Path, str]) -> None:
        assert not leaks(" ".join(path.name for path in night[0].rglob("*")))

    def test_rejected_lines_are_kept_on_purpose(self, night: tuple[Path, str]) -> None:
        """They are the site's own lines, unchanged, beside the reason; the reason quotes nothing."""
        rejected = (night[0] / "rejected.ndjson").read_text("utf-8")
        assert leaks(rejected)

    def test_a_folder_that_cannot_be_used(self, export: Path, tmp_path: Path) -> None:
        (tmp_path / "in").mkdir()
        (tmp_path / "in" / "a.json").write_bytes(b'{"resourceType": "Bundle"')
        (tmp_path / "in" / "b.ndjson").write_bytes(good())
        done = _run("batch", tmp_path / "in", tmp_path / "out")
        assert not leaks(done.stderr.decode())


def test_an_evaluation_names_nobody(export: Path, tmp_path: Path) -> None:
    done = _run("evaluate", export, tmp_path / "out", "--workers", "1", "--repeats", "10")
    assert not leaks(done.stderr.decode() + done.stdout.decode())
    for path in (tmp_path / "out").iterdir():
        assert not leaks(path.read_text("utf-8"))
    asked = ("--workers", "1", "--repeats", "0", "--against", "default", "--remember", "--tables")
    done = _run("evaluate", export, tmp_path / "beside", *asked)
    assert done.returncode == 0
    assert not leaks(done.stderr.decode() + done.stdout.decode())
    for name in ("evaluation.json", "evaluation.html"):  # The other files name patients on purpose.
        assert not leaks((tmp_path / "beside" / name).read_text("utf-8"))
    bad = tmp_path / "own.csv"
    bad.write_text(f"patient,at\n{MARKER},{MARKER}\n", "utf-8")
    done = _run("evaluate", export, tmp_path / "out", "--outcomes", bad)
    assert done.returncode == 2
    assert not leaks(done.stderr.decode())


def test_a_record_server_that_is_away(tmp_path: Path) -> None:
    """What cannot be fetched or delivered is told without what was asked for."""
    done = _run("pull", "http://127.0.0.1:9/fhir", tmp_path / "out", "--patient", MARKER)
    assert done.returncode in (1, 2)
    assert not leaks(done.stderr.decode().replace(f"--patient {MARKER}", ""))
