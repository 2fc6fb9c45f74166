"""Phoenix Sepsis Score: organs that fail in a child with suspected infection, 2024.

Data only; the rows are in `phoenix-2024.csv`. Off until a site switches it on. Sepsis is two points or
more with infection, shock one of them of the circulation.

Left out, with reasons:
    Newborns born before 37 weeks, for whom it was not made: gestation at birth is not read.
    Fixed pupils: no code that is read says them. They stay open in a child who is not alert.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.points.point_rows import point_rows
from weatherglass.model.numbers.quantities import Unit

KEY: Final = "phoenix"
PUBLIC_KEY: Final = "phoenix-2024"
_ROWS: Final = PrintedRows("scores/points/phoenix-2024-rows", globals())
NAME: Final = "Phoenix score"

ROWS: Final = point_rows(
    PUBLIC_KEY, {"p-f-mmhg": Unit.MILLIMETRE_OF_MERCURY, "s-f": Unit.RATIO, "vasoactives": Unit.SCORE}
)
LEAST: Final = 2
#: The first month of each band of mean pressure, oldest first.
PRESSURE_FROM: Final = (144, 60, 24, 12, 1, 0)
VASOACTIVES: Final = frozenset(
    {"noradrenaline", "adrenaline", "dopamine", "dobutamine", "milrinone", "vasopressin"}
)
