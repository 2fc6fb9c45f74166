"""Overt disseminated intravascular coagulation by points, ISTH, 2001.

Data only; the rows are in `isth-dic-2001.csv`, read in restatements. Asked only beside low platelets or
fibrinogen in somebody who has a disorder that brings it.

Left out, with reasons:
    What a strong rise of D-dimer is: the publication gives no number. One above the laboratory's own
        range scores 2 at least and 3 at most.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.points.point_rows import Band, point_rows
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.record.problems import ConditionKind

KEY: Final = "isth-dic"
PUBLIC_KEY: Final = "isth-dic-2001"
_ROWS: Final = PrintedRows("scores/points/isth-dic-2001-rows", globals())
NAME: Final = "ISTH score of overt DIC"
PROLONGATION: Final = "prolongation of prothrombin time"
STRONG_RISE: Final = "strong rise of D-dimer"
MARKER: Final = "D-dimer"

_ISTH: Final = _ROWS.source("isth")
ROWS: Final = point_rows(PUBLIC_KEY, {PROLONGATION: Unit.SECOND})
BANDS: Final = (Band(5, "overt DIC", _ISTH), Band(0, "not overt DIC now", _ISTH))
OVERT: Final = 5
DISORDERS: Final = _ROWS.members("disorders", ConditionKind)
