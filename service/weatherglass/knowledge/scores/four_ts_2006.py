"""4Ts: how likely heparin is the cause of a fall of platelets, 2006.

Data only; the rows are in `four-ts-2006.csv`, read in restatements. Asked only where platelets have
fallen by 30 % or more with heparin on the chart, or ended within 30 days.

Left out, with reasons:
    Progressive or suspected thrombosis (1 point): a record has a thrombosis or has none.
    Whether another cause is definite: the team's judgement; what is on record as a cause is possible.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.point_rows import Band, point_rows
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Mark, Source, our_choice

KEY: Final = "four-ts"
PUBLIC_KEY: Final = "four-ts-2006"
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
FALL: Final = Share(value=Decimal("0.3"), source=_lo("fall of 30 % or more"))
FALL_BY_HALF: Final = Share(value=Decimal("0.5"), source=_lo("fall of more than 50 %"))
NADIR: Final = Share(value=Decimal(20), source=_lo("nadir of 20 or more"))
LEAST_NADIR: Final = Share(value=Decimal(10), source=_lo("nadir below 10: no points"))
BEFORE: Final = Window(
    length=timedelta(days=30),
    source=our_choice("platelets are compared with the highest count of the 30 days before the newest"),
)
EXPOSED_BEFORE: Final = Window(
    length=timedelta(days=30), source=_lo("heparin in the last 30 days makes a fall within a day fit")
)
#: From and until which day of heparin a fall brings these points.
DAYS: Final = ((0, 4, 0), (4, 5, 1), (5, 11, 2), (11, 10_000, 1))
FIRST_DAY: Final = Window(length=timedelta(days=1), source=_lo("within a day after an earlier exposure"))
DAY_4: Final = Clause(
    text="A fall that begins on day 4 scores 1.",
    source=our_choice("the publication scores days before 4 and from 5: day 4 is 'consistent but not clear'"),
)
OTHER_CAUSES: Final = (
    ConditionKind.INFECTION,
    ConditionKind.SEPSIS,
    ConditionKind.CANCER,
    ConditionKind.CHEMOTHERAPY,
    ConditionKind.LIVER_DISEASE,
    ConditionKind.BLEEDING,
    ConditionKind.PREECLAMPSIA,
)
ASKS: Final = Clause(
    text="heparin of every kind to be reconsidered now, with haematology: a test, and another anticoagulant",
    source=our_choice("4Ts of 4 or more are 'urgent': heparin given on feeds the clotting"),
)
TO_BE_COMPLETED: Final = Clause(
    text="to be completed",
    source=our_choice("3 points with parts open are 'prompt': one part more makes it intermediate"),
)
