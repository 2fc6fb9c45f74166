"""Above which bilirubin a newborn is treated, by age in hours.

Data only: the threshold table of NICE CG98 for babies of 38 weeks or more, in its order, and of its graphs
for babies born earlier the two numbers between which each line runs straight.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "newborn-jaundice"
_ROWS: Final = PrintedRows("limits/newborn-jaundice-rows")

TABLE: Final = _ROWS.source("table")
DAYS: Final = _ROWS.window("days")
BETWEEN: Final = _ROWS.source("between")
COUNTS_FOR: Final = _ROWS.window("counts-for")
PHOTOTHERAPY: Final = _ROWS.clause("phototherapy")
EXCHANGE: Final = _ROWS.clause("exchange")
FAST_RISE: Final = _ROWS.share("fast-rise")
RISE_OVER: Final = _ROWS.window("rise-over")
INTENSIFIED: Final = _ROWS.clause("intensified")
UNDER_LIGHT: Final = _ROWS.clause("under-light")
LIGHT_COUNTS_FOR: Final = _ROWS.window("light-counts-for")
FOR_TERM: Final = _ROWS.clause("for-term")
FOR_EARLY: Final = _ROWS.clause("for-early")
EARLY_FROM: Final = _ROWS.window("early-from")
EARLY_EACH_WEEK: Final = _ROWS.share("early-each-week")
EARLY_LIGHT_LESS: Final = _ROWS.share("early-light-less")
EARLY_LIGHT_AT_BIRTH: Final = _ROWS.share("early-light-at-birth")
EARLY_EXCHANGE_AT_BIRTH: Final = _ROWS.share("early-exchange-at-birth")
THROUGH_SKIN: Final = _ROWS.clause("through-skin")
#: Of the code in `observations.csv` that says so.
THROUGH_SKIN_METHOD: Final = "58941-6"


class Line(Columns, frozen=True, kw_only=True):
    """What is treated from an age in hours on: above these, in micromoles a litre."""

    hours: int
    phototherapy: Decimal
    exchange: Decimal


#: Youngest first.
LINES: Final = csv_rows("limits/newborn-jaundice.csv", Line)
