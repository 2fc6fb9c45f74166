"""Tumour lysis: what has to come together, in somebody with a cancer or a treatment of it.

The rows are in `tumour-lysis.csv`; two of them within a day make it.

Left out, with reasons:
    Ionised calcium: the printed limit fits no unit that laboratories report it in.
    A change by a quarter from before: taken back in 2011.
"""

from typing import Final

from weatherglass.knowledge.data_files import SignalLimit, csv_rows, cutoff
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.once import cached_property
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "tumour-lysis"
_ROWS: Final = PrintedRows("metabolic/tumour-lysis-rows", globals())


class LysisLimit(SignalLimit, frozen=True):
    """One result that counts, in adults and, where that is another one, in children."""

    label: str
    in_children: str = ""

    @cached_property
    def child(self) -> Cutoff:
        """The limit in children."""
        return cutoff(self.signal, self.in_children or self.when, self.source)


LIMITS: Final = csv_rows("metabolic/tumour-lysis.csv", LysisLimit)
CANCER: Final = (ConditionKind.CANCER, ConditionKind.CHEMOTHERAPY)
MEDICINES: Final = frozenset({MedicineClass.CANCER_MEDICINE})
