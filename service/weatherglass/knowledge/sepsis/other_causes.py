"""Infections that antibacterials do not treat: malaria, encephalitis, fungi, tuberculosis, viruses.

The rows stand in `other-causes.toml`, the numbers and sentences in `other-causes-rows.csv`. Where every
infection on record is one of them, and no antibacterial is on the chart, the sentence on sepsis asks for what
treats it, or whether bacteria are there too.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, Lasting, Named, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "infections-of-other-causes"


class OtherCause(Columns, frozen=True, kw_only=True):
    """One cause that antibacterials do not treat; its columns are explained in `other-causes.toml`."""

    key: str
    kind: Named[ConditionKind]
    classes: frozenset[Named[MedicineClass]]
    medicine: str
    counts_for: Lasting | None = None
    due: bool = False
    alone: str = ""
    source: Source


CAUSES: Final = toml_members("sepsis/other-causes.toml", OtherCause)
_ROWS: Final = PrintedRows("sepsis/other-causes-rows", globals())
#: Of the young first.
BREATHING_OF_A_WHEEZE: Final = (
    _ROWS.cutoff("breathing-of-a-young-wheeze"),
    _ROWS.cutoff("breathing-of-a-wheeze"),
)
PULSE_OF_A_WHEEZE: Final = _ROWS.cutoff("pulse-of-a-young-wheeze"), _ROWS.cutoff("pulse-of-a-wheeze")
