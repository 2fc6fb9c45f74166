"""How much weight a newborn may lose in the first days, and what a child loses in an illness.

Data only, from the guideline on faltering growth; what stands for the weight at birth, and how soon, is ours.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "newborn-weight"
_ROWS: Final = PrintedRows("limits/newborn-weight-rows")

LOST: Final = _ROWS.share("lost")
MUCH: Final = _ROWS.share("much")
BIRTH_WEIGHT_BY: Final = _ROWS.window("birth-weight-by")
EARLY: Final = _ROWS.window("early")
COUNTS_FOR: Final = _ROWS.window("counts-for")
ASKS: Final = _ROWS.clause("asks")

# Later in childhood.

DRIED: Final = _ROWS.share("dried")
DRIED_MUCH: Final = _ROWS.share("dried-much")
DRIED_WITHIN: Final = _ROWS.window("dried-within")
DRIED_BY: Final = _ROWS.window("dried-by")
DRIED_ASKS: Final = _ROWS.clause("dried-asks")
NOT_GAINED: Final = _ROWS.clause("not-gained")
NOT_GAINED_BELOW: Final = _ROWS.window("not-gained-below")
NOT_GAINED_AFTER: Final = _ROWS.window("not-gained-after")
