"""A reaction to a transfusion: which signs, and for how long after it.

Data only. The sizes of the signs are from memory, so one alone is no emergency by itself: it calls by its
own rules.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "transfusion-reaction"
_ROWS: Final = PrintedRows("blood/transfusion-rows")

FEVER: Final = _ROWS.cutoff("fever")
FEVER_RISE: Final = _ROWS.cutoff("fever-rise")
LOW_PRESSURE: Final = _ROWS.cutoff("low-pressure")
PRESSURE_FALL: Final = _ROWS.cutoff("pressure-fall")
HYPOXIA: Final = _ROWS.cutoff("hypoxia")
SATURATION_FALL: Final = _ROWS.cutoff("saturation-fall")
COUNTS_FOR: Final = _ROWS.window("counts-for")
READINGS_BEFORE: Final = _ROWS.window("readings-before")
STOP: Final = _ROWS.clause("stop")
CHECK: Final = _ROWS.clause("check")
THEN: Final = _ROWS.clause("then")
PRESSURE_RISE: Final = _ROWS.cutoff("pressure-rise")
OVERLOAD: Final = _ROWS.clause("overload")
GRADED: Final = _ROWS.source("graded")
