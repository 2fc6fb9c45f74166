"""Phoenix Sepsis Score: organs that fail in a child with suspected infection, 2024.

Data only; the rows are in `phoenix-2024.csv`. Off until a site switches it on. Sepsis is two points or
more with infection, shock one of them of the circulation.

Left out, with reasons:
    Newborns born before 37 weeks, for whom it was not made: gestation at birth is not read.
    Fixed pupils: no code that is read says them. They stay open in a child who is not alert.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.point_rows import point_rows
from weatherglass.model.clauses import AgeLimit, Clause, Share, Window
from weatherglass.model.quantities import Unit
from weatherglass.model.sources import our_choice

KEY: Final = "phoenix"
PUBLIC_KEY: Final = "phoenix-2024"
NAME: Final = "Phoenix score"

_PAPER: Final = publication("phoenix-2024")
ROWS: Final = point_rows(
    PUBLIC_KEY, {"p-f-mmhg": Unit.MILLIMETRE_OF_MERCURY, "s-f": Unit.RATIO, "vasoactives": Unit.SCORE}
)
SEPSIS: Final = Clause(
    text="Two points or more with infection.", source=_PAPER.at("sepsis: 2 points or more")
)
SHOCK: Final = Clause(
    text="One of them of the circulation.", source=_PAPER.at("septic shock: 1 cardiovascular point")
)
LEAST: Final = 2
UNDER: Final = AgeLimit(years=18, source=_PAPER.at("under 18 years"))
#: The first month of each band of mean pressure, oldest first.
PRESSURE_FROM: Final = (144, 60, 24, 12, 1, 0)
MOST_OF_COAGULATION: Final = Share(value=Decimal(2), source=_PAPER.at("coagulation: at most 2 points"))
READABLE_SATURATION: Final = Share(
    value=Decimal(97), source=_PAPER.at("SpO2/FiO2 only at SpO2 of 97 % or less")
)
VASOACTIVES: Final = frozenset(
    {"noradrenaline", "adrenaline", "dopamine", "dobutamine", "milrinone", "vasopressin"}
)
COUNTS_FOR: Final = Window(
    length=timedelta(hours=24), source=our_choice("what was measured in the last 24 hours counts for Phoenix")
)
URGENT: Final = Clause(
    text="the paediatric team to look now",
    source=our_choice(
        "sepsis by Phoenix is 'urgent', not an emergency by itself: coagulation alone makes two, and a "
        "high-risk sign of NICE calls sooner"
    ),
)
ALERT: Final = Clause(
    text="In an alert child pupils are taken as reacting.",
    source=our_choice("fixed pupils are not looked for in a child who is alert"),
)
