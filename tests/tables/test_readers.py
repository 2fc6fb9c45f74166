"""What data scientists read tables with sees the same rows: pyarrow, DuckDB, Polars, pandas, Spark.

Common practice, no source: pyarrow's own rows are what the others are held beside, value by value.
"""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pyarrow.parquet as pq
import pytest

from tests.batch.exports import WARD, run_batch
from tests.evaluation.wards import at, invented
from weatherglass.evaluation.tables import write_tables
from weatherglass.evaluation.trace import Outcome, Points, Step
from weatherglass.tables.schema import REPLAYED, TABLES

FILES = [f"{table.name}.parquet" for table in TABLES] + [f"evaluation-{t.name}.parquet" for t in REPLAYED]
Rows = list[dict[str, Any]]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo ward's tables, and in the same folder those of an evaluation of forty invented stays."""
    out = tmp_path_factory.mktemp("tables") / "out"
    assert run_batch(WARD, out, "--workers", "1", "--tables").exception is None
    traces = invented(3, 40)
    known = Points("pulse", "pulse", 2, 2, 2, "118 /min")
    missed = Points("temperature", "temperature", None, 0, 3, "not recorded", "not recorded")
    traces[0].ladders["news2"].append(Step(at(2000), 2, 5, parts=(known, missed)))
    traces[0].outcomes.append(Outcome(datetime(2026, 3, 3, tzinfo=UTC), "death", day_only=True))
    assert all(write_tables(traces, out).values())
    return out


def expected(path: Path) -> Rows:
    read: Rows = pq.read_table(path).to_pylist()
    assert read, "a table without rows shows nothing"
    return read


@pytest.mark.parametrize("file", FILES)
def test_duckdb(file: str, folder: Path) -> None:
    with duckdb.connect(":memory:") as database:
        database.execute("SET TimeZone = 'UTC'")
        read = database.sql(f"SELECT * FROM '{folder / file}'").to_arrow_table().to_pylist()  # noqa: S608
    assert read == expected(folder / file)


@pytest.mark.parametrize("file", FILES)
def test_polars(file: str, folder: Path) -> None:
    """Eagerly, and lazily with a filter that is pushed down to the file."""
    rows = expected(folder / file)
    assert pl.read_parquet(folder / file).to_dicts() == rows
    patient = next(row["patient"] for row in rows if row["patient"] is not None)
    lazy = pl.scan_parquet(folder / file).filter(pl.col("patient") == patient).collect()
    assert lazy.to_dicts() == [row for row in rows if row["patient"] == patient]


@pytest.mark.parametrize("file", FILES)
def test_pandas(file: str, folder: Path) -> None:
    rows = expected(folder / file)
    read = pd.read_parquet(folder / file)
    assert len(read) == len(rows)
    for column in read.columns:
        values = [row[column] for row in rows if row[column] is not None]
        assert [_plain(value) for value in read[column].dropna()] == values, column


def _plain(value: Any) -> Any:
    if isinstance(value, pd.Timestamp):
        return value.to_pydatetime()
    return list(value) if isinstance(value, np.ndarray) else value


@pytest.mark.slow
@pytest.mark.spark
def test_spark(folder: Path) -> None:
    """Every table; moments as moments, compared in microseconds."""
    from weatherglass.batch.spark.session import session

    spark = session("local[1]")
    try:
        for file in FILES:
            frame = spark.read.parquet(str(folder / file))
            moments = [name for name, kind in frame.dtypes if kind == "timestamp"]
            chosen = [f"unix_micros({n}) AS {n}" if n in moments else n for n in frame.columns]
            read = [row.asDict() for row in frame.selectExpr(*chosen).collect()]
            rows = expected(folder / file)
            for row in rows:
                row.update({name: _micros(row[name]) for name in moments})
            assert sorted(read, key=repr) == sorted(rows, key=repr), file
    finally:
        spark.stop()


def _micros(at_time: datetime | None) -> int | None:
    if at_time is None:
        return None
    since = at_time - datetime(1970, 1, 1, tzinfo=UTC)
    return (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds
