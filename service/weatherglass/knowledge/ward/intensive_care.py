"""Intensive care, theatre, the ventilated patient: who is called, and what means something else there.

Early-warning scores were made to bring a team to the bed; in intensive care it stands there. The
publications exclude critical care and give nothing in the place of a score, so the rest is our choice.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "intensive-care"
_ROWS: Final = PrintedRows("ward/intensive-care-rows", globals())
