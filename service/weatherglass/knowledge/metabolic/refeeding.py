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
_ROWS: Final = PrintedRows("metabolic/refeeding-rows", globals())

MEDICINES: Final = frozenset(_ROWS.members("medicines", MedicineClass))
_LOW: Final = _ROWS.source("low")
#: Where the laboratory sends no lower limit of its own.
LOW: Final[dict[Signal, Cutoff]] = {
    Signal.PHOSPHATE: cutoff(Signal.PHOSPHATE, "< 0.8", _LOW),
    Signal.POTASSIUM: cutoff(Signal.POTASSIUM, "< 3.5", _LOW),
    Signal.MAGNESIUM: cutoff(Signal.MAGNESIUM, "< 0.7", _LOW),
}
#: So low that the reason for the call has stepped up: the most urgent limit of each.
GRAVELY_LOW: Final[dict[Signal, Cutoff]] = {
    band.signal: band.cutoff
    for band in reversed(CRITICAL_RESULTS)
    if band.signal in LOW and not band.cutoff.compare.is_upward
}
