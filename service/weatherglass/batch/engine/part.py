"""A part of the output: what a shard of patients comes to, in one file.

The sections lie one after the other; behind them stand a list of them with checksums,
and the counts. A part is written under a passing name and renamed when it is whole, so
a part that is there is finished work, and the checksums say whether it still is.
"""

import struct
import zlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import BinaryIO

import msgspec

from weatherglass.batch.faults import RunFailedError
from weatherglass.batch.output.atomic import write_atomically
from weatherglass.batch.output.totals import Totals
from weatherglass.fhir.decoding import UNREADABLE

_TAIL = struct.Struct("<Q8s")
_MARK = b"wg-part1"


class DamagedPartError(RunFailedError):
    """A finished part cannot be read back."""


class Section(msgspec.Struct, array_like=True):
    """Where one section lies: name, first byte, size, lines, checksum."""

    name: str
    start: int
    size: int
    lines: int
    checksum: int


class Contents(msgspec.Struct):
    """What stands behind the sections."""

    sections: list[Section]
    totals: Totals


_contents = msgspec.json.Decoder(Contents)


def write_part(path: Path, sections: Mapping[str, Iterable[bytes]], totals: Totals) -> Contents:
    """Write a part whole.

    Args:
        path: Where it goes.
        sections: Lines by section.
        totals: Counts of its patients.
    """
    found: list[Section] = []
    texts: list[bytes] = []
    position = 0
    for name in sorted(sections):
        lines = list(sections[name])
        text = b"".join(lines)
        found.append(Section(name, position, len(text), len(lines), zlib.crc32(text)))
        texts.append(text)
        position += len(text)
    contents = Contents(found, totals)
    behind = msgspec.json.encode(contents)
    write_atomically(path, b"".join([*texts, behind, _TAIL.pack(len(behind), _MARK)]))
    return contents


def contents_of(path: Path) -> Contents:
    """Read what a part holds, without its sections.

    Raises:
        DamagedPartError: It is not a whole part.
    """
    with path.open("rb") as file:
        return _read_contents(file, path)


def sections_of(path: Path) -> Iterator[tuple[Section, bytes]]:
    """Yield the sections of a part.

    Raises:
        DamagedPartError: It is not a whole part, or a section is not what was written.
    """
    with path.open("rb") as file:
        for section in _read_contents(file, path).sections:
            file.seek(section.start)
            text = file.read(section.size)
            if zlib.crc32(text) != section.checksum or len(text) != section.size:
                raise DamagedPartError(f"{path.name}: section {section.name} is damaged")
            yield section, text


def _read_contents(file: BinaryIO, path: Path) -> Contents:
    try:
        file.seek(-_TAIL.size, 2)
        size, mark = _TAIL.unpack(file.read(_TAIL.size))
        if mark != _MARK:
            raise DamagedPartError(f"{path.name} is not a whole part")
        file.seek(-_TAIL.size - size, 2)
        return _contents.decode(file.read(size))
    except (OSError, struct.error, *UNREADABLE):
        raise DamagedPartError(f"{path.name} is not a whole part") from None
