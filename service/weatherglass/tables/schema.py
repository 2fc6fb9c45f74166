"""The tables that a review comes to; their columns, types, units and meanings are in `result-tables.csv`.

The same columns stand in the Parquet files of a batch, in the tables of the Python
interface and in `deploy/tables.md`. A column is added at the end; a column that changes
its meaning gets a new name and `VERSION` a new number.
"""

from typing import Final, NamedTuple

from weatherglass.knowledge.data_files import Columns, csv_rows

VERSION: Final = "1"


class Column(Columns, frozen=True):
    """One column of a table.

    Attributes:
        type: Its type, as DuckDB writes it; a moment is in UTC.
        meaning: What stands in it; empty cells mean "not recorded" or "does not apply".
        unit: UCUM unit of a number; empty where it has none, or another column says it.
    """

    table: str
    name: str
    type: str
    meaning: str
    unit: str = ""


class Table(NamedTuple):
    """One table: its name, which is that of its file, what one row is, and its columns in order."""

    name: str
    row: str
    columns: tuple[Column, ...]


_COLUMNS: Final = csv_rows("result-tables.csv", Column)


def _table(name: str, row: str) -> Table:
    return Table(name, row, tuple(column for column in _COLUMNS if column.table == name))


PATIENTS: Final = _table("patients", "One patient of the input, reviewed or not")
FINDINGS: Final = _table("findings", "One finding of one review, in the order of the review")
MEASURES: Final = _table("measures", "One number or word that a finding rests on")
SCORES: Final = _table("scores", "One score of one round of observations")
SUB_SCORES: Final = _table("sub_scores", "One parameter of one score of one round of observations")
LEVELS: Final = _table(
    "levels", "One level at one moment: the urgency of the review, or a stage of kidney injury"
)
MEDICINES: Final = _table(
    "medicines",
    "One suggestion about one line of the drug chart, or one line of an interaction; never an order",
)
ISSUES: Final = _table("issues", "One thing that was not used, or used with a reservation")
ONSETS: Final = _table("onsets", "One finding of an evaluation that newly reached an urgency above routine")
WARD_TIME: Final = _table(
    "ward_time", "One stretch of time of a patient on one ward and at one age, in which an evaluation watches"
)
OUTCOMES: Final = _table(
    "outcomes", "One outcome that should have been foreseen, or one call of the present practice"
)

TABLES: Final = (PATIENTS, FINDINGS, MEASURES, SCORES, SUB_SCORES, LEVELS, MEDICINES, ISSUES)
BY_NAME: Final = {table.name: table for table in TABLES}
#: Of an evaluation; its rounds and levels are those of every moment that was looked at again.
REPLAYED: Final = (SCORES, SUB_SCORES, LEVELS, ONSETS, WARD_TIME, OUTCOMES)
