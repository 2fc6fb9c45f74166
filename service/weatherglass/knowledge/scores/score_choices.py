"""What no publication fixes about scores: whom they are for, and what belongs to a round.

Data only. Every number here is ours, says why, and is listed in the catalogue for a site
to judge.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "score-choices"
_ROWS: Final = PrintedRows("scores/score-choices-rows", globals())

OPEN_TOTAL: Final = _ROWS.cutoff("open-total").limit

CALM_CIRCULATION: Final = _ROWS.members("calm-circulation", ConditionKind)
CALM_BREATHING: Final = _ROWS.members("calm-breathing", ConditionKind)
