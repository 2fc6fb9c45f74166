"""The command: exit codes, what it says, and what it refuses to overwrite."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.batch.exports import WARD, files_of, pulse, report_of, run_batch, write_lines
from weatherglass.batch.progress import Progress
from weatherglass.cli.errors import UsageError
from weatherglass.ehr.writing_back.results import read_results
from weatherglass.policy import PolicyError


@pytest.fixture
def given(tmp_path: Path) -> Path:
    """Two patients."""
    return write_lines(tmp_path / "in", [pulse(f"Patient/p{n % 2}", n) for n in range(6)])


def test_a_run_says_what_happened(tmp_path: Path) -> None:
    """Not on a terminal: a line of JSON a stage, a summary, and a last line that says it is done."""
    done = subprocess.run(
        [sys.executable, "-m", "weatherglass", "batch", str(WARD), str(tmp_path / "out"), "--workers", "1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    stages = [json.loads(line) for line in done.stderr.splitlines()]
    assert [stage["stage"] for stage in stages] == ["sort", "group", "review", "write"]
    assert stages[2]["patients"] == 13
    lines = done.stdout.splitlines()
    assert lines[0] == "Patients 13: 13 reviewed, 0 refused"
    assert lines[-1] == f"Done: {tmp_path / 'out'} (ward list: {tmp_path / 'out'}/ward-list.html)"
    report = report_of(tmp_path / "out")
    assert any(line.startswith("Findings that ask for action") for line in lines)
    quiet = 0
    for kind, counts in report["findings"].items():
        asking = sum(counts[word] for word in ("emergency", "urgent", "prompt"))
        quiet += counts["routine"]
        assert counts["asking_for_action_per_100_patients"] == round(asking * 100 / 13, 1)
        shown = [line for line in lines if line.startswith(f"  {kind} ")]
        assert [line.split()[1] for line in shown] == ([f"{asking:,}"] if asking else [])
    assert f"  And {quiet:,} that ask for nothing; every kind is counted in run.json." in lines


def test_a_terminal_sees_patients_rate_and_time_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """One line, kept up to date."""

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    clock = iter([0.0, 0.0, 10.0, 20.0, 20.0, 20.0])
    monkeypatch.setattr("weatherglass.batch.progress.time.monotonic", lambda: next(clock))
    terminal = Terminal()
    progress = Progress(terminal)
    progress.begin("review", unit="patients", total=4000)
    progress.advance(1000)
    assert terminal.getvalue().rpartition("\r\x1b[K")[2] == (
        "review    1,000 of 4,000 patients, 100 a second, 30 s left"
    )


def test_resume_without_a_run_says_that_a_whole_one_begins(given: Path, tmp_path: Path) -> None:
    """A slip in the name of the folder must not look like a run that went on."""
    out = tmp_path / "new"
    said = run_batch(given, out, "--resume")
    assert said.exception is None
    assert f"There is no run to continue in {out}: a whole run begins." in said.output
    assert "There is no run" not in run_batch(given, tmp_path / "other").output


def test_finished_output_is_not_overwritten(given: Path, tmp_path: Path) -> None:
    """Exit code 2; `--replace` replaces, and takes away what the new run does not have."""
    out = tmp_path / "out"
    assert run_batch(given, out).exception is None
    before = files_of(out)
    assert isinstance(run_batch(given, out).exception, UsageError)
    assert files_of(out) == before
    assert "Nothing left to do" in run_batch(given, out, "--resume").output
    people = write_lines(tmp_path / "people", [{"resourceType": "Patient", "id": "p1"}])
    assert run_batch(people, out, "--replace").exception is None
    report_of(out)
    assert not (out / "Observation.ndjson").exists()


def test_other_files_are_left_alone(given: Path, tmp_path: Path) -> None:
    """A folder with anything else in it is not for output, `--replace` or not."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "thesis.txt").write_text("do not lose me")
    for more in ([], ["--replace"], ["--resume"]):
        assert isinstance(run_batch(given, tmp_path / "out", *more).exception, UsageError)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["thesis.txt"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--memory", "plenty"], "--memory wants a size"),
        (["--memory", "100MiB"], "at least 256MiB"),
        (["--as-of", "yesterday"], "--as-of wants a full dateTime"),
        (["--since", "/nowhere"], "--since /nowhere"),
    ],
)
def test_wrong_options_are_used_wrongly(options: list[str], said: str, given: Path, tmp_path: Path) -> None:
    """Exit code 2, said before anything is started."""
    result = run_batch(given, tmp_path / "out", *options)
    assert isinstance(result.exception, UsageError)
    assert said in str(result.exception)
    assert not (tmp_path / "out").exists()


def test_a_policy_that_is_not_there(given: Path, tmp_path: Path) -> None:
    """Whatever command reads it, `main` makes it code 2."""
    result = run_batch(given, tmp_path / "out", "--policy", "/nowhere.toml")
    assert isinstance(result.exception, PolicyError)
    assert not (tmp_path / "out").exists()


def test_resuming_something_else_is_refused(given: Path, tmp_path: Path) -> None:
    """What is continued has to be the same input under the same settings."""
    from weatherglass.batch.output.work_folder import Job, WorkFolder

    with WorkFolder(tmp_path / "out") as work:
        work.begin(Job(sameness={"input": []}, splits=[], shard_bytes=1))
    said = str(run_batch(given, tmp_path / "out").exception)
    assert "a run that was not finished; add --resume" in said
    said = str(run_batch(given, tmp_path / "out", "--resume").exception)
    assert "input and rules and settings and earlier run and tables changed since" in said
    assert run_batch(given, tmp_path / "out", "--replace").exception is None


def test_the_results_can_be_delivered(given: Path, tmp_path: Path) -> None:
    """What `weatherglass deliver` reads is what the batch writes."""
    assert run_batch(given, tmp_path / "out").exception is None
    folder = read_results(tmp_path / "out")
    assert len(folder) == 2
    assert folder.left_out == {"OperationOutcome": 2}
