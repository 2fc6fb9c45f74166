"""What is measured how often while a medicine runs into a vein, and from when it is said that nobody has.

The rows stand in `watched-infusions.toml`.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, Hours, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.letters import Letter
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "watched-infusions"


class WatchedInfusion(Columns, frozen=True, kw_only=True):
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
    classes: frozenset[MedicineClass]
    measured: tuple[Signal, ...]
    every: Hours
    late: Hours
    letter: Letter
    soon: UrgencyWord
    asks: str
    sources: tuple[Source, ...]


WATCHED_INFUSIONS: Final = toml_members("limits/watched-infusions.toml", WatchedInfusion)
