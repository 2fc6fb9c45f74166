"""How much weight a newborn may lose in the first days, and what a child loses in an illness.

Data only, from the guideline on faltering growth; what stands for the weight at birth, and how soon, is ours.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "newborn-weight"
_ROWS: Final = PrintedRows("limits/newborn-weight-rows", globals())
