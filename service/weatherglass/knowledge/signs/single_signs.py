"""Single signs that call somebody by themselves, whatever a total says.

Data only: the limits of `single-signs.csv`. Medical-emergency-team criteria are published in several
forms that differ in their numbers; each row names the published form nearest to it. A row that is not
exactly that form is our choice and says why. A site can put its own numbers in their place.

Rates and pressures are those of adults, and of pregnancy at any age: a child's normal depends
on age, and a table of its own speaks there. How alert somebody is, a breathing or a pulse that
is absent, saturation and temperature count at every age.

Left out, with reasons:
    Fits, running or repeated: no code that is read tells a fit that is seen from epilepsy.
    Worry: a recorded concern is a finding of its own.
    Any other 3 of one sign in NEWS2: the score says it itself, and calls within the hour.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, cite, csv_rows, csv_table, cutoff, publication
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Consciousness, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "single-signs"
_ROWS: Final = PrintedRows("signs/single-signs-rows", globals())

CONFUSION_2019: Final = publication("clin-med-2019-confusion")


class Whose(StrEnum):
    """Whom a row is for."""

    EVERYBODY = "every age, in pregnancy too"
    ADULTS = "16 years and over, in pregnancy too"
    CHILDREN = "under 16 years, by age"


class SingleSign(Plain, frozen=True, kw_only=True):
    """One limit of one sign on one side.

    Attributes:
        key: Sign and side ("respiration-low"); a site changes the limits by it.
        label: How the sign is said at the beginning of a sentence.
        cutoff: The limit, with its inequality and source.
        nearest: The published form that it is nearest to, where it is not that form itself.
    """

    key: str
    signal: Signal
    label: str
    cutoff: Cutoff
    urgency: UrgencyWord
    whose: Whose
    nearest: Source | None = None

    @property
    def source(self) -> Source:
        """Where the limit comes from."""
        return self.cutoff.source

    @property
    def sources(self) -> tuple[Source, ...]:
        """Where the limit comes from, and what it departs from."""
        return (self.source, *((self.nearest,) if self.nearest is not None else ()))


class _Row(Columns, frozen=True):
    key: str
    signal: Signal
    when: str
    label: str
    urgency: UrgencyWord
    whose: Literal["everybody", "adults", "children"]
    source: str
    nearest: str = ""


def _sign(row: _Row) -> SingleSign:
    return SingleSign(
        key=row.key,
        signal=row.signal,
        label=row.label,
        cutoff=cutoff(row.signal, row.when, cite(row.source)),
        urgency=row.urgency,
        whose=Whose[row.whose.upper()],
        nearest=cite(row.nearest) if row.nearest else None,
    )


#: The rows of `single-signs.csv`; the most urgent limit of a key first.
SINGLE_SIGNS: Final = csv_table("signs/single-signs.csv", _Row, _sign)
#: A coma scale that endangers the airway.
COMA: Final = next(sign.cutoff for sign in SINGLE_SIGNS if sign.key == "coma-scale-low")


class SingleAnswer(Columns, frozen=True):
    """What one answer about consciousness calls for, at every age and in pregnancy.

    Attributes:
        said: How it is said now.
        was: How it is said once it is past.
    """

    answer: Consciousness
    said: str
    was: str
    urgency: UrgencyWord
    source: Source


ANSWERS: Final[Mapping[Consciousness, SingleAnswer]] = {
    row.answer: row for row in csv_rows("signs/single-answers.csv", SingleAnswer)
}
VASODILATORS: Final = frozenset(_ROWS.members("vasodilators", MedicineClass))
SLOWS_PULSE: Final = frozenset(_ROWS.members("slows-pulse", MedicineClass))
SLOW_BY_ILLNESS: Final = _ROWS.members("slow-by-illness", ConditionKind)
