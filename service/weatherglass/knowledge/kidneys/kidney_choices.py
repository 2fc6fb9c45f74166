"""What no publication fixes about the kidneys: how long values stand, and what therapy means.

Data only. Every number here is ours, says why, and is listed in the catalogue for a site
to judge.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "kidney-choices"
_ROWS: Final = PrintedRows("kidneys/kidney-choices-rows", globals())


#: HIGH_WITHOUT_A_RANGE of a child, by the age in years below which each holds.
HIGH_OF_A_CHILD: Final = {
    5: _ROWS.cutoff("high-under-5"),
    12: _ROWS.cutoff("high-under-12"),
    18: _ROWS.cutoff("high-under-18"),
}
