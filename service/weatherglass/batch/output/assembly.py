"""From finished parts to whole files: every section of every part, in order of patients."""

from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import BinaryIO, NamedTuple

import msgspec

from weatherglass.batch.engine.part import contents_of, sections_of
from weatherglass.batch.output.table_rows import TABLE
from weatherglass.batch.output.totals import Totals, added
from weatherglass.batch.reviewing import WARD


class Written(msgspec.Struct):
    """One whole file."""

    lines: int = 0
    bytes: int = 0


class Gathered(NamedTuple):
    """What all parts come to: counts, and the files by name; ward list and tables are still to be made."""

    totals: Totals
    files: dict[str, Written]


def gather(parts: Sequence[Path], folder: Path) -> Gathered:
    """Join parts into whole files in a folder, and add up what they count.

    Raises:
        DamagedPartError: A part is not what was written.
    """
    return Gathered(totals_of(parts), assemble(parts, folder))


def assemble(parts: Sequence[Path], folder: Path) -> dict[str, Written]:
    """Join parts into one file a section; rows of the ward list and of the tables wait in files of their own.

    Args:
        parts: In order.
        folder: Where the files go.

    Raises:
        DamagedPartError: A part is not what was written.
    """
    written: dict[str, Written] = {}
    with ExitStack() as files:
        outs: dict[str, BinaryIO] = {}
        for part in parts:
            for section, text in sections_of(part):
                out = outs.get(section.name)
                if out is None:
                    path = folder / file_of(section.name)
                    out = outs[section.name] = files.enter_context(path.open("wb"))
                    written[section.name] = Written()
                out.write(text)
                written[section.name].lines += section.lines
                written[section.name].bytes += section.size
    return {file_of(name): each for name, each in sorted(written.items()) if not waits(name)}


def file_of(section: str) -> str:
    """Return the file that a section goes to."""
    if section == WARD:
        return "ward-rows.part"
    return f"{section}.part" if waits(section) else f"{section}.ndjson"


def waits(section: str) -> bool:
    """Tell whether a section is turned into another file before it is published."""
    return section == WARD or section.startswith(TABLE)


def totals_of(parts: Iterable[Path]) -> Totals:
    """Return the counts of all parts."""
    return in_order_of_names(added(contents_of(part).totals for part in parts))


def in_order_of_names(total: Totals) -> Totals:
    """Return counts with their names in order, so that nobody can tell who finished first."""
    for name in ("reasons", "urgencies", "kinds"):
        counts = getattr(total, name)
        setattr(total, name, {key: counts[key] for key in sorted(counts)})
    return total


def counted(kinds: Iterable[dict[str, int]]) -> dict[str, int]:
    """Return the sum of counts by type, in order of their names."""
    counts: Counter[str] = Counter()
    for each in kinds:
        counts.update(each)
    return dict(sorted(counts.items()))
