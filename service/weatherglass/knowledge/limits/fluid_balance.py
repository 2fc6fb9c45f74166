"""Fluid balance: over which time, how much of it has to be charted, and what is worth showing.

No publication was read for these; each is our choice and says why. What is shown asks for nobody.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, cite, csv_table
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.clauses import Share

PUBLIC_KEY: Final = "fluid-balance"
_ROWS: Final = PrintedRows("limits/fluid-balance-rows")


class _Row(Columns, frozen=True):
    key: str
    value: Decimal
    unit: Literal["mL", "kg"]
    source: str


_LIMITS: Final = dict(
    csv_table(
        "limits/fluid-balance.csv",
        _Row,
        lambda row: (row.key, Share(value=row.value, source=cite(row.source))),
    )
)
GAIN: Final = _LIMITS["shown-gain"]
LOSS: Final = _LIMITS["shown-loss"]
WEIGHT_MOVED: Final = _LIMITS["shown-weight"]

A_DAY: Final = _ROWS.window("a-day")
CUMULATIVE: Final = _ROWS.window("cumulative")
COVERED: Final = _ROWS.share("covered")
WEIGHT_BEFORE: Final = _ROWS.window("weight-before")
WEIGHTS_APART: Final = _ROWS.window("weights-apart")
URINE_OVER: Final = _ROWS.window("urine-over")
HOURLY: Final = _ROWS.window("hourly")
HOURLY_ENTRIES: Final = 4
GAP: Final = _ROWS.window("gap")
BOUND_SAYS_SOMETHING: Final = _ROWS.cutoff("bound-says-something")
