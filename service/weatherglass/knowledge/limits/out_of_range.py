"""Results clearly abnormal and short of every limit that calls somebody, and what is usual in adults.

Data only. A quiet review names them in place of "nothing urgent found"; nobody is called for them. The
rows stand in `out-of-range.csv`: far enough from normal that a doctor wants to have seen it.

Left out, with reasons:
    What moves with every illness of a ward (C-reactive protein, white cells up to 30, glucose): it has
    limits of its own, and a row here would name it in most reviews.
"""

from decimal import Decimal
from typing import Final, NamedTuple

from weatherglass.knowledge.data_files import Columns, cite, csv_rows, cutoff
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "out-of-range"
_FILE: Final = "limits/out-of-range.csv"
_ROWS: Final = PrintedRows("limits/out-of-range-rows", globals())


class _Row(Columns, frozen=True):
    signal: Signal
    when: str
    source: str
    unless: tuple[ConditionKind, ...] = ()
    unless_on: tuple[MedicineClass, ...] = ()


class OutOfRange(NamedTuple):
    """A result that is abnormal at this number, unless a problem or a medicine makes it so."""

    signal: Signal
    label: str
    cutoff: Cutoff
    unless: tuple[ConditionKind, ...]
    unless_on: tuple[MedicineClass, ...]


class UsualRange(Columns, frozen=True):
    """What is usual in adults, of a result that no rule judges and whose sender sent no range."""

    signal: Signal
    low: Decimal
    high: Decimal
    source: Source


USUAL_RANGES: Final = {row.signal: row for row in csv_rows("limits/usual-ranges.csv", UsualRange)}

OUT_OF_RANGE: Final = tuple(
    OutOfRange(
        row.signal,
        row.signal.label,
        cutoff(row.signal, row.when, cite(row.source)),
        row.unless,
        row.unless_on,
    )
    for row in csv_rows(_FILE, _Row)
)
