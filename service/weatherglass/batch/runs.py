"""Runs: sorted lines in a file, and an index of whose lie where.

A run is written once, in order of patients. Beside the runs of one list of pieces lie
four tables: the index, the shelf of shared lines, who needs what, and by what other
names patients are known. `Sorted` is written last; where it lies, all of it is there.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import msgspec

from weatherglass.batch.durable import write_whole
from weatherglass.batch.envelope import INCOMPLETE


class Broken(msgspec.Struct, frozen=True):
    """A file that could not be read to its end."""

    file: str
    why: str


class Sorted(msgspec.Struct, kw_only=True):
    """What came of one list of pieces.

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
        needs: What it refers to itself.
        counts: 1 when it counts as a line here, 0 when it is counted elsewhere.
    """

    line: bytes
    names: tuple[str, ...]
    needs: tuple[str, ...]
    counts: int


class RunWriter:
    """Writes the runs of one list of pieces, and their tables."""

    def __init__(self, name: str, folder: Path) -> None:
        """Write nothing yet.

        Args:
            name: What the runs are called after.
            folder: Where they go.
        """
        self._name = name
        self._folder = folder
        self._index: list[str] = []
        self._shelf: list[str] = []
        self._runs = 0

    def write(self, lines: Mapping[str, Sequence[bytes]], shared: Iterable[Shared]) -> None:
        """Write one run: the lines of each patient, then the shared ones."""
        run = f"{self._name}-{self._runs}"
        position = 0
        with (self._folder / f"{run}.run").open("wb") as out:
            for key in sorted(lines):
                own = lines[key]
                size = out.write(b"\n".join(own))
                count = len(own) - own.count(INCOMPLETE)
                self._index.append(f"{_quoted(key)},{run},{position},{size},{count}\n")
                position += size
            for each in shared:
                size = out.write(each.line)
                self._shelf.extend(_shelved(each, run, position, size))
                position += size
        self._runs += 1

    def finish(
        self, found: Sorted, needs: Iterable[tuple[str, str]], names: Iterable[tuple[str, str]]
    ) -> None:
        """Write the tables, then what came of it all."""
        texts = {
            "index": self._index,
            "shelf": self._shelf,
            "needs": [f"{_quoted(key)},{_quoted(name)}\n" for key, name in sorted(needs)],
            "names": [f"{_quoted(name)},{_quoted(key)}\n" for name, key in sorted(names)],
        }
        for table, rows in texts.items():
            (self._folder / f"{self._name}.{table}.csv").write_text("".join(rows), "utf-8")
        write_whole(self._folder / f"{self._name}.json", msgspec.json.encode(found))


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def _shelved(shared: Shared, run: str, position: int, size: int) -> Iterator[str]:
    """Yield a row for every name and every need of a shared line; the first of them counts."""
    counts = shared.counts
    for name in shared.names or ("",):
        for need in shared.needs or ("",):
            yield f"{_quoted(name)},{_quoted(need)},{run},{position},{size},{counts}\n"
            counts = 0
