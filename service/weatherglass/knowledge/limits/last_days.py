"""What relieves in recorded last days of life and is easily overlooked.

Nothing here looks for a cause or treats an illness.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "last-days"
_ROWS: Final = PrintedRows("limits/last-days-rows")

RETENTION: Final = _ROWS.clause("retention")
DEFIBRILLATOR: Final = _ROWS.clause("defibrillator")
BLEEDING: Final = _ROWS.clause("bleeding")
RECORDED_WITHIN: Final = _ROWS.window("recorded-within")
COMFORT: Final = _ROWS.source("comfort")
