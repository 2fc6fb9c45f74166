"""When a vital capacity says that breathing muscles fail, in Guillain-Barré syndrome and its like.

The limits were published of people in hospital with Guillain-Barré syndrome; that they are used in
myasthenia too is ours.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

_ROWS: Final = PrintedRows("breathing/vital-capacity-rows")

LOW: Final = _ROWS.cutoff("low")
FALL: Final = _ROWS.share("fall")
LOW_WITHOUT_WEIGHT: Final = _ROWS.cutoff("low-without-weight")
BEFORE: Final = _ROWS.window("before")
COUNTS_FOR: Final = _ROWS.window("counts-for")
WEIGHT_COUNTS_FOR: Final = _ROWS.window("weight-counts-for")
ASKS: Final = _ROWS.clause("asks")

WEAK: Final = _ROWS.members("weak", ConditionKind)
