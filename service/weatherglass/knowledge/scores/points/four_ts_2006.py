"""4Ts: how likely heparin is the cause of a fall of platelets, 2006.

Data only; the rows are in `four-ts-2006.csv`, read in restatements. Asked only where platelets have
fallen by 30 % or more with heparin on the chart, or ended within 30 days.

Left out, with reasons:
    Progressive or suspected thrombosis (1 point): a record has a thrombosis or has none.
    Whether another cause is definite: the team's judgement; what is on record as a cause is possible.
"""

from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.points.point_rows import Band, point_rows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Mark, Source

KEY: Final = "four-ts"
PUBLIC_KEY: Final = "four-ts-2006"
_ROWS: Final = PrintedRows("scores/points/four-ts-2006-rows", globals())
NAME: Final = "4Ts"
ROWS: Final = point_rows(PUBLIC_KEY)


def _lo(where: str) -> Source:
    return publication("lo-2006").at(where, Mark.SECONDARY)


BANDS: Final = (
    Band(6, "high probability", _lo("6 to 8 points")),
    Band(4, "intermediate probability", _lo("4 to 5 points")),
    Band(0, "low probability", _lo("0 to 3 points")),
)
NOT_LOW: Final = 4
#: From and until which day of heparin a fall brings these points.
DAYS: Final = ((0, 4, 0), (4, 5, 1), (5, 11, 2), (11, 10_000, 1))
OTHER_CAUSES: Final = _ROWS.members("other-causes", ConditionKind)
