"""Rows of the ward list in the order of the list: by ward, the most urgent first.

Parts come in order of patients. A ward list of ordinary size is sorted in memory; a
region's is sorted by DuckDB, which spills to disk. Both compare bytes, so they agree.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import msgspec

from weatherglass.batch.ward.ward_row import WardRow

_row = msgspec.json.Decoder(WardRow).decode
_IN_MEMORY = 64 << 20


@dataclass(frozen=True, slots=True)
class OrderedRows:
    """The rows of a file in order, as often as they are asked for.

    Attributes:
        path: Rows, each behind what it is sorted by.
        in_memory: The largest file that is sorted in memory.
    """

    path: Path
    in_memory: int = _IN_MEMORY

    def __iter__(self) -> Iterator[WardRow]:
        """Sort and yield them."""
        return _ordered(self.path, self.in_memory)


def ordered_rows(path: Path, *, in_memory: int = _IN_MEMORY) -> OrderedRows:
    """Return the rows of a file in order."""
    return OrderedRows(path, in_memory)


def _ordered(path: Path, in_memory: int) -> Iterator[WardRow]:
    if not path.exists():
        return
    if path.stat().st_size <= in_memory:
        for line in sorted(path.read_bytes().splitlines()):
            yield _row(line.partition(b"\t")[2])
        return
    yield from _sorted_on_disk(path)


def _sorted_on_disk(path: Path) -> Iterator[WardRow]:
    import duckdb

    with duckdb.connect(":memory:") as database:
        database.execute("SET memory_limit = '256MB'")
        database.execute(f"SET temp_directory = '{str(path.parent / 'spill').replace(chr(39), chr(39) * 2)}'")
        rows = database.execute(
            """SELECT line FROM read_csv(?, columns = {'place': 'VARCHAR', 'line': 'VARCHAR'}, header = false,
            auto_detect = false, delim = '\t', quote = '', escape = '', max_line_size = 16777216)
            ORDER BY place""",
            [str(path)],
        )
        while some := rows.fetchmany(4096):
            for (line,) in some:
                yield _row(line)
