"""The partitions that the machines wrote: which are whole, and how they become files.

A partition is whole when each section that it counts is there in its full size. What is not
whole is taken away and written again, so that a run goes on from where it was ended.
"""

import re
import zlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import msgspec

from weatherglass.batch.engine.part import DamagedPartError
from weatherglass.batch.output.assembly import Gathered, Written, file_of, in_order_of_names, waits
from weatherglass.batch.output.totals import added
from weatherglass.batch.spark.rows import COUNTS, Counts
from weatherglass.batch.spark.storage import MOVING, File, Stored, There

#: The folder that the machines write to.
PARTS = "parts"
_PART = re.compile(rf"{PARTS}/section=([^/]+)/(part-[^./]+)\.[^/]*")
_COPIED = 1 << 20
_counts = msgspec.json.Decoder(Counts).decode
_moving = msgspec.json.Decoder(dict[str, File]).decode


class Partition(NamedTuple):
    """A partition that is there whole.

    Attributes:
        counts: What it came to.
        files: Where each of its sections lies.
    """

    counts: Counts
    files: Mapping[str, File]


def whole_partitions(area: There, out: There | None = None) -> dict[int, Partition]:
    """Return the partitions that are there whole, by number, and take away what is left of others.

    Args:
        area: The work folder.
        out: Where files get their names, when that is at an address.
    """
    groups: defaultdict[str, dict[str, File]] = defaultdict(dict)
    for file in (*area.files(PARTS), *_moved(area, out)):
        if match := _PART.fullmatch(file.path):
            groups[match[2]][match[1]] = file
    found: dict[int, Partition] = {}
    for _, files in sorted(groups.items()):
        counts = _counts_in(area, files.pop(COUNTS, None))
        if counts is not None and counts.bucket not in found and _is_whole(counts, files):
            found[counts.bucket] = Partition(counts, files)
            continue
        for file in files.values():
            area.delete(file.path)
    return dict(sorted(found.items()))


def _moved(area: There, out: There | None) -> Iterator[File]:
    """Yield the files that have their names already, as they were before."""
    text = area.read(MOVING) if out is not None else None
    if out is None or text is None:
        return
    there = {file.path: file.size for file in out.files()}
    yield from (file for name, file in _moving(text).items() if there.get(name) == file.size)


def _counts_in(area: There, file: File | None) -> Counts | None:
    text = area.read(file.path) if file is not None else None
    return _counts(text) if text else None


def _is_whole(counts: Counts, files: Mapping[str, File]) -> bool:
    return {name: file.size for name, file in files.items()} == {
        name: size for name, (_, size, _) in counts.sections.items()
    }


def joined_here(partitions: Sequence[Partition], area: Path, folder: Path) -> Gathered:
    """Join each section into one file on this machine, in order of patients.

    Args:
        partitions: In order.
        area: The work folder.
        folder: Where the files go.

    Raises:
        DamagedPartError: A section is not what was written.
    """
    names = sorted({name for each in partitions for name in each.files})
    for name in names:
        parts = ((each, area / each.files[name].path) for each in partitions if name in each.files)
        _join(name, parts, folder / file_of(name))
    return _gathered(partitions, {file_of(name): _sum(name, partitions) for name in names if not waits(name)})


def _join(name: str, parts: Iterable[tuple[Partition, Path]], into: Path) -> None:
    with into.open("wb") as out:
        for each, path in parts:
            checksum = 0
            with path.open("rb") as file:
                while text := file.read(_COPIED):
                    checksum = zlib.crc32(text, checksum)
                    out.write(text)
            if checksum != each.counts.sections[name][2]:
                raise DamagedPartError(f"{path.name}: section {name} is damaged")


def _sum(name: str, partitions: Iterable[Partition]) -> Written:
    held = [each.counts.sections[name] for each in partitions if name in each.files]
    return Written(lines=sum(lines for lines, _, _ in held), bytes=sum(size for _, size, _ in held))


def _gathered(partitions: Iterable[Partition], files: dict[str, Written]) -> Gathered:
    return Gathered(in_order_of_names(added(each.counts.totals for each in partitions)), files)


def left_there(
    partitions: Sequence[Partition], area: There, folder: Path, *, one_file: bool
) -> tuple[Gathered, Stored]:
    """Fetch what the ward list and the tables are made of; say what becomes of the rest, which stays.

    Args:
        partitions: In order.
        area: The work folder at the address.
        folder: Where files for this machine go.
        one_file: Whether each section becomes one file.
    """
    names = sorted({name for each in partitions for name in each.files})
    for name in filter(waits, names):
        _fetch(name, partitions, area, folder)
    stay = [name for name in names if not waits(name)]
    if one_file:
        joined = {
            file_of(name): [each.files[name].path for each in partitions if name in each.files]
            for name in stay
        }
        files = {file_of(name): _sum(name, partitions) for name in stay}
        return _gathered(partitions, files), Stored(joined=joined)
    files, moved = {}, {}
    for name in stay:
        for each in partitions:
            if name in each.files:
                called = f"{name}-{each.counts.bucket:05}.ndjson"
                files[called], moved[called] = _sum(name, [each]), each.files[name]
    return _gathered(partitions, files), Stored(moved=moved)


def _fetch(name: str, partitions: Iterable[Partition], area: There, folder: Path) -> None:
    passing = folder / "fetched.part"
    parts = [each for each in partitions if name in each.files]
    (folder / file_of(name)).write_bytes(b"")
    for each in parts:
        area.fetch(each.files[name].path, passing)
        with (folder / file_of(name)).open("ab") as out:
            out.write(passing.read_bytes())
        passing.unlink()
