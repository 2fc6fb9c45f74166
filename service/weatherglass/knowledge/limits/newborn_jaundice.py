"""Above which bilirubin a newborn is treated, by age in hours.

Data only: the threshold table of NICE CG98 for babies of 38 weeks or more, in its order, and of its graphs
for babies born earlier the two numbers between which each line runs straight.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "newborn-jaundice"
_ROWS: Final = PrintedRows("limits/newborn-jaundice-rows", globals())

#: Of the code in `observations.csv` that says so.
THROUGH_SKIN_METHOD: Final = "58941-6"


class Line(Columns, frozen=True, kw_only=True):
    """What is treated from an age in hours on: above these, in micromoles a litre."""

    hours: int
    phototherapy: Decimal
    exchange: Decimal


#: Youngest first.
LINES: Final = csv_rows("limits/newborn-jaundice.csv", Line)
