"""Infections that antibacterials do not treat: malaria, encephalitis, fungi, tuberculosis, viruses.

The rows stand in `other-causes.toml`, the numbers and sentences in `other-causes-rows.csv`. Where every
infection on record is one of them, and no antibacterial is on the chart, the sentence on sepsis asks for what
treats it, or whether bacteria are there too.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, all_named, cite, length, named, toml_table
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.plain import Plain
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "infections-of-other-causes"


class _Row(Columns, frozen=True):
    kind: str
    classes: tuple[str, ...]
    medicine: str
    source: str
    counts_for: str = ""
    due: bool = False
    alone: str = ""


class OtherCause(Plain, frozen=True, kw_only=True):
    """One cause that antibacterials do not treat.

    Attributes:
        key: Stable key.
        kind: What the problem is recorded as.
        classes: What counts as its treatment.
        medicine: That treatment as a reader calls it.
        counts_for: How long a record speaks of now where its treatment does not; None for always.
        due: Whether it is due as an antimicrobial is.
        alone: What holds while no bacteria are there; empty where its own medicine is due.
        source: Where that is stated.
    """

    key: str
    kind: ConditionKind
    classes: frozenset[str]
    medicine: str
    counts_for: timedelta | None
    due: bool
    alone: str
    source: Source


def _cause(key: str, row: _Row) -> OtherCause:
    return OtherCause(
        key=key,
        kind=named(ConditionKind, row.kind),
        classes=frozenset(one.value for one in all_named(MedicineClass, row.classes)),
        medicine=row.medicine,
        counts_for=length(row.counts_for),
        due=row.due,
        alone=row.alone,
        source=cite(row.source),
    )


CAUSES: Final = toml_table("sepsis/other-causes.toml", _Row, _cause)
_ROWS: Final = PrintedRows("sepsis/other-causes-rows")
BACTERIA_ARE_ASKED: Final = _ROWS.clause("bacteria-are-asked")
FAST_IN_BRONCHIOLITIS: Final = _ROWS.cutoff("fast-in-bronchiolitis")
BELOW_AGE: Final = _ROWS.age("below-age")
BREATHING_ALONE: Final = _ROWS.clause("breathing-alone")
