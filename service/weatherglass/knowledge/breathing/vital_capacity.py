"""When a vital capacity says that breathing muscles fail, in Guillain-Barré syndrome and its like.

The limits were published of people in hospital with Guillain-Barré syndrome; that they are used in
myasthenia too is ours.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "vital-capacity"
_ROWS: Final = PrintedRows("breathing/vital-capacity-rows", globals())
WEAK: Final = _ROWS.members("weak", ConditionKind)
