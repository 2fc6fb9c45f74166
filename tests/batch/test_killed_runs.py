"""Runs and workers that are killed: nothing is lost, and nothing half-done is shown as an answer."""

import os
import random
import signal
import subprocess
import time
from pathlib import Path

import psutil
import pytest

from tests.batch.disturbed import resume, start, visible
from tests.batch.exports import files_of, pulse, report_of, rows, run_batch, write_lines
from weatherglass.batch import reviewing
from weatherglass.batch.output.work_folder import NAME, WorkFolder
from weatherglass.cli.errors import UsageError


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_killed_run_is_continued(
    seed: int, given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """Kill -9 of the whole run at a random moment: nothing is shown, and the rest is done later."""
    expected, took = undisturbed
    out = tmp_path / "out"
    running = start(given, out, start_new_session=True)
    time.sleep(0.25 + random.Random(seed).random() * (took - 0.3))
    os.killpg(running.pid, signal.SIGKILL)
    running.communicate()
    if visible(out):  # It was quicker than the kill.
        assert "run.json" not in visible(out) or files_of(out) == expected
    kept = {path: path.stat().st_mtime_ns for path in (out / NAME).glob("parts/*.part")}
    assert isinstance(run_batch(given, out).exception, UsageError) or not (out / NAME / "job.json").exists()
    running = start(given, out, "--resume")
    while kept and running.poll() is None:
        for path, written in kept.items():
            assert not path.exists() or path.stat().st_mtime_ns == written, "finished work is not done again"
        time.sleep(0.02)
    _, faults = running.communicate()
    assert running.returncode == 0, faults
    assert files_of(out) == expected


@pytest.mark.slow
def test_workers_end_with_their_parent(given: Path, tmp_path: Path) -> None:
    """A run whose parent alone is killed leaves no worker behind."""
    running = start(given, tmp_path / "out")
    workers = _workers_of(running)
    running.kill()
    running.communicate()
    _, alive = psutil.wait_procs(workers, timeout=20)
    assert alive == []


@pytest.mark.slow
def test_a_killed_worker_is_replaced(
    given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """One worker is killed in the middle of its work, as the kernel does when memory runs out."""
    running = start(given, tmp_path / "out")
    _workers_of(running)[0].kill()
    _, faults = running.communicate()
    assert running.returncode == 0, faults
    assert files_of(tmp_path / "out") == undisturbed[0]


def _workers_of(running: "subprocess.Popen[str]") -> list[psutil.Process]:
    """The workers, once they have something to do."""
    parent = psutil.Process(running.pid)
    while True:
        workers = parent.children()
        if len(workers) >= 2 and sum(worker.cpu_times().user for worker in workers) > 0.02:
            return workers
        assert running.poll() is None, "the run was over before it could be disturbed"
        time.sleep(0.01)


def test_a_patient_who_ends_workers_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault below Python in one patient's review costs that patient's review, not the night."""
    review = reviewing.review_group

    def deadly(key: str, *rest: object, **more: object) -> object:
        if key == "Patient/p3" and not more.get("ended"):
            os.kill(os.getpid(), signal.SIGKILL)
        return review(key, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr("weatherglass.batch.engine.shard.review_group", deadly)
    lines = [pulse(f"Patient/p{number % 6}", number) for number in range(30)]
    out = tmp_path / "out"
    assert run_batch(write_lines(tmp_path / "in", lines), out, "--workers", "2").exception is None
    report = report_of(out)
    assert report["patients"]["refused"] == 1
    assert report["lines"] == {"in": 30, "used": 25, "not_needed": 0, "rejected": 5}
    assert {row["reasons"][-1]["issue"] for row in rows(out / "rejected.ndjson")} == {"ended"}
    assert "was ended by the system twice" in (out / "ward-list.html").read_text("utf-8")


@pytest.mark.slow
def test_a_polite_end_keeps_the_work(
    given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """SIGTERM: exit code 1, the last line says what to do, no worker stays, and the rest is done later."""
    out = tmp_path / "out"
    running = start(given, out)
    workers = _workers_of(running)
    running.terminate()
    _, faults = running.communicate()
    assert running.returncode == 1
    assert faults.splitlines()[-1] == (
        "weatherglass: ended by SIGTERM; nothing was published, finished work is kept: "
        "add --resume to continue"
    )
    assert psutil.wait_procs(workers, timeout=5)[1] == []
    assert visible(out) == []
    resume(given, out)
    assert files_of(out) == undisturbed[0]


def test_two_runs_keep_out_of_each_others_way(given: Path, tmp_path: Path) -> None:
    """A second run into the same folder is refused while the first one works."""
    with WorkFolder(tmp_path):
        assert "somebody else is working" in str(run_batch(given, tmp_path).exception)
