"""A reaction to a transfusion: which signs, and for how long after it.

Data only. The sizes of the signs are from memory, so one alone is no emergency by itself: it calls by its
own rules.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "transfusion-reaction"
_ROWS: Final = PrintedRows("blood/transfusion-rows", globals())
