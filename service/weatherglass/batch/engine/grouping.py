"""Bring each patient's lines together: an external sort of the index by DuckDB.

Runs hold the lines; only their index is sorted and joined here, so that whole lines are
moved once. DuckDB keeps to the memory it is given and spills to the work folder. The
joins say who needs which Medication or Location, following a bed to its ward and on,
and who is meant by an identifier.
"""

import errno
from collections.abc import Container, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from weatherglass.batch.engine.shard import Extent, PatientGroup, Shard
from weatherglass.batch.output.atomic import write_atomically
from weatherglass.batch.output.earlier import patient_of
from weatherglass.batch.sources.partition_keys import Holders, answered_pairs
from weatherglass.fhir.reading.people.merged import standing

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_COLUMNS = {
    "index": "key VARCHAR, run VARCHAR, start BIGINT, size BIGINT, lines BIGINT",
    "shared_lines": "name VARCHAR, need VARCHAR, run VARCHAR, start BIGINT, size BIGINT, counts BIGINT",
    "needs": "key VARCHAR, name VARCHAR",
    "names": "name VARCHAR, key VARCHAR",
    "replaced": "old VARCHAR, new VARCHAR",
}
_MOST_PATIENTS = 400
_LEAST_MEMORY = 32_000_000
_FETCHED = 8192


class Grouped(msgspec.Struct, kw_only=True):
    """What came of bringing lines together.

    Attributes:
        shards: How many shards.
        groups: How many patients, and lines of nobody.
        shared_used: Shared lines that somebody refers to.
        shared_not_needed: Shared lines that nobody refers to.
    """

    shards: int = 0
    groups: int = 0
    shared_used: int = 0
    shared_not_needed: int = 0


def group_runs(
    folder: Path,
    names: Sequence[str],
    *,
    shard_bytes: int,
    memory_bytes: int,
    asks: bool,
    earlier: Path | None = None,
) -> Grouped:
    """Write the shards that the runs of a folder come to.

    Args:
        folder: Where the runs and their indexes are; the shards go there too.
        names: Names of the sorted lists of splits.
        shard_bytes: About how many bytes of lines a shard should have.
        memory_bytes: The most memory that DuckDB may use; for a small index it gets less.
        asks: Whether somebody is known by an identifier only.
        earlier: What an earlier run remembers, when there is one.
    """
    import duckdb

    found = Grouped()
    with _faults_named(duckdb), duckdb.connect(":memory:") as database:
        size = sum((folder / f"{name}.{table}.csv").stat().st_size for name in names for table in _COLUMNS)
        allowed = min(memory_bytes, max(_LEAST_MEMORY, size))
        database.execute(f"SET memory_limit = '{allowed // 1_000_000}MB'")
        # One thread: the index is small beside the lines, and each thread asks for memory of its own.
        database.execute("SET threads = 1")
        database.execute(f"SET temp_directory = '{_escaped(folder / 'spill')}'")
        database.execute("SET preserve_insertion_order = false")
        for table, columns in _COLUMNS.items():
            _make_table(database, table, columns, [folder / f"{name}.{table}.csv" for name in names])
        _join_replaced(database)
        _answer_identifiers(database, asks=asks)
        _spread_needs(database)
        found.shared_used, found.shared_not_needed = _count_shared(database)
        doubles = _with_a_double(database)
        rows = database.execute(_IN_ORDER)
        _write_shards(folder, _groups(_fetched(rows), doubles), shard_bytes, found, earlier)
    write_atomically(folder / "grouped.json", msgspec.json.encode(found))
    return found


@contextmanager
def _faults_named(duckdb: Any) -> Iterator[None]:
    """Turn what DuckDB says about disk and memory into what everybody else says."""
    try:
        yield
    except duckdb.IOException as error:
        if "No space left" in str(error):
            raise OSError(errno.ENOSPC, "No space left on device") from None
        raise
    except duckdb.OutOfMemoryException:
        raise OSError(errno.ENOMEM, "the index needs more memory than --memory leaves it") from None


def _make_table(database: "DuckDBPyConnection", table: str, columns: str, files: Iterable[Path]) -> None:
    held = [file for file in files if file.stat().st_size]
    if not held:
        database.execute(f'CREATE TEMP TABLE "{table}" ({columns})')
        return
    listed = ", ".join(f"'{_escaped(file)}'" for file in held)
    types = ", ".join("'{}': '{}'".format(*column.split()) for column in columns.split(", "))
    database.execute(
        f"""CREATE TEMP TABLE "{table}" AS SELECT * FROM read_csv([{listed}], columns = {{{types}}},
        header = false, auto_detect = false, delim = ',', quote = '"', escape = '"', null_padding = false,
        nullstr = '\x01', max_line_size = 32768, buffer_size = 2097152)"""  # noqa: S608 - our own file names
    )


def _escaped(path: Path) -> str:
    return str(path).replace("'", "''")


def _answer_identifiers(database: "DuckDBPyConnection", *, asks: bool) -> None:
    """Put a patient's name in the place of an identifier that exactly one patient has, joined ones as one."""
    if not asks:
        return
    database.execute(
        """CREATE TEMP TABLE answer AS
        SELECT name, min(key) AS key FROM names GROUP BY name HAVING count(DISTINCT key) = 1"""
    )
    for table in ("index", "needs"):
        database.execute(
            f'UPDATE "{table}" SET key = answer.key FROM answer WHERE "{table}".key = answer.name'  # noqa: S608
        )


def _join_replaced(database: "DuckDBPyConnection") -> None:
    """Put the entry that stands, where its Patient was sent, in the place of those that it replaced."""
    pairs = database.execute('SELECT DISTINCT old, new FROM "replaced" ORDER BY old, new').fetchall()
    holders = {
        name: Holders(number, first, last)
        for name, number, first, last in (database.execute(_HOLDERS).fetchall() if pairs else ())
    }
    ends = [(old, new) for old, new in standing(answered_pairs(pairs, holders)).items() if new]
    if not ends:
        return
    database.execute("CREATE TEMP TABLE stands (old VARCHAR, new VARCHAR)")
    database.executemany("INSERT INTO stands VALUES (?, ?)", ends)
    database.execute("DELETE FROM stands WHERE '=' || new NOT IN (SELECT name FROM names)")
    for table in ("index", "needs", "names"):
        database.execute(
            f'UPDATE "{table}" SET key = stands.new FROM stands WHERE "{table}".key = stands.old'  # noqa: S608
        )


#: Who has the identifiers by which entries of a person are named.
_HOLDERS = """
    SELECT name, count(DISTINCT key), min(key), max(key) FROM names
    WHERE name LIKE '?%' AND (name IN (SELECT old FROM "replaced") OR name IN (SELECT new FROM "replaced"))
    GROUP BY name
"""


def _with_a_double(database: "DuckDBPyConnection") -> set[str]:
    """Return the patients who have a number, with its system, that another patient has too."""
    rows = database.execute(
        """SELECT DISTINCT key FROM names WHERE name IN (
            SELECT name FROM names WHERE name LIKE '?_%|%' AND name NOT LIKE '?|%'
            GROUP BY name HAVING count(DISTINCT key) > 1)"""
    )
    return {key for (key,) in rows.fetchall()}


def _spread_needs(database: "DuckDBPyConnection") -> None:
    """Add what is needed by what is needed: the ward of a bed, the hospital of a ward."""
    database.execute(
        """CREATE TEMP TABLE need AS
        WITH RECURSIVE need(key, name) AS (
            SELECT key, name FROM needs
            UNION
            SELECT need.key, shared_lines.need
            FROM need JOIN shared_lines ON shared_lines.name = need.name WHERE shared_lines.need <> ''
        ) SELECT key, name FROM need"""
    )


def _count_shared(database: "DuckDBPyConnection") -> tuple[int, int]:
    row = database.execute(
        """SELECT coalesce(sum(counts) FILTER (WHERE needed), 0),
                  coalesce(sum(counts) FILTER (WHERE NOT needed), 0)
        FROM (SELECT max(counts) AS counts, bool_or(name IN (SELECT name FROM need)) AS needed
              FROM shared_lines GROUP BY run, start)"""
    ).fetchone()
    used, not_needed = row if row is not None else (0, 0)
    return int(used), int(not_needed)


_IN_ORDER = """
    SELECT key, false AS shared, run, start, size, lines FROM "index"
    UNION ALL
    SELECT DISTINCT need.key, true, shared_lines.run, shared_lines.start, shared_lines.size, 1
    FROM need JOIN shared_lines ON shared_lines.name = need.name
    ORDER BY key, shared, run, start
"""


def _fetched(rows: "DuckDBPyConnection") -> Iterator[tuple[Any, ...]]:
    while some := rows.fetchmany(_FETCHED):
        yield from some


def _groups(rows: Iterable[tuple[Any, ...]], doubles: Container[str]) -> Iterator[PatientGroup]:
    for key, extents in groupby(rows, key=itemgetter(0)):
        group = PatientGroup(key, [], [], key in doubles)
        for _, shared, *extent in extents:
            (group.shared if shared else group.own).append(Extent(*extent))
        yield group


def _write_shards(
    folder: Path, groups: Iterable[PatientGroup], shard_bytes: int, found: Grouped, earlier: Path | None
) -> None:
    remembered = _Remembered(earlier)
    passing = folder / "shards.part"
    with passing.open("wb") as out:
        for held in _shards(groups, shard_bytes):
            found.groups += len(held)
            shard = Shard(found.shards, held, remembered.until(held[-1].key))
            out.write(msgspec.json.encode(shard) + b"\n")
            found.shards += 1
        last = remembered.until(None)
        if last[0] < last[1]:
            # Patients of the earlier run who come after everybody of this one.
            out.write(msgspec.json.encode(Shard(found.shards, [], last)) + b"\n")
            found.shards += 1
    passing.rename(folder / "shards.ndjson")


def _shards(groups: Iterable[PatientGroup], shard_bytes: int) -> Iterator[list[PatientGroup]]:
    held: list[PatientGroup] = []
    size = 0
    for group in groups:
        held.append(group)
        size += sum(extent.size for extent in group.own)
        if size >= shard_bytes or len(held) >= _MOST_PATIENTS:
            yield held
            held, size = [], 0
    if held:
        yield held


class _Remembered:
    """Walks through what an earlier run remembers, in step with the patients of this one."""

    def __init__(self, path: Path | None) -> None:
        self._lines = path.open("rb") if path is not None else None
        self._position = 0
        self._next = b""

    def until(self, key: str | None) -> tuple[int, int]:
        """Return the bytes from where the last call ended through this key; through all for None."""
        start = self._position
        while self._lines is not None:
            line = self._next or self._lines.readline()
            self._next = b""
            if not line:
                self._lines.close()
                self._lines = None
            elif key is None or patient_of(line) <= key:
                self._position += len(line)
            else:
                self._next = line
                break
        return start, self._position
