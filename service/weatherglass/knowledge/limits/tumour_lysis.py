"""Tumour lysis: what has to come together, in somebody with a cancer or a treatment of it.

The rows are in `tumour-lysis.csv`; two of them within a day make it.

Left out, with reasons:
    Urate: no code that is read carries it. It is named as what has to be measured.
    Ionised calcium: the printed limit fits no unit that laboratories report it in.
    A change by a quarter from before: taken back in 2011.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, NamedTuple

from weatherglass.knowledge.data_files import Columns, cite, csv_table, cutoff
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.clauses import Clause, Share, Window
from weatherglass.model.record import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "tumour-lysis"


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


LIMITS: Final = csv_table("limits/tumour-lysis.csv", _Row, _limit)
TOGETHER: Final = Share(value=Decimal(2), source=LIMITS[0].adult.source)
WITHIN: Final = Window(length=timedelta(hours=24), source=LIMITS[0].adult.source)
CANCER: Final = (ConditionKind.CANCER, ConditionKind.CHEMOTHERAPY)
MEDICINES: Final = frozenset({MedicineClass.CANCER_MEDICINE})
ASKS: Final = Clause(
    text="ECG, urate and fluids now, and haematology or oncology to be asked at once",
    source=our_choice("two results of tumour lysis in somebody with a cancer are 'urgent'"),
)
