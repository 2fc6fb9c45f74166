"""From lines of JSON to Parquet and to Arrow; DuckDB does both and is a dependency already."""

import errno
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from weatherglass.tables.rows import Row, line_of
from weatherglass.tables.schema import VERSION, Table

if TYPE_CHECKING:
    import duckdb

_ROWS = 20_480
_MIB = 1 << 20
_LINE, _MEMORY = 16 * _MIB, 192 * _MIB
#: How many buffers as long as the longest line the reader of lines may hold.
_BUFFERS = 4


def write_parquet(lines: Path, table: Table, out: Path) -> int:
    """Copy lines of JSON into a Parquet file, in their order; the same lines give the same bytes.

    Args:
        lines: One row a line; it may be empty.
        table: Whose rows they are.
        out: Where the file goes.

    Returns:
        How many rows there are.

    Raises:
        OSError: The disk is full, or the file cannot be written.
    """
    import duckdb

    columns = ", ".join(f"'{column.name}': '{column.type}'" for column in table.columns)
    # A finding of a very long record names very many inputs; one long line must not end a whole run.
    longest = max(_longest(lines), _LINE)
    how_read = f"format = 'newline_delimited', maximum_object_size = {longest}, columns = {{{columns}}}"
    read = f"read_json({_quoted(lines)}, {how_read})"
    # Small groups of rows: sentences are long, and a group is in memory as a whole.
    how = f"FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE {_ROWS}"
    about = f"KV_METADATA {{weatherglass: {_literal(described(table))}}}"
    with _database(_MEMORY + _BUFFERS * longest) as database:
        copy = f"COPY (SELECT * FROM {read}) TO {_quoted(out)} ({how}, {about})"  # noqa: S608 - paths and names of ours
        try:
            counted = database.execute(copy).fetchone()
        except duckdb.IOException as error:
            is_full = "space" in str(error).lower() or "quota" in str(error).lower()
            number = errno.ENOSPC if is_full else errno.EIO
            raise OSError(number, os.strerror(number), str(out)) from None
    return int(counted[0]) if counted is not None else 0


def _longest(lines: Path) -> int:
    with lines.open("rb") as file:
        return max(map(len, file), default=0)


def described(table: Table) -> str:
    """Return what a file says of itself: version of the schema, units and meanings of the columns."""
    columns = {c.name: {"unit": c.unit, "meaning": c.meaning} for c in table.columns}
    told = {"schema": VERSION, "table": table.name, "row": table.row, "columns": columns}
    return json.dumps(told, ensure_ascii=False)


def relation(
    database: "duckdb.DuckDBPyConnection", table: Table, rows: Sequence[Row]
) -> "duckdb.DuckDBPyRelation":
    """Return rows as a relation of DuckDB's, whose columns are those of the table."""
    database.execute("SET TimeZone = 'UTC'")
    shape = json.dumps([{column.name: column.type for column in table.columns}])
    text = b"[" + b",".join(line_of(row).rstrip() for row in rows) + b"]"
    query = f"SELECT unnest(from_json($rows, {_literal(shape)}), max_depth := 2)"
    return database.query(query, params={"rows": text.decode()})


def _database(memory: int) -> "duckdb.DuckDBPyConnection":
    """Open a database that reads and writes in order, so that the same rows give the same bytes."""
    import duckdb

    database = duckdb.connect(":memory:")
    database.execute("SET threads = 1")
    database.execute("SET preserve_insertion_order = true")
    database.execute(f"SET memory_limit = '{memory // _MIB}MiB'")
    database.execute("SET TimeZone = 'UTC'")
    return database


def _quoted(path: Path) -> str:
    return _literal(str(path))


def _literal(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
