"""CURB-65: how severe a pneumonia is that was acquired outside hospital, 2003.

Data only; the rows are in `curb-65-2003.csv`. Read in restatements. Asked only where pneumonia, or a
query of it, is recorded.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.points.point_rows import Band, point_rows

KEY: Final = "curb-65"
PUBLIC_KEY: Final = "curb-65-2003"
_ROWS: Final = PrintedRows("scores/points/curb-65-2003-rows", globals())
NAME: Final = "CURB-65"

_LIM: Final = _ROWS.source("lim")
ROWS: Final = point_rows(PUBLIC_KEY)
BANDS: Final = (Band(3, "severe", _LIM), Band(2, "moderate", _LIM), Band(0, "mild", _LIM))
SEVERE: Final = 3
