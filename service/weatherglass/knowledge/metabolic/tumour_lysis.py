"""Tumour lysis: what has to come together, in somebody with a cancer or a treatment of it.

The rows are in `tumour-lysis.csv`; two of them within a day make it.

Left out, with reasons:
    Urate: no code that is read carries it. It is named as what has to be measured.
    Ionised calcium: the printed limit fits no unit that laboratories report it in.
    A change by a quarter from before: taken back in 2011.
"""

from typing import Final, NamedTuple

from weatherglass.knowledge.data_files import Columns, cite, csv_table, cutoff
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "tumour-lysis"
_ROWS: Final = PrintedRows("metabolic/tumour-lysis-rows")


class _Row(Columns, frozen=True):
    signal: Signal
    when: str
    label: str
    source: str
    in_children: str = ""


class LysisLimit(NamedTuple):
    """One result that counts, in adults and, where that is another one, in children."""

    signal: Signal
    label: str
    adult: Cutoff
    child: Cutoff


def _limit(row: _Row) -> LysisLimit:
    source = cite(row.source)
    adult = cutoff(row.signal, row.when, source)
    child = cutoff(row.signal, row.in_children, source) if row.in_children else adult
    return LysisLimit(row.signal, row.label, adult, child)


LIMITS: Final = csv_table("metabolic/tumour-lysis.csv", _Row, _limit)
TOGETHER: Final = _ROWS.share("together")
WITHIN: Final = _ROWS.window("within")
CANCER: Final = (ConditionKind.CANCER, ConditionKind.CHEMOTHERAPY)
MEDICINES: Final = frozenset({MedicineClass.CANCER_MEDICINE})
ASKS: Final = _ROWS.clause("asks")
