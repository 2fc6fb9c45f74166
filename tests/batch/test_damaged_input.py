"""Damaged files and spoilt lines: each is named, and everything else is used."""

import base64
import gzip
import json
import random
import zlib
from collections import Counter
from pathlib import Path

import pytest

from tests.batch.disturbed import PATIENTS
from tests.batch.exports import lines_in, report_of, rows, run_batch
from weatherglass.cli.errors import RunError


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
    assert report["patients"]["in"] == PATIENTS
    reasons = [reason for row in rows(out / "rejected.ndjson") for reason in row["reasons"]]
    assert all(reason["text"] for reason in reasons)
    assert len(json.dumps(reasons)) > 0
