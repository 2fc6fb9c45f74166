"""The page about the tables is written from their schema: `python -m tests.tables.schema_page`."""

from collections.abc import Iterator
from pathlib import Path

from weatherglass.tables.schema import REPLAYED, TABLES, VERSION, Table

PAGE = Path(__file__).parents[2] / "deploy" / "tables.md"
BEGINS = "<!-- The rest is written by `python -m tests.tables.schema_page`. -->"


def written() -> str:
    """The part of the page that the schema decides."""
    return "\n".join([BEGINS, "", f"## Columns (schema {VERSION})", *_lines()]) + "\n"


def _lines() -> Iterator[str]:
    for table in dict.fromkeys((*TABLES, *REPLAYED)):
        name = table.name if table in TABLES else f"evaluation-{table.name}"
        yield from ("", f"### `{name}.parquet`", "", f"{table.row}.", "")
        yield from ("| Column | Type | Unit | Meaning |", "|---|---|---|---|")
        yield from _rows(table)


def _rows(table: Table) -> Iterator[str]:
    for column in table.columns:
        unit = f"`{column.unit}`" if column.unit else ""
        yield f"| `{column.name}` | {column.type} | {unit} | {column.meaning} |"


if __name__ == "__main__":
    PAGE.write_text(PAGE.read_text("utf-8").partition(BEGINS)[0] + written(), "utf-8")
