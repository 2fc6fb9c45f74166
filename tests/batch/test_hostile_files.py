"""Lines without an end, files of nothing, links in the way, and who may read what is written."""

import gzip
import json
import stat
import time
from pathlib import Path

import pytest

from tests.batch.exports import run_batch
from tests.records import measured
from weatherglass.batch import partitioning
from weatherglass.batch.engine.split import Split
from weatherglass.batch.output.work_folder import NAME, OutputError, WorkFolder
from weatherglass.batch.partitioning import Partitioner
from weatherglass.batch.sources import lines
from weatherglass.batch.sources.lines import LineReader

_WARD = Path(__file__).parents[2] / "fixtures" / "ndjson"


def _read(path: Path, *, packed: bool = False) -> Partitioner:
    partitioner = Partitioner()
    for block in LineReader(Split(str(path), packed, False, 0, path.stat().st_size)).blocks():
        partitioner.take_block(block)
    return partitioner


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> int:
    """Lines of at most two mebibytes."""
    longest = 2 << 20
    monkeypatch.setattr(lines, "LONGEST_LINE", longest)
    monkeypatch.setattr(partitioning, "LONGEST_LINE", longest)
    return longest


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("more", [0, 1, 5 << 20])
def test_a_line_that_is_too_long_is_named_and_the_others_are_taken(
    tmp_path: Path, short: int, more: int, *, packed: bool
) -> None:
    pulse = json.dumps(measured("o", "pulse", "80", "/min"), default=float).encode()
    long = pulse[:-1] + b', "x": "'
    long += b"y" * (short + more - len(long) - 2) + b'"}'
    assert len(long) == short + more
    text = b"\n".join((pulse, long, pulse))
    path = tmp_path / "o.ndjson"
    path.write_bytes(gzip.compress(text) if packed else text)
    partitioner = _read(path, packed=packed)
    assert partitioner.kinds["Observation"] == (2 if more else 3)
    assert partitioner.kinds["not readable"] == bool(more)
    told = [line for held in partitioner.lines.values() for line in held if b"not read" in line]
    assert len(told) == bool(more)
    assert all(len(line) < 1000 and pulse[:40] in line for line in told)


def test_a_long_line_costs_time_in_proportion_to_its_length(tmp_path: Path) -> None:
    def seconds(size: int) -> float:
        path = tmp_path / f"{size}"
        path.write_bytes(b"x" * size)
        began = time.process_time()
        _read(path)
        return time.process_time() - began

    small, large = min(seconds(10 << 20) for _ in range(3)), min(seconds(40 << 20) for _ in range(3))
    assert large <= 6 * max(small, 0.04)


def test_blank_lines_are_passed_over(tmp_path: Path) -> None:
    """20 MB of nothing took 20 s when each blank line was looked at."""
    path = tmp_path / "o.ndjson.gz"
    path.write_bytes(gzip.compress(b"\n \r\n\t\n" * 4_000_000))
    began = time.process_time()
    partitioner = _read(path, packed=True)
    assert not partitioner.lines
    assert time.process_time() - began < 8


@pytest.mark.parametrize("target", ["elsewhere", "nowhere"])
def test_a_work_folder_that_leads_elsewhere_is_refused(tmp_path: Path, target: str) -> None:
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere"
    out.mkdir()
    elsewhere.mkdir(mode=0o755)
    (elsewhere / "runs").mkdir()
    (out / NAME).symlink_to(tmp_path / target)
    done = run_batch(_WARD, out, "--workers", "1")
    assert "leads elsewhere" in str(done.exception)
    with pytest.raises(OutputError, match="leads elsewhere"), WorkFolder(out):
        pass
    assert stat.S_IMODE(elsewhere.stat().st_mode) == 0o755
    assert [path.name for path in elsewhere.iterdir()] == ["runs"]


def test_what_is_written_is_for_nobody_else(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    assert run_batch(_WARD, out, "--workers", "2").exit_code == 0
    assert stat.S_IMODE(out.stat().st_mode) == 0o700
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in out.iterdir()}
    assert set(modes.values()) == {0o600}, modes
