"""Refeeding: who is at high risk, and when falling phosphate, potassium or magnesium speak for it.

The criteria of NICE CG32, 2006, were read in a restatement; what a fall is comes from memory.

Left out, with reasons:
    For how long little was eaten: no code that is read says it. Its criteria stay open and are named.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import cutoff, memory, publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "refeeding"


def _nice(where: str) -> Source:
    return publication("nice-cg32").at(where, Mark.SECONDARY)


#: Kilograms for each square metre: below it is one criterion that is enough.
THIN: Final = Share(value=Decimal(16), source=_nice("one of: BMI below 16"))
LEAN: Final = Share(value=Decimal("18.5"), source=_nice("two of: BMI below 18.5"))
LOSS: Final = Share(value=Decimal("0.15"), source=_nice("one of: loss of more than 15 % in 3 to 6 months"))
LESSER_LOSS: Final = Share(value=Decimal("0.10"), source=_nice("two of: loss of more than 10 %"))
LOSS_FROM: Final = Window(length=timedelta(days=183), source=LOSS.source)
LOSS_UNTIL: Final = Window(length=timedelta(days=30), source=our_choice("a weight a month old shows a loss"))
WEIGHT_COUNTS_FOR: Final = Window(
    length=timedelta(days=30), source=our_choice("a weight counts for a month, a height for good")
)
LOW_BEFORE: Final = Clause(
    text="Low potassium, phosphate or magnesium before feeding is enough by itself.",
    source=_nice("one of: low potassium, phosphate or magnesium before feeding"),
)
MEDICINES: Final = frozenset(
    {
        MedicineClass.INSULIN,
        MedicineClass.LOOP_DIURETIC,
        MedicineClass.THIAZIDE,
        MedicineClass.POTASSIUM_SPARING,
        MedicineClass.CANCER_MEDICINE,
    }
)
ALCOHOL_OR_MEDICINES: Final = Clause(
    text="Alcohol, insulin, chemotherapy or diuretics count as one of two.",
    source=_nice("two of: alcohol, or insulin, chemotherapy, antacids or diuretics"),
)
_LOW: Final = memory("lower limits: potassium 3.5, phosphate 0.8, magnesium 0.7 mmol/L")
#: Where the laboratory sends no lower limit of its own.
LOW: Final[dict[Signal, Cutoff]] = {
    Signal.PHOSPHATE: cutoff(Signal.PHOSPHATE, "< 0.8", _LOW),
    Signal.POTASSIUM: cutoff(Signal.POTASSIUM, "< 3.5", _LOW),
    Signal.MAGNESIUM: cutoff(Signal.MAGNESIUM, "< 0.7", _LOW),
}
FALL: Final = Share(
    value=Decimal("0.2"),
    source=memory("refeeding: a fall of phosphate, potassium or magnesium by 20 % or more in 5 days"),
)
WITHIN: Final = Window(length=timedelta(days=5), source=FALL.source)
COUNTS_FOR: Final = Window(
    length=timedelta(hours=48), source=our_choice("electrolytes of the last 48 hours count for refeeding")
)
FED_FOR: Final = Window(
    length=timedelta(days=10),
    source=our_choice("after ten days of feeding nothing is asked any more: the danger is in the first days"),
)
ASKS: Final = Clause(
    text="thiamine, slow feeding and daily potassium, phosphate and magnesium to be considered",
    source=_nice("feeding at high risk: thiamine, a slow start, daily potassium, phosphate and magnesium"),
)
URGENT: Final = Clause(
    text="A fall to below the limit while somebody is fed is urgent.",
    source=our_choice(
        "falling phosphate, potassium or magnesium after feeding began is 'urgent', from memory never more; "
        "a high risk with a low value is 'prompt'"
    ),
)
