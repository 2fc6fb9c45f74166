"""Adrenal crisis, diabetic ketoacidosis and the hyperosmolar state: what has to come together.

The severity of ketoacidosis is in `ketoacidosis-severity.csv`: any one row makes it severe.

Left out, with reasons:
    Ketones in urine: no code that is read tells how many pluses.
    The anion gap as a sign of severity: from memory, and every ketoacidosis that is there has one.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import SignalLimit, csv_rows, memory
from weatherglass.knowledge.limits.critical_results import CRITICAL_RESULTS
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.words.clauses import Share

PUBLIC_KEY: Final = "metabolic"
_ROWS: Final = PrintedRows("metabolic/metabolic-rows", globals())


#: Prednisolone of the same strength for 1 mg.
STEROID_STRENGTHS: Final = {
    name: Share(value=Decimal(times), source=memory("prednisolone of the same strength for 1 mg"))
    for name, times in {
        "hydrocortisone": "0.25",
        "prednisolone": "1",
        "prednisone": "1",
        "methylprednisolone": "1.25",
        "dexamethasone": "6.7",
        "betamethasone": "6.7",
    }.items()
}


KETONES: Final = next(
    band.cutoff for band in CRITICAL_RESULTS if (band.key, band.urgency) == ("ketones-high", "emergency")
)


class Severity(SignalLimit, frozen=True, dict=True):
    """One value that makes a ketoacidosis severe."""

    label: str
    name: str


SEVERITY: Final = tuple(csv_rows("metabolic/ketoacidosis-severity.csv", Severity))
