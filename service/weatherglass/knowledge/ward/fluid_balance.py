"""Fluid balance: over which time, how much of it has to be charted, and what is worth showing.

No publication was read for these; each is our choice and says why.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "fluid-balance"
_ROWS: Final = PrintedRows("ward/fluid-balance-rows")


GAIN: Final = _ROWS.share("shown-gain")
LOSS: Final = _ROWS.share("shown-loss")
WEIGHT_MOVED: Final = _ROWS.share("shown-weight")

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

# Much urine where what obstructed it was let go.

MUCH_URINE: Final = _ROWS.cutoff("much-urine")
MUCH_FOR: Final = _ROWS.window("much-for")
AFTER_OBSTRUCTION: Final = _ROWS.window("after-obstruction")
MUCH_ASKS: Final = _ROWS.clause("much-asks")
