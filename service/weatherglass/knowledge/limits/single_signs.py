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
from datetime import timedelta
from enum import StrEnum
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, cite, csv_table, cutoff, publication
from weatherglass.knowledge.plain import Plain
from weatherglass.model.clauses import AgeLimit, Clause, Window
from weatherglass.model.signals import Consciousness, Signal
from weatherglass.model.sources import Mark, Source, our_choice
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "single-signs"

CALLING_1998: Final = publication("calling-criteria-1998")
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
        whose: Whom it is for.
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
SINGLE_SIGNS: Final = csv_table("limits/single-signs.csv", _Row, _sign)
#: A coma scale that endangers the airway.
COMA: Final = next(sign.cutoff for sign in SINGLE_SIGNS if sign.key == "coma-scale-low")


class SingleAnswer(Plain, frozen=True, kw_only=True):
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


_AT_ONCE = our_choice("who answers only to pain, or not at all, is an emergency at every age, new or not")
_WITHIN_THE_HOUR = our_choice(
    "who is not fully awake, or newly confused, is seen within the hour at every age: NICE lists it as "
    "high risk in children too"
)
ANSWERS: Final[Mapping[Consciousness, SingleAnswer]] = {
    row.answer: row
    for row in (
        SingleAnswer(
            answer=Consciousness.UNRESPONSIVE,
            said="Unresponsive",
            was="Was unresponsive",
            urgency="emergency",
            source=_AT_ONCE,
        ),
        SingleAnswer(
            answer=Consciousness.PAIN,
            said="Responds only to pain",
            was="Responded only to pain",
            urgency="emergency",
            source=_AT_ONCE,
        ),
        SingleAnswer(
            answer=Consciousness.VOICE,
            said="Responds only to voice",
            was="Responded only to voice",
            urgency="urgent",
            source=_WITHIN_THE_HOUR,
        ),
        SingleAnswer(
            answer=Consciousness.NEW_CONFUSION,
            said="New confusion",
            was="Was newly confused",
            urgency="urgent",
            source=_WITHIN_THE_HOUR,
        ),
    )
}

ADULT_FROM: Final = AgeLimit(
    years=16, source=our_choice("limits of rate and pressure for adults hold from 16, as NEWS2 does")
)
NO_SIGNS_OF_LIFE: Final = Clause(
    text=(
        "A breathing rate and a pulse of 0, or one of them with no response or no other sign of life: "
        "check the patient now, and make the arrest call where there are no signs of life and no decision "
        "against resuscitation."
    ),
    source=our_choice("an arrest is checked for at once, and no other call is named beside it"),
)
#: Ours: the check is not put off by any deadline.
CHECK_NOW: Final = Window(
    length=timedelta(minutes=1), source=our_choice("no breathing or no pulse is checked at once")
)
#: What is done at the bedside before anybody comes.
OXYGEN_NOW: Final = Clause(
    text="Oxygen to the target range",
    source=publication("bts-oxygen-2017").at(
        "oxygen in an emergency is given to the target range at once and prescribed after", Mark.FROM_MEMORY
    ),
)
NO_MORE_SEDATION: Final = Clause(
    text="No more opioid or sedative yet",
    source=our_choice("beside slow breathing the next dose of what sedates waits for a look"),
)
TARGET_ALLOWS: Final = Clause(
    text=(
        "A saturation that the prescribed target allows is no sign. Where the target begins below 90, "
        "that is the limit in the place of 90, and what is below it and not below 85 calls within the hour."
    ),
    source=our_choice("the prescribed target comes first: one point below 88-92% is no emergency"),
)
CONTRADICTED: Final = Clause(
    text=(
        "Of two readings of one round that contradict each other the worse one stands until a third is "
        "there, unless oxygen was begun or changed between them; both are said."
    ),
    source=our_choice("one better reading in the same round does not clear a dangerous one"),
)
SEIZURE_COUNTS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("a recorded seizure is a sign of its own for 24 hours; one without a date is not"),
)
SEIZURE_OVER: Final = our_choice("one seizure that is over calls within the hour")
SEIZURES_REPEATED: Final = CALLING_1998.at("table 5, repeated or prolonged seizures")
