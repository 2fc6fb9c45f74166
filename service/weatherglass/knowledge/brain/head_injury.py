"""Head injury in adults: when the head is imaged, and what an anticoagulant adds.

NICE NG232 as restated; the wording for anticoagulants of its present edition was not read, so
imaging is "to be considered" there. Which of it a ward record can tell is our choice.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "head-injury"
_ROWS: Final = PrintedRows("brain/head-injury-rows")
COMA_AT_ONCE: Final = _ROWS.cutoff("coma-at-once")
COMA_LATER: Final = _ROWS.cutoff("coma-later")
TWO_HOURS: Final = _ROWS.window("two-hours")
ANTICOAGULANT: Final = _ROWS.clause("anticoagulant")
EIGHT_HOURS: Final = _ROWS.window("eight-hours")
FALL_AND_DULL: Final = _ROWS.clause("fall-and-dull")
OTHER_REASONS: Final = _ROWS.clause("other-reasons")
INJURY_COUNTS_FOR: Final = _ROWS.window("injury-counts-for")
FALLING_COMA: Final = _ROWS.clause("falling-coma")
THROMBOLYSIS_COUNTS_FOR: Final = _ROWS.window("thrombolysis-counts-for")
AS_CONFUSED: Final = _ROWS.cutoff("as-confused")
