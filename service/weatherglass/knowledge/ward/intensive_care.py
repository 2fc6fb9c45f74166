"""Intensive care, theatre, the ventilated patient: who is called, and what means something else there.

Early-warning scores were made to bring a team to the bed; in intensive care it stands there. The
publications exclude critical care and give nothing in the place of a score, so the rest is our choice.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "intensive-care"
_ROWS: Final = PrintedRows("ward/intensive-care-rows")

WARD_SCORES: Final = _ROWS.clause("ward-scores")
AT_MOST_PROMPT: Final = _ROWS.clause("at-most-prompt")
OWN_TEAM: Final = _ROWS.clause("own-team")
DEVICE_COUNTS_FOR: Final = _ROWS.window("device-counts-for")
TUBE_COUNTS_FOR: Final = _ROWS.window("tube-counts-for")
SEDATION_LASTS: Final = _ROWS.window("sedation-lasts")
COMA_UNDER_SEDATION: Final = _ROWS.clause("coma-under-sedation")
