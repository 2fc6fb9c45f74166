"""A table in memory that hands itself on through Arrow's C stream, so that no copy is written to disk.

pyarrow (`pyarrow.table(t)`), Polars (`polars.DataFrame(t)`) and DuckDB (`SELECT * FROM t`) take it as it
is; pandas through pyarrow. DuckDB does the work and is a dependency already.
"""

from collections.abc import Sequence
from html import escape

from weatherglass.fhir.safe_text import clean
from weatherglass.tables.rows import Row
from weatherglass.tables.schema import Table
from weatherglass.tables.writing import relation

_SHOWN = 20


class ArrowTable:
    """Rows of one table.

    Attributes:
        schema: Its columns with types, units and meanings.
    """

    def __init__(self, schema: Table, rows: Sequence[Row]) -> None:
        """Keep the rows.

        Args:
            schema: What the columns are.
            rows: In order; a column that a row has not is empty.
        """
        self.schema = schema
        self._rows = tuple(rows)

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns, in order."""
        return tuple(column.name for column in self.schema.columns)

    def __len__(self) -> int:
        """How many rows there are."""
        return len(self._rows)

    def rows(self) -> list[Row]:
        """Return the rows as dicts that hold every column."""
        return [{name: row.get(name) for name in self.columns} for row in self._rows]

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        """Return the rows as a stream of Arrow's C data interface."""
        import duckdb

        # A connection a stream: DuckDB holds one open result a connection.
        made = relation(duckdb.connect(":memory:"), self.schema, self._rows)
        return made.__arrow_c_stream__(requested_schema)

    def __repr__(self) -> str:
        """Say how much there is; nothing of what stands in it."""
        return f"<{self.schema.name}: {len(self)} rows of {len(self.columns)} columns>"

    def _repr_html_(self) -> str:
        heads = "".join(f"<th>{name}</th>" for name in self.columns)
        lines = "".join(f"<tr>{''.join(map(_cell, row.values()))}</tr>" for row in self.rows()[:_SHOWN])
        left = len(self) - _SHOWN
        more = f"<p>{left} more rows</p>" if left > 0 else ""
        return f"<table><thead><tr>{heads}</tr></thead><tbody>{lines}</tbody></table>{more}"


def _cell(value: object) -> str:
    text = "" if value is None else ", ".join(map(str, value)) if isinstance(value, list) else str(value)
    return f"<td>{escape(clean(text))}</td>"
