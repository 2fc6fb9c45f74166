"""Shock index and age shock index: two quotients and their cut-offs.

Data only. Shock index is pulse over systolic pressure; age shock index is age in years
times shock index. Published cut-offs differ (0.7, 0.9, 1.0). Ours: 0.9 is raised and 1.0
is high, and neither triggers anything by itself.

Left out, with reasons:
    Modified shock index (pulse over mean pressure, 1.3): one cohort; mean pressure is
    seldom recorded on a ward.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

KEY: Final = "shock-index"
AGE_KEY: Final = "age-shock-index"
PUBLIC_KEY: Final = "shock-index-2019"
_ROWS: Final = PrintedRows("scores/shock-index-rows")

RAISED: Final = _ROWS.cutoff("raised")
HIGH: Final = _ROWS.cutoff("high")
AGE_HIGH: Final = _ROWS.cutoff("age-high")
AGE_COUNTS_FROM: Final = _ROWS.cutoff("age-counts-from")
MINIMUM_AGE: Final = _ROWS.age("minimum-age")
NEVER_ALONE: Final = _ROWS.clause("never-alone")
UNRELIABLE_WITH_RATE_CONTROL: Final = _ROWS.clause("unreliable-with-rate-control")
