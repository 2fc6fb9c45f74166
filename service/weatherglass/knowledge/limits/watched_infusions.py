"""What is measured how often while a medicine runs into a vein; the rows are in `watched-infusions.toml`."""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, cite, toml_rows
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.letters import Letter
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "watched-infusions"


class _Row(Columns, frozen=True):
    classes: tuple[MedicineClass, ...]
    measured: tuple[Signal, ...]
    every: int
    late: int
    letter: Letter
    soon: UrgencyWord
    asks: str
    sources: tuple[str, ...]


class WatchedInfusion(Plain, frozen=True, kw_only=True):
    """What is measured while a medicine is given by vein.

    Attributes:
        key: Stable key.
        classes: Classes of the medicine.
        measured: Signals of which one counts, the first one named.
        every: How often, by what is published.
        late: How long after the last value, or after it began, it is said.
        letter: Where it is told.
        soon: How soon.
        asks: What the sentence goes on with.
        sources: Where it is stated, the first one first.
    """

    key: str
    classes: frozenset[str]
    measured: tuple[Signal, ...]
    every: timedelta
    late: timedelta
    letter: Letter
    soon: UrgencyWord
    asks: str
    sources: tuple[Source, ...]


def _watched(key: str, row: _Row) -> WatchedInfusion:
    return WatchedInfusion(
        key=key,
        classes=frozenset(each.value for each in row.classes),
        measured=row.measured,
        every=timedelta(hours=row.every),
        late=timedelta(hours=row.late),
        letter=row.letter,
        soon=row.soon,
        asks=row.asks,
        sources=tuple(cite(line) for line in row.sources),
    )


WATCHED_INFUSIONS: Final = tuple(
    _watched(key, row) for key, row in toml_rows("limits/watched-infusions.toml", _Row).items()
)
