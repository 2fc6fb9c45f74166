"""Row 5: the night, end to end, from the command to the published files; full, brief, and on Spark.

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
from importlib.util import find_spec
from pathlib import Path

import orjson
import psutil

from tests.benchmarks.population import Population, write_population
from tests.benchmarks.table import Row, milliseconds, side_by_side

_PATIENTS = 1000
_TIMES = 10
_ROUNDS = 3
#: What does not grow with the patients is the start: the same command on one patient. Beside Java and the
#: session it is Spark's classes, its first plans and our modules in each worker.
_FEW = 1
_GIB = 1 << 30


def rows() -> list[Row]:
    """Measure the rows."""
    with tempfile.TemporaryDirectory(prefix="weatherglass-night-") as folder:
        small = write_population(Path(folder) / "small", patients=_PATIENTS)
        found = _against_parsing(small, Path(folder))
        large = write_population(Path(folder) / "large", patients=_PATIENTS * _TIMES)
        found += _growth(small, large, Path(folder))
        return found + _beside_spark(small, Path(folder))


def _against_parsing(small: Population, folder: Path) -> list[Row]:
    lines = [line for path in small.folder.iterdir() for line in path.read_bytes().splitlines()]

    def parse() -> None:
        for line in lines:
            orjson.loads(line)

    parsing, one, brief, two = side_by_side(
        parse,
        lambda: _run(small.folder, folder / "out", 1),
        lambda: _run(small.folder, folder / "brief", 1, "--detail", "brief"),
        lambda: _run(small.folder, folder / "out", 2),
        rounds=_ROUNDS,
    )
    written, shorter = _size(folder / "out"), _size(folder / "brief")
    named = f"{small.lines:,} lines, {small.patients:,} patients"
    return [
        Row(
            subject=f"one worker, end to end, {named}",
            ours=f"{one:.2f} s",
            yardstick=f"orjson.loads {parsing:.2f} s",
            ratio=one / parsing,
            goal="at most 15 times",
            met=one / parsing <= 15,
        ),
        Row(
            subject="the same, brief",
            ours=f"{brief:.2f} s",
            yardstick=f"orjson.loads {parsing:.2f} s",
            ratio=brief / parsing,
            goal="",
            met=None,
        ),
        Row(
            subject="bytes written, full",
            ours=f"{written / 1e6:.0f} MB",
            yardstick=f"{small.bytes / 1e6:.0f} MB in",
            ratio=written / small.bytes,
            goal="",
            met=None,
        ),
        Row(
            subject="bytes written, brief",
            ours=f"{shorter / 1e6:.0f} MB",
            yardstick=f"full {written / 1e6:.0f} MB",
            ratio=shorter / written,
            goal="",
            met=None,
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


def _beside_spark(many: Population, folder: Path) -> list[Row]:
    """Measure what a patient takes on one core of either engine; none where Spark is not installed."""
    if find_spec("pyspark") is None or shutil.which("java") is None:
        return []
    few = write_population(folder / "few", patients=_FEW)
    spark = ("--engine", "spark", "--spark-master", "local[1]")
    times = [
        _seconds(given.folder, folder / "engine", *chosen) for chosen in ((), spark) for given in (few, many)
    ]
    local_few, local_many, spark_few, spark_many = times
    ours, theirs = local_many - local_few, spark_many - spark_few
    a_patient = many.patients - few.patients
    return [
        Row(
            subject="Spark, one core, its start: one patient",
            ours=f"{spark_few:.1f} s",
            yardstick=f"local engine {local_few:.1f} s",
            ratio=spark_few / local_few,
            goal="",
            met=None,
        ),
        Row(
            subject="Spark, one core, a patient, the start (a run of one patient) apart",
            ours=milliseconds(theirs / a_patient),
            yardstick=f"local engine {milliseconds(ours / a_patient)}",
            ratio=theirs / ours,
            goal="at most 1.3 times",
            met=theirs / ours <= 1.3,
        ),
    ]


def _seconds(given: Path, out: Path, *options: str) -> float:
    began = time.perf_counter()
    _run(given, out, 1, *options)
    return time.perf_counter() - began


def _size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def _started(given: Path, out: Path, workers: int, *options: str) -> "subprocess.Popen[bytes]":
    shutil.rmtree(out, ignore_errors=True)
    command = ("batch", str(given), str(out), "--workers", str(workers), *options)
    return subprocess.Popen(
        [sys.executable, "-m", "weatherglass", *command],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )


def _run(given: Path, out: Path, workers: int, *options: str) -> None:
    running = _started(given, out, workers, *options)
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
