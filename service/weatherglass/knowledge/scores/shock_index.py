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
_ROWS: Final = PrintedRows("scores/shock-index-rows", globals())
