"""What was said of a patient at every moment of the past: kept, so that other rules can be held beside it.

One line of JSON a patient, in order of their names, packed. It names patients and is
written only where a site asks for it.
"""

import gzip
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, TypeVar

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from weatherglass.batch.ward.ward_row import WardRow, ward_row
from weatherglass.evaluation.trace import Step
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.model.review import Review

_Read = TypeVar("_Read")
#: In the folder of an evaluation.
FILE = "said.ndjson.gz"
_BROKEN = (OSError, EOFError, zlib.error)


class SaidError(ValueError):
    """What an earlier evaluation kept cannot be used; the message says why."""


class Look(Struct, frozen=True, array_like=True):
    """One look at a patient.

    Attributes:
        rank: Urgency as a number.
        row: What was said; None where it was the same as at the look before.
    """

    at: datetime
    rank: int
    row: WardRow | None = None


class Said(Struct, array_like=True):
    """One patient, with all looks in order of time."""

    patient: str
    looks: list[Look]

    @property
    def steps(self) -> list[Step]:
        """The urgencies as a ladder."""
        return [Step(look.at, look.rank, look.rank) for look in self.looks]


class About(Struct, kw_only=True):
    """The first line: by which rules it was said, of how many lines."""

    software: str
    rules: dict[str, str]
    policy: str
    lines: int


@dataclass(frozen=True, slots=True)
class Kept:
    """What was said, as it lies on disk.

    Attributes:
        given: How it was named on the command line.
        path: The file.
        about: Its first line.
    """

    given: str
    path: Path
    about: About

    def patients(self) -> Iterator[Said]:
        """Yield each patient, in order of their names.

        Raises:
            SaidError: The file is damaged, of another version, or out of order.
        """
        before = ""
        for line in _lines(self.path):
            said = _decoded(line, _said, self.path)
            if said.patient <= before:
                raise SaidError(f"{self.path}: patients are not in order")
            before = said.patient
            yield said


_encode = msgspec.json.Encoder().encode
_said = msgspec.json.Decoder(Said)
_about = msgspec.json.Decoder(About)


@dataclass(slots=True)
class Looking:
    """Looks at one patient, put down one after another."""

    looks: list[Look] = field(default_factory=list)
    _last: WardRow | None = None

    def add(self, review: Review, at: datetime) -> None:
        """Put down a look; what was said is kept where it is not what was said before."""
        row = _kept(ward_row(review))
        self.looks.append(Look(at, row.rank, None if row == self._last else row))
        self._last = row


def _kept(row: WardRow) -> WardRow:
    """Return a row without what names a person, and without what only the clock changes."""
    return WardRow(
        patient=row.patient, ward=row.ward, bed=row.bed, rank=row.rank, urgency=row.urgency, score=row.score,
        why=row.why, call=row.call, chart=row.chart, ceiling=row.ceiling, is_limited=row.is_limited,
        resuscitation=row.resuscitation, is_assessed=row.is_assessed, is_stale=row.is_stale, marks=row.marks,
    )  # fmt: skip


def line_of(said: Said) -> bytes:
    """Write a patient as a line."""
    return _encode(said) + b"\n"


def write(path: Path, about: About, parts: Iterable[Path]) -> None:
    """Put the lines of several files behind each other; the same lines give the same bytes.

    Args:
        path: Where they go.
        about: The first line.
        parts: Files of lines, in order of the patients.

    Raises:
        OSError: The disk is full, or the file cannot be written.
    """
    with path.open("wb") as raw, gzip.GzipFile("", "wb", 4, raw, mtime=0) as out:
        out.write(_encode(about) + b"\n")
        for part in parts:
            with part.open("rb") as lines:
                _copy(lines, out)


def _copy(lines: IO[bytes], out: gzip.GzipFile) -> None:
    while chunk := lines.read(1 << 20):
        out.write(chunk)


def kept(given: str, path: Path) -> Kept:
    """Open what an evaluation kept.

    Raises:
        SaidError: There is none, or it cannot be read.
    """
    try:
        with gzip.open(path, "rb") as file:
            first = file.readline()
    except _BROKEN:
        raise SaidError(f"{given} holds no evaluation that was made with --remember") from None
    return Kept(given, path, _decoded(first, _about, path))


def with_rows(looks: Iterable[Look]) -> Iterator[Look]:
    """Yield looks of which each has its row."""
    row: WardRow | None = None
    for look in looks:
        row = look.row or row
        yield replace(look, row=row)


def _lines(path: Path) -> Iterator[bytes]:
    try:
        with gzip.open(path, "rb") as file:
            file.readline()
            yield from file
    except _BROKEN:
        raise SaidError(f"{path} is damaged") from None


def _decoded(line: bytes, decoder: "msgspec.json.Decoder[_Read]", path: Path) -> _Read:
    try:
        return decoder.decode(line)
    except UNREADABLE:
        raise SaidError(f"{path} is damaged, or of a version that this one cannot read") from None
