"""An epidural that is running: what says that it reaches too high, or sedates.

Whom to ask and for what is published by hospitals; by when is ours. Nothing here is an emergency by
itself: a pressure, a breathing rate or an answer that is one calls by its own rule.

Left out, with reasons:
    The height of the block: no code that is read says it; it is named as what to look at.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "epidural"
_ROWS: Final = PrintedRows("brain/epidural-rows")

WHOM_TO_ASK: Final = _ROWS.source("whom-to-ask")
SYSTOLIC: Final = _ROWS.cutoff("systolic")
PULSE: Final = _ROWS.cutoff("pulse")
RESPIRATION: Final = _ROWS.cutoff("respiration")
SIGNS_COUNT_FOR: Final = _ROWS.window("signs-count-for")
GIVEN_WITHIN: Final = _ROWS.window("given-within")
AFTER: Final = _ROWS.window("after")
BLOCK_WEARS_OFF: Final = _ROWS.window("block-wears-off")
SPINE: Final = _ROWS.clause("spine")
DENSE_BLOCK: Final = _ROWS.clause("dense-block")
SPINE_IMAGED: Final = _ROWS.source("spine-imaged")
ANTICOAGULANT: Final = _ROWS.clause("anticoagulant")
ASKS: Final = _ROWS.clause("asks")
HIGH_BLOCK: Final = _ROWS.clause("high-block")
TOO_SOON: Final = _ROWS.clause("too-soon")
TOO_SOON_FOR: Final = _ROWS.window("too-soon-for")
PLANNED_FOR: Final = _ROWS.window("planned-for")
PLANNED_PLATELETS: Final = _ROWS.cutoff("planned-platelets")
PLANNED_INR: Final = _ROWS.cutoff("planned-inr")
PLANNED: Final = _ROWS.clause("planned")
