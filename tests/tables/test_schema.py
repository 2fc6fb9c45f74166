"""The documented schema: the page says what the code says, and its queries run."""

import re
from pathlib import Path

import duckdb
import pytest

from tests.batch.exports import WARD, run_batch
from tests.tables.schema_page import BEGINS, PAGE, written
from weatherglass.model.numbers.quantities import Unit
from weatherglass.tables.schema import REPLAYED, TABLES

#: UCUM units of columns that no measurement has: minutes and years.
_OF_COLUMNS = {"min", "a"}


def test_the_page_is_written_from_the_schema() -> None:
    """Otherwise: `python -m tests.tables.schema_page`."""
    assert PAGE.read_text("utf-8").endswith(written())


def test_units_are_units() -> None:
    """A unit of a column is a UCUM code that the core knows, or minutes or years."""
    units = {column.unit for table in (*TABLES, *REPLAYED) for column in table.columns} - {""}
    assert units <= {unit.value for unit in Unit} | _OF_COLUMNS


def test_names_are_unique_and_plain() -> None:
    """So that every reader takes them without quotes."""
    for table in (*TABLES, *REPLAYED):
        names = [column.name for column in table.columns]
        assert len(names) == len(set(names))
        assert all(re.fullmatch(r"[a-z][a-z_]*", name) for name in names)


def test_the_queries_of_the_page_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each prints something of the demo ward."""
    monkeypatch.chdir(tmp_path)
    assert run_batch(WARD, "out/tables", "--tables").exception is None
    queries = re.findall(r"```sql\n(.*?)```", PAGE.read_text("utf-8").partition(BEGINS)[0], re.DOTALL)
    assert len(queries) == 2
    for query in queries:
        assert duckdb.execute(query).fetchall()
