"""Row 5: the night, end to end, from the command to the published files.

The yardstick is `orjson.loads` over the same lines, already in memory. Everything else
is a whole run of the command in processes of its own: start-up, reading, bringing
together, reviewing, writing, publishing. Memory is what all processes of a run hold
together, shared pages counted once (PSS), at its highest.
"""

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import orjson
import psutil

from tests.benchmarks.population import Population, write_population
from tests.benchmarks.table import Row, side_by_side

_PATIENTS = 1000
_TIMES = 10
_ROUNDS = 3
_GIB = 1 << 30


def rows() -> list[Row]:
    """Measure the rows."""
    with tempfile.TemporaryDirectory(prefix="weatherglass-night-") as folder:
        small = write_population(Path(folder) / "small", patients=_PATIENTS)
        found = _against_parsing(small, Path(folder))
        large = write_population(Path(folder) / "large", patients=_PATIENTS * _TIMES)
        return found + _growth(small, large, Path(folder))


def _against_parsing(small: Population, folder: Path) -> list[Row]:
    lines = [line for path in small.folder.iterdir() for line in path.read_bytes().splitlines()]

    def parse() -> None:
        for line in lines:
            orjson.loads(line)

    parsing, one, two = side_by_side(
        parse,
        lambda: _run(small.folder, folder / "out", 1),
        lambda: _run(small.folder, folder / "out", 2),
        rounds=_ROUNDS,
    )
    named = f"{small.lines:,} lines, {small.patients:,} patients"
    return [
        Row(
            subject=f"one worker, end to end, {named}",
            ours=f"{one:.2f} s",
            yardstick=f"orjson.loads {parsing:.2f} s",
            ratio=one / parsing,
            goal="at most 3 times",
            met=one / parsing <= 3,
        ),
        Row(
            subject="two workers, rate",
            ours=f"{small.lines / two:,.0f} lines/s",
            yardstick=f"one worker {small.lines / one:,.0f} lines/s",
            ratio=one / two,
            goal="at least 1.7 times",
            met=one / two >= 1.7,
        ),
    ]


def _growth(small: Population, large: Population, folder: Path) -> list[Row]:
    seconds_small, memory_small = min(_watched(small.folder, folder / "out") for _ in range(_ROUNDS))
    seconds_large, memory_large = _watched(large.folder, folder / "out")
    grown = large.bytes / small.bytes
    return [
        Row(
            subject=f"time for {grown:.1f} times the input ({large.lines:,} lines)",
            ours=f"{seconds_large:.2f} s",
            yardstick=f"once the input {seconds_small:.2f} s",
            ratio=seconds_large / seconds_small,
            goal=f"at most {grown * 1.15:.1f} times",
            met=seconds_large / seconds_small <= grown * 1.15,
        ),
        Row(
            subject="highest memory of all processes, once the input",
            ours=f"{memory_small / (1 << 20):.0f} MiB",
            yardstick="",
            ratio=None,
            goal="at most 1 GiB",
            met=memory_small <= _GIB,
        ),
        Row(
            subject=f"highest memory of all processes, {grown:.1f} times the input",
            ours=f"{memory_large / (1 << 20):.0f} MiB",
            yardstick=f"once the input {memory_small / (1 << 20):.0f} MiB",
            ratio=memory_large / memory_small,
            goal="at most 1 GiB, 1.5 times",
            met=memory_large <= _GIB and memory_large <= 1.5 * memory_small,
        ),
    ]


def _started(given: Path, out: Path, workers: int) -> "subprocess.Popen[bytes]":
    shutil.rmtree(out, ignore_errors=True)
    return subprocess.Popen(
        [sys.executable, "-m", "weatherglass", "batch", str(given), str(out), "--workers", str(workers)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )


def _run(given: Path, out: Path, workers: int) -> None:
    running = _started(given, out, workers)
    _, said = running.communicate()
    if running.returncode != 0:
        raise RuntimeError(said.decode())


def _watched(given: Path, out: Path) -> tuple[float, int]:
    """Run with two workers; return seconds and the highest memory of all processes together."""
    began = time.perf_counter()
    running = _started(given, out, 2)
    parent = psutil.Process(running.pid)
    highest = 0
    while running.poll() is None:
        highest = max(highest, _held(parent))
        time.sleep(0.1)
    seconds = time.perf_counter() - began
    if running.returncode != 0:
        raise RuntimeError(f"the run ended with {running.returncode}")
    return seconds, highest


def _held(parent: psutil.Process) -> int:
    held = 0
    try:
        for process in (parent, *parent.children(recursive=True)):
            held += int(process.memory_full_info().pss)
    except psutil.NoSuchProcess:
        pass  # It ended between being listed and being looked at.
    return held
