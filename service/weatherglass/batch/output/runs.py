"""Runs: sorted lines in a file, and an index of whose lie where.

A run is written once, in order of patients. Beside the runs of one list of splits lie
five tables: the index, shared lines, who needs what, by what other names patients are known, and
which entries of a person were replaced. `Sorted` is written last; where it lies, all of it is there.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import NamedTuple, Self, TextIO

import msgspec

from weatherglass.batch.sources.framing import INCOMPLETE


class Broken(msgspec.Struct, frozen=True):
    """A file that could not be read to its end."""

    file: str
    why: str


class Sorted(msgspec.Struct, kw_only=True):
    """What came of one list of splits.

    Attributes:
        lines: Lines that were not blank; entries, for Bundles.
        not_needed: Those that are nobody's and that nothing refers to.
        kinds: Lines by resource type.
        asks: Whether somebody is known by an identifier only.
        broken: Files that could not be read to their end.
    """

    lines: int = 0
    not_needed: int = 0
    kinds: dict[str, int] = {}
    asks: bool = False
    broken: list[Broken] = []


class Shared(NamedTuple):
    """A line that is nobody's and that others may refer to.

    Attributes:
        line: As it travels.
        names: What it is referred to by.
        counts: 1 when it counts as a line here, 0 when it is counted elsewhere.
    """

    line: bytes
    names: tuple[str, ...]
    needs: tuple[str, ...]
    counts: int


class RunWriter:
    """Writes the runs of one list of splits, and their tables; use it as a context."""

    def __init__(self, name: str, folder: Path) -> None:
        """Write nothing yet.

        Args:
            name: What the runs are called after.
            folder: Where they go.
        """
        self._name = name
        self._folder = folder
        self._runs = 0
        self._open = ExitStack()
        self._tables: dict[str, TextIO] = {}

    def __enter__(self) -> Self:
        """Begin the tables anew, whatever an ended worker left of them."""
        self._tables = {
            table: self._open.enter_context(
                (self._folder / f"{self._name}.{table}.csv").open("w", encoding="utf-8", newline="")
            )
            for table in ("index", "shared_lines", "needs", "names", "replaced")
        }
        return self

    def __exit__(self, *_: object) -> None:
        """Close the tables."""
        self._open.close()

    def write(
        self,
        lines: Mapping[str, Sequence[bytes]],
        shared: Iterable[Shared],
        needs: Iterable[tuple[str, str]],
        names: Iterable[tuple[str, str]],
        replaced: Iterable[tuple[str, str]],
    ) -> None:
        """Write one run: the lines of each patient, then the shared ones; and its rows of the tables.

        Args:
            lines: Lines by the name of their owner.
            shared: Lines that may be referred to.
            needs: Who refers to what.
            names: By what identifier which patient is known.
            replaced: Which entry of a person was replaced by which.
        """
        run = f"{self._name}-{self._runs}"
        position = 0
        index: list[str] = []
        rows: list[str] = []
        with (self._folder / f"{run}.run").open("wb") as out:
            for key in sorted(lines):
                own = lines[key]
                size = out.write(b"\n".join(own))
                count = len(own) - own.count(INCOMPLETE)
                index.append(f"{_quoted(key)},{run},{position},{size},{count}\n")
                position += size
            for each in shared:
                size = out.write(each.line)
                rows.extend(_shared_rows(each, run, position, size))
                position += size
        self._tables["index"].writelines(index)
        self._tables["shared_lines"].writelines(rows)
        self._tables["needs"].writelines(f"{_quoted(a)},{_quoted(b)}\n" for a, b in needs)
        self._tables["names"].writelines(f"{_quoted(a)},{_quoted(b)}\n" for a, b in names)
        self._tables["replaced"].writelines(f"{_quoted(a)},{_quoted(b)}\n" for a, b in replaced)
        self._runs += 1


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def _shared_rows(shared: Shared, run: str, position: int, size: int) -> Iterator[str]:
    """Yield a row for every name and every need of a shared line; the first of them counts."""
    counts = shared.counts
    for name in shared.names or ("",):
        for need in shared.needs or ("",):
            yield f"{_quoted(name)},{_quoted(need)},{run},{position},{size},{counts}\n"
            counts = 0
