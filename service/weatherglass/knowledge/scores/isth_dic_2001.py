"""Overt disseminated intravascular coagulation by points, ISTH, 2001.

Data only; the rows are in `isth-dic-2001.csv`, read in restatements. Asked only beside low platelets or
fibrinogen in somebody who has a disorder that brings it.

Left out, with reasons:
    What a strong rise of D-dimer is: the publication gives no number. One above the laboratory's own
        range scores 2 at least and 3 at most.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.point_rows import Band, point_rows
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

KEY: Final = "isth-dic"
PUBLIC_KEY: Final = "isth-dic-2001"
NAME: Final = "ISTH score of overt DIC"
PROLONGATION: Final = "prolongation of prothrombin time"
STRONG_RISE: Final = "strong rise of D-dimer"
MARKER: Final = "D-dimer"

_ISTH: Final = publication("isth-dic-2001").at("5 or more points: overt", Mark.SECONDARY)
ROWS: Final = point_rows(PUBLIC_KEY, {PROLONGATION: Unit.SECOND})
BANDS: Final = (Band(5, "overt DIC", _ISTH), Band(0, "not overt DIC now", _ISTH))
OVERT: Final = 5
#: A disorder that is known to bring it; infection and sepsis stand for themselves.
DISORDERS: Final = (
    ConditionKind.CANCER,
    ConditionKind.LIVER_DISEASE,
    ConditionKind.HEAD_INJURY,
    ConditionKind.POISONING,
    ConditionKind.CARDIAC_ARREST,
)
WITH_A_DISORDER: Final = Clause(
    text="Holds only beside a disorder that brings it.",
    source=publication("isth-dic-2001").at("only with an underlying disorder", Mark.SECONDARY),
)
_ASKED: Final = our_choice(
    "DIC is asked about at platelets below 100 that were not so low in the year before, or fibrinogen below 1"
)
ASKED_PLATELETS: Final = Cutoff(
    compare=Compare.BELOW, limit=Quantity(Decimal(100), Unit.BILLION_PER_LITRE), source=_ASKED
)
ASKED_FIBRINOGEN: Final = Cutoff(
    compare=Compare.BELOW, limit=Quantity(Decimal(1), Unit.GRAM_PER_LITRE), source=_ASKED
)
OF_OLD: Final = Share(
    value=Decimal("1.3"),
    source=our_choice("platelets of the year before up to 30 % above those of now are as low as usual"),
)
OF_OLD_FROM: Final = Window(length=timedelta(days=365), source=OF_OLD.source)
OF_OLD_UNTIL: Final = Window(length=timedelta(days=8), source=OF_OLD.source)
COUNTS_FOR: Final = Window(
    length=timedelta(hours=48), source=our_choice("results of the last 48 hours count for coagulation")
)
INR_IS_SHORT: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal("1.2"), Unit.INR),
    source=our_choice("an INR of 1.2 or less stands for a prothrombin time prolonged by less than 3 seconds"),
)
ASKS: Final = Clause(
    text="bleeding and thrombosis to be looked for, and haematology to be asked",
    source=our_choice("overt DIC by points is 'urgent'"),
)
ANTICOAGULANT: Final = Clause(
    text="An anticoagulant on the chart prolongs the prothrombin time by itself.",
    source=our_choice("the points stand, and the anticoagulant is said beside them"),
)
