"""Infections that antibacterials do not treat: malaria, encephalitis, fungi, tuberculosis, viruses.

The rows stand in `other-causes.toml`. Where every infection on record is one of them, and no antibacterial is
on the chart, the sentence on sepsis asks for what treats it, or whether bacteria are there too.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, all_named, cite, cutoff, named, publication, toml_table
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import Clause
from weatherglass.model.record import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Cutoff

PUBLIC_KEY: Final = "infections-of-other-causes"


class _Row(Columns, frozen=True):
    kind: str
    classes: tuple[str, ...]
    medicine: str
    source: str
    due: bool = False
    alone: str = ""


class OtherCause(Plain, frozen=True, kw_only=True):
    """One cause that antibacterials do not treat.

    Attributes:
        key: Stable key.
        kind: What the problem is recorded as.
        classes: What counts as its treatment.
        medicine: That treatment as a reader calls it.
        due: Whether it is due as an antimicrobial is.
        alone: What holds while no bacteria are there; empty where its own medicine is due.
        source: Where that is stated.
    """

    key: str
    kind: ConditionKind
    classes: frozenset[str]
    medicine: str
    due: bool
    alone: str
    source: Source


def _cause(key: str, row: _Row) -> OtherCause:
    return OtherCause(
        key=key,
        kind=named(ConditionKind, row.kind),
        classes=frozenset(one.value for one in all_named(MedicineClass, row.classes)),
        medicine=row.medicine,
        due=row.due,
        alone=row.alone,
        source=cite(row.source),
    )


CAUSES: Final = toml_table("sepsis/other-causes.toml", _Row, _cause)
BACTERIA_ARE_ASKED: Final = Clause(
    text=(
        "Where every infection on record is of another cause and no antibacterial is on the chart, what "
        "treats that cause counts as the antimicrobial, and whether bacteria are there too is decided within "
        "the same time; at low risk nothing is asked."
    ),
    source=our_choice(
        "with a known virus bacteria are thought of within the hour, and not treated by a clock"
    ),
)
_BRONCHIOLITIS: Final = publication("nice-ng9").at(
    "severe respiratory distress: marked recession, or breathing above 70", Mark.FROM_MEMORY
)
FAST_IN_BRONCHIOLITIS: Final[Cutoff] = cutoff(Signal.RESPIRATION_RATE, "> 70", _BRONCHIOLITIS)
BELOW_MONTHS: Final = 24
BREATHING_ALONE: Final = Clause(
    text=(
        "Under 2 years with a recorded virus, breathing of 70 or less and oxygen, with no other sign of high "
        "risk, are urgent: a senior decision within the hour."
    ),
    source=our_choice(
        "fast breathing and oxygen are bronchiolitis itself, which has signs of severity of its own"
    ),
)
