"""Whatever goes wrong, nothing is lost, and nothing half-done is shown as an answer."""

import base64
import gzip
import json
import os
import random
import resource
import signal
import subprocess
import sys
import time
import zlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from tests.batch.exports import files_of, lines_in, pulse, report_of, rows, run_batch, write_lines
from tests.benchmarks.population import write_population
from weatherglass.batch import reviewing
from weatherglass.batch.work_folder import NAME, WorkFolder
from weatherglass.cli.errors import RunError, UsageError

_PATIENTS = 90


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ninety made-up patients, over twenty thousand lines."""
    return write_population(tmp_path_factory.mktemp("population"), patients=_PATIENTS).folder


@pytest.fixture(scope="module")
def undisturbed(given: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, bytes], float]:
    """What comes out when nothing goes wrong, and how long it takes."""
    out = tmp_path_factory.mktemp("undisturbed") / "out"
    began = time.monotonic()
    done = _start(given, out).communicate()
    took = time.monotonic() - began
    report_of(out)
    assert done[1].splitlines()[-1].startswith('{"stage": "write"')
    return files_of(out), took


def _start(given: Path, out: Path, *more: str, **settings: object) -> "subprocess.Popen[str]":
    started: subprocess.Popen[str] = subprocess.Popen(
        [sys.executable, "-m", "weatherglass", "batch", str(given), str(out), "--workers", "2", *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        **settings,  # type: ignore[call-overload]
    )
    return started


def _resume(given: Path, out: Path) -> None:
    done = _start(given, out, "--resume")
    told, faults = done.communicate()
    assert done.returncode == 0, faults
    assert told.splitlines()[-1].startswith("Done: ")


def _visible(out: Path) -> list[str]:
    return (
        sorted(path.name for path in out.iterdir() if not path.name.startswith(".")) if out.exists() else []
    )


# Killed


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_killed_run_is_continued(
    seed: int, given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """Kill -9 of the whole run at a random moment: nothing is shown, and the rest is done later."""
    expected, took = undisturbed
    out = tmp_path / "out"
    running = _start(given, out, start_new_session=True)
    time.sleep(0.25 + random.Random(seed).random() * (took - 0.3))
    os.killpg(running.pid, signal.SIGKILL)
    running.communicate()
    if _visible(out):  # It was quicker than the kill.
        assert "run.json" not in _visible(out) or files_of(out) == expected
    kept = {path: path.stat().st_mtime_ns for path in (out / NAME).glob("parts/*.part")}
    assert isinstance(run_batch(given, out).exception, UsageError) or not (out / NAME / "job.json").exists()
    running = _start(given, out, "--resume")
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
    running = _start(given, tmp_path / "out")
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
    running = _start(given, tmp_path / "out")
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

    monkeypatch.setattr("weatherglass.batch.portion.review_group", deadly)
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
    running = _start(given, out)
    workers = _workers_of(running)
    running.terminate()
    _, faults = running.communicate()
    assert running.returncode == 1
    assert faults.splitlines()[-1] == (
        "weatherglass: ended by SIGTERM; nothing was published, finished work is kept: "
        "add --resume to continue"
    )
    assert psutil.wait_procs(workers, timeout=5)[1] == []
    assert _visible(out) == []
    _resume(given, out)
    assert files_of(out) == undisturbed[0]


def test_two_runs_keep_out_of_each_others_way(given: Path, tmp_path: Path) -> None:
    """A second run into the same folder is refused while the first one works."""
    with WorkFolder(tmp_path):
        assert "somebody else is working" in str(run_batch(given, tmp_path).exception)


# A full disk


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of eight megabytes."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(disk)], check=False, capture_output=True
    )
    if mounted.returncode != 0:
        pytest.skip("a small file system needs root; the limit on file sizes is tested beside")
    yield disk
    subprocess.run(["umount", "-l", str(disk)], check=True)


@pytest.mark.slow
def test_a_full_disk_ends_the_run_and_not_the_work(
    small_disk: Path, given: Path, undisturbed: tuple[dict[str, bytes], float]
) -> None:
    """No space left: exit code 1, nothing shown; with more space the run is continued to the same bytes."""
    out = small_disk / "out"
    running = _start(given, out)
    _, faults = running.communicate()
    assert running.returncode == 1
    assert faults.splitlines()[-1].startswith(f"weatherglass: the disk is full at {out}")
    assert _visible(out) == []
    subprocess.run(["mount", "-o", "remount,size=200m", str(small_disk)], check=True)
    _resume(given, out)
    assert files_of(out) == undisturbed[0]


@pytest.mark.slow
def test_a_limit_on_file_sizes_ends_the_run_and_not_the_work(
    given: Path, undisturbed: tuple[dict[str, bytes], float], tmp_path: Path
) -> None:
    """The same for a quota, which needs no root to test."""
    out = tmp_path / "out"
    running = _start(
        given,
        out,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000)),
    )
    _, faults = running.communicate()
    assert running.returncode == 1
    assert "nothing was published" in faults.splitlines()[-1]
    assert _visible(out) == []
    _resume(given, out)
    assert files_of(out) == undisturbed[0]


# A damaged input


def _packed(lines: list[bytes], folder: Path, files: int) -> list[Path]:
    folder.mkdir()
    paths = [folder / f"rows-{number}.ndjson.gz" for number in range(files)]
    for number, path in enumerate(paths):
        path.write_bytes(gzip.compress(b"\n".join(lines[number::files]) + b"\n", 1))
    return paths


@pytest.mark.parametrize("how", ["damaged", "breaks off"])
def test_a_damaged_gzip_is_named_everywhere(how: str, given: Path, tmp_path: Path) -> None:
    """What stands before the damage is used, the half line is rejected, and every reader is warned."""
    lines = lines_in(given)
    paths = _packed(lines, tmp_path / "in", 4)
    whole = paths[2].read_bytes()
    middle = len(whole) // 2
    spoilt = whole[:middle] + (bytes(64) + whole[middle + 64 :] if how == "damaged" else b"")
    paths[2].write_bytes(spoilt)
    out = tmp_path / "out"
    result = run_batch(tmp_path / "in", out, "--workers", "2")
    assert isinstance(result.exception, RunError)
    assert "the input was not complete" in str(result.exception)
    report = report_of(out)
    assert [broken["file"] for broken in report["input"]["unreadable"]] == ["rows-2.ndjson.gz"]
    assert "rows-2.ndjson.gz could not be read to its end" in (out / "ward-list.html").read_text("utf-8")
    # What can be read of the damaged file, found out without our reader.
    readable = zlib.decompressobj(wbits=31).decompress(whole[:middle])
    whole_lines = readable.count(b"\n")
    other_files = len(lines) - len(lines[2::4])
    assert report["lines"]["in"] >= other_files + whole_lines
    if how == "breaks off":
        assert report["lines"]["in"] == other_files + whole_lines + bool(readable.rpartition(b"\n")[2])
        assert report["lines"]["rejected"] == 1


def _spoil(line: bytes, draw: random.Random) -> bytes:
    """Make a line unreadable in one of the ways that transports and disks have."""
    middle = len(line) // 2
    ways = [
        line[: draw.randrange(1, len(line) - 1)],
        b"\x00\x00" + line,
        line[:middle] + b"\xff\xfe" + line[middle:],
        line[:middle] + line[:middle],
        b"ERROR 500 upstream timed out",
        line.replace(b'"resourceType"', b'"resourcetype"', 1),
        line + line,
    ]
    return draw.choice(ways)


def test_one_line_in_a_hundred_is_spoilt(given: Path, tmp_path: Path) -> None:
    """Each spoilt line is kept, byte for byte, with its reason; every other line is counted as before."""
    draw = random.Random(11)
    lines = lines_in(given)
    chosen = set(draw.sample(range(len(lines)), len(lines) // 100))
    spoilt = [_spoil(line, draw) if n in chosen else line for n, line in enumerate(lines)]
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "rows.ndjson").write_bytes(b"\n".join(spoilt))
    out = tmp_path / "out"
    assert run_batch(tmp_path / "in", out, "--workers", "2").exception is None
    report = report_of(out)
    assert report["lines"]["in"] == len(lines)
    kept = [
        base64.b64decode(row["line_bytes"]) if "line_bytes" in row else row["line"].encode()
        for row in rows(out / "rejected.ndjson")
    ]
    assert Counter(kept) == Counter(spoilt[n] for n in chosen)
    assert report["patients"]["in"] == _PATIENTS
    reasons = [reason for row in rows(out / "rejected.ndjson") for reason in row["reasons"]]
    assert all(reason["text"] for reason in reasons)
    assert len(json.dumps(reasons)) > 0
