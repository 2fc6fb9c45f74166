"""What no publication fixes about the kidneys: how long values stand, and what therapy means.

Data only. Every number here is ours, says why, and is listed in the catalogue for a site
to judge.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "kidney-choices"
_ROWS: Final = PrintedRows("kidneys/kidney-choices-rows")

# Urine.

URINE_WITHOUT_PERIOD: Final = _ROWS.window("urine-without-period")
LEAST_ADULT_WEIGHT: Final = _ROWS.share("least-adult-weight")
FIRST_URINE_RATE: Final = _ROWS.window("first-urine-rate")
URINE_COVERED_TWICE: Final = _ROWS.clause("urine-covered-twice")
URINE_STANDS: Final = _ROWS.clause("urine-stands")
URINE_CLEARS_NOTHING: Final = _ROWS.clause("urine-clears-nothing")
WEIGHT_IS_OLD: Final = _ROWS.window("weight-is-old")

# Creatinine.

HIGH_WITHOUT_A_RANGE: Final = _ROWS.cutoff("high-without-a-range")
#: The same of a child, by the age in years below which each holds.
HIGH_OF_A_CHILD: Final = {
    5: _ROWS.cutoff("high-under-5"),
    12: _ROWS.cutoff("high-under-12"),
    18: _ROWS.cutoff("high-under-18"),
}
FLAT_AND_HIGH: Final = _ROWS.window("flat-and-high")
CREATININE_STANDS: Final = _ROWS.clause("creatinine-stands")
EPISODE_REFERENCE: Final = _ROWS.clause("episode-reference")
LATE_RECOGNITION: Final = _ROWS.clause("late-recognition")
AFTER_A_KIDNEY: Final = _ROWS.window("after-a-kidney")
AFTER_A_KIDNEY_SAYS: Final = _ROWS.clause("after-a-kidney-says")
FALLS_BY: Final = _ROWS.cutoff("falls-by")
FALLS_APART: Final = _ROWS.window("falls-apart")

# A transplanted kidney.

NEW_GRAFT: Final = _ROWS.window("new-graft")
GRAFT_RISE: Final = _ROWS.cutoff("graft-rise")
GRAFT_REFERENCE_FOR: Final = _ROWS.window("graft-reference-for")

# Renal replacement therapy.

CRITERIA_BEFORE_THERAPY: Final = _ROWS.window("criteria-before-therapy")
CRITERIA_AFTER_THERAPY: Final = _ROWS.window("criteria-after-therapy")
PLANNED_THERAPY: Final = _ROWS.clause("planned-therapy")
LONG_TERM_THERAPY: Final = _ROWS.clause("long-term-therapy")
THERAPY_ASKED_FOR: Final = _ROWS.clause("therapy-asked-for")
