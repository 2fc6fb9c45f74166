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
from weatherglass.model.clauses import Share

PUBLIC_KEY: Final = "metabolic"
_ROWS: Final = PrintedRows("metabolic/metabolic-rows")

# Adrenal crisis.

HYDROCORTISONE: Final = _ROWS.clause("hydrocortisone")
HYDROCORTISONE_OF_A_CHILD: Final = _ROWS.clause("hydrocortisone-of-a-child")
HYDROCORTISONE_AFTER: Final = _ROWS.clause("hydrocortisone-after")
HYDROCORTISONE_COUNTS_FOR: Final = _ROWS.window("hydrocortisone-counts-for")
ANSWERED_BY_INSULIN: Final = _ROWS.window("answered-by-insulin")
HYDROCORTISONE_DOSE: Final = _ROWS.share("hydrocortisone-dose")
LONG_TERM_STEROID: Final = _ROWS.window("long-term-steroid")
LEAST_STEROID: Final = _ROWS.share("least-steroid")
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
CRISIS_SYSTOLIC: Final = _ROWS.cutoff("crisis-systolic")
DOUBTED_SYSTOLIC: Final = _ROWS.cutoff("doubted-systolic")
CRISIS_SODIUM: Final = _ROWS.cutoff("crisis-sodium")
CRISIS_POTASSIUM: Final = _ROWS.cutoff("crisis-potassium")
CRISIS_GLUCOSE: Final = _ROWS.cutoff("crisis-glucose")
CRISIS_RESULTS_FOR: Final = _ROWS.window("crisis-results-for")

# Ketoacidosis.

KETONES: Final = next(
    band.cutoff for band in CRITICAL_RESULTS if (band.key, band.urgency) == ("ketones-high", "emergency")
)
GLUCOSE: Final = _ROWS.cutoff("glucose")
BICARBONATE: Final = _ROWS.cutoff("bicarbonate")
PH: Final = _ROWS.cutoff("ph")
CONSENSUS_BICARBONATE: Final = _ROWS.cutoff("consensus-bicarbonate")
HELD_DOWN: Final = _ROWS.cutoff("held-down")
INCOMPLETE: Final = _ROWS.clause("incomplete")

CRITERIA_OF_A_CHILD: Final = _ROWS.clause("criteria-of-a-child")
CHILD_NOT_AWAKE: Final = _ROWS.clause("child-not-awake")
OEDEMA_ASKS: Final = _ROWS.clause("oedema-asks")
OEDEMA_SIGNS: Final = _ROWS.clause("oedema-signs")
OEDEMA_SIGNS_CALL: Final = _ROWS.source("oedema-signs-call")
WITHOUT_DIABETES: Final = _ROWS.clause("without-diabetes")


class Severity(SignalLimit, frozen=True, dict=True):
    """One value that makes a ketoacidosis severe."""

    label: str
    name: str


SEVERITY: Final = tuple(csv_rows("metabolic/ketoacidosis-severity.csv", Severity))
SEVERE_ASKS: Final = _ROWS.clause("severe-asks")
RESOLVED_KETONES: Final = _ROWS.cutoff("resolved-ketones")
RESOLVED_PH: Final = _ROWS.cutoff("resolved-ph")
OF_CHLORIDE: Final = _ROWS.clause("of-chloride")
TREATED_FOR: Final = _ROWS.window("treated-for")
SUGAR_BESIDE_INSULIN: Final = _ROWS.clause("sugar-beside-insulin")
SUGAR_BELOW: Final = _ROWS.cutoff("sugar-below")
SUGAR_COUNTS_FOR: Final = _ROWS.window("sugar-counts-for")
FALL_OF_KETONES: Final = _ROWS.share("fall-of-ketones")
RISE_OF_BICARBONATE: Final = _ROWS.share("rise-of-bicarbonate")

# The hyperosmolar hyperglycaemic state.

OSMOLALITY: Final = _ROWS.cutoff("osmolality")
HYPEROSMOLAR_GLUCOSE: Final = _ROWS.cutoff("hyperosmolar-glucose")
HYPEROSMOLAR_KETONES_ABOVE: Final = _ROWS.cutoff("hyperosmolar-ketones-above")
HYPEROSMOLAR_PH: Final = _ROWS.cutoff("hyperosmolar-ph")
FALL_LEAST: Final = _ROWS.share("fall-least")
FALL_MOST: Final = _ROWS.share("fall-most")
HYPEROSMOLAR_OVER: Final = _ROWS.cutoff("hyperosmolar-over")
STILL_HYPEROSMOLAR: Final = _ROWS.clause("still-hyperosmolar")
STILL_HYPEROSMOLAR_FOR: Final = _ROWS.window("still-hyperosmolar-for")
HYPEROSMOLAR_TREATED: Final = _ROWS.source("hyperosmolar-treated")
RATE_OVER: Final = _ROWS.window("rate-over")
