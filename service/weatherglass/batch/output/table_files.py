"""The tables of a run as whole Parquet files, counted against the report before they are published."""

from pathlib import Path

from weatherglass.batch.output.assembly import Written, file_of
from weatherglass.batch.output.table_rows import TABLE
from weatherglass.batch.output.totals import Totals
from weatherglass.tables.schema import FINDINGS, PATIENTS, TABLES
from weatherglass.tables.writing import write_parquet


def write_tables(folder: Path) -> dict[str, Written]:
    """Turn the lines of each table into its file; a table without rows is a file too.

    Args:
        folder: Where the lines lie and the files go.

    Returns:
        Rows and bytes of each file.
    """
    written: dict[str, Written] = {}
    for table in TABLES:
        lines, out = folder / file_of(TABLE + table.name), folder / f"{table.name}.parquet"
        lines.touch()
        rows = write_parquet(lines, table, out)
        lines.unlink()
        written[out.name] = Written(lines=rows, bytes=out.stat().st_size)
    return written


def miscounted(written: dict[str, Written], totals: Totals) -> str:
    """Say which table does not add up to the report; empty when they all do."""
    expected = {
        PATIENTS.name: totals.patients,
        FINDINGS.name: sum(burden.all for burden in totals.kinds.values()),
    }
    for name, number in expected.items():
        rows = written[f"{name}.parquet"].lines
        if rows != number:
            return f"{name}.parquet has {rows} rows, and {number} were counted"
    return ""
