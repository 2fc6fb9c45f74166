"""Refeeding: who is at high risk, and when falling phosphate, potassium or magnesium speak for it.

The criteria of NICE CG32, 2006, were read in a restatement; what a fall is comes from memory.

Left out, with reasons:
    For how long little was eaten: no code that is read says it. Its criteria stay open and are named.
"""

from typing import Final

from weatherglass.knowledge.data_files import cutoff
from weatherglass.knowledge.limits.critical_results import CRITICAL_RESULTS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "refeeding"
_ROWS: Final = PrintedRows("metabolic/refeeding-rows")

THIN: Final = _ROWS.share("thin")
LEAN: Final = _ROWS.share("lean")
LOSS: Final = _ROWS.share("loss")
LESSER_LOSS: Final = _ROWS.share("lesser-loss")
LOSS_FROM: Final = _ROWS.window("loss-from")
LOSS_UNTIL: Final = _ROWS.window("loss-until")
WEIGHT_COUNTS_FOR: Final = _ROWS.window("weight-counts-for")
LOW_BEFORE: Final = _ROWS.clause("low-before")
MEDICINES: Final = frozenset(_ROWS.members("medicines", MedicineClass))
ALCOHOL_OR_MEDICINES: Final = _ROWS.clause("alcohol-or-medicines")
_LOW: Final = _ROWS.source("low")
#: Where the laboratory sends no lower limit of its own.
LOW: Final[dict[Signal, Cutoff]] = {
    Signal.PHOSPHATE: cutoff(Signal.PHOSPHATE, "< 0.8", _LOW),
    Signal.POTASSIUM: cutoff(Signal.POTASSIUM, "< 3.5", _LOW),
    Signal.MAGNESIUM: cutoff(Signal.MAGNESIUM, "< 0.7", _LOW),
}
GRAVE: Final = _ROWS.source("grave")
#: So low that the reason for the call has stepped up: the most urgent limit of each.
GRAVELY_LOW: Final[dict[Signal, Cutoff]] = {
    band.signal: band.cutoff
    for band in reversed(CRITICAL_RESULTS)
    if band.signal in LOW and not band.cutoff.compare.is_upward
}
FALL: Final = _ROWS.share("fall")
FALL_ALONE: Final = _ROWS.share("fall-alone")
WITHIN: Final = _ROWS.window("within")
COUNTS_FOR: Final = _ROWS.window("counts-for")
FED_FOR: Final = _ROWS.window("fed-for")
ASKS: Final = _ROWS.clause("asks")
URGENT: Final = _ROWS.clause("urgent")
