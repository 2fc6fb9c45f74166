"""Was anaphylaxis recorded in the last day, and what was begun or given shortly before it?

What was given before a reaction is no recorded allergy yet. It is met like one: nobody is asked
to make sure that the next dose is given.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timedelta

from weatherglass.facts.medicines.allergy_check import SUSPECTED, Meeting, Strength
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.emergencies import anaphylaxis as limits
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Allergy
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin


class Anaphylaxis(Plain, frozen=True):
    """A reaction as it is written.

    Attributes:
        text: Its words.
        at: When it was recorded to begin.
        origin: Where it stands.
    """

    text: str
    at: datetime
    origin: Origin


def recent_anaphylaxis(record: Record, as_of: datetime) -> Anaphylaxis | None:
    """Return the newest reaction of the last day: a problem, or the reason of a stay or a request."""
    found = [
        Anaphylaxis(words, at, origin)
        for words, at, origin, _ in record.dated_events(ConditionKind.ANAPHYLAXIS)
        if timedelta(0) <= as_of - at <= limits.COUNTS_FOR.length
    ]
    return max(found, key=lambda one: (one.at, one.origin), default=None)


def suspects(reaction: Anaphylaxis, lines: Iterable[Line]) -> Iterator[Line]:
    """Yield what was begun or given shortly before a reaction, apart from what treats one."""
    for line in lines:
        if not limits.TREATMENTS.isdisjoint(line.medicine.ingredients):
            continue
        moments = (line.since, line.last_dose.at if line.last_dose is not None else None)
        spans = (reaction.at - at for at in moments if at is not None)
        if any(timedelta(0) <= span <= limits.SUSPECTED_WITHIN.length for span in spans):
            yield line


def treatment_given(record: Record, reaction: Anaphylaxis) -> tuple[Administration, ...]:
    """Return the doses of what treats a reaction, given around its beginning or since, oldest first."""
    since = reaction.at - limits.GIVEN_FROM.length
    return tuple(
        one
        for one in record.administrations
        if one.at >= since and not limits.MEDICINES.isdisjoint(one.medicine.ingredients)
    )


def is_adrenaline(dose: Administration) -> bool:
    """Tell whether a dose was the one that treats the reaction."""
    return not limits.ADRENALINE.isdisjoint(dose.medicine.ingredients)


def met_as_suspects(reaction: Anaphylaxis, lines: Iterable[Line]) -> Mapping[Origin, Meeting]:
    """Return what each suspected line meets, as if its allergy were recorded."""
    allergy = Allergy(origin=reaction.origin, text=reaction.text, recorded=reaction.at)
    met = Meeting(
        allergy,
        Strength.AVOID,
        is_severe=True,
        why="it was begun or given shortly before",
        group=SUSPECTED,
        source=limits.SUSPECTED_WITHIN.source,
    )
    return {line.order: met for line in suspects(reaction, lines)}
