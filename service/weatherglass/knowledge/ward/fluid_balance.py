"""Fluid balance: over which time, how much of it has to be charted, and what is worth showing.

No publication was read for these; each is our choice and says why.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "fluid-balance"
_ROWS: Final = PrintedRows("ward/fluid-balance-rows", globals())


GAIN: Final = _ROWS.share("shown-gain")
LOSS: Final = _ROWS.share("shown-loss")
WEIGHT_MOVED: Final = _ROWS.share("shown-weight")

HOURLY_ENTRIES: Final = 4
