"""What sets rules off at one moment: a trigger, the values that met it, and since when."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Literal, TypedDict, Unpack

from weatherglass.assessments.telling.basis import origins_of
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.calcium import NOT_ADJUSTED
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.limits_met import Met, meets
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, Trigger
from weatherglass.knowledge.medicines.rules.timing import CAME_WITH_FOR, RESULT_IS_OLD
from weatherglass.model.findings import URGENCY_OF, Measure, newest_at
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.clauses import Window
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.value_words import value_words


class MetTrigger(Plain, frozen=True, kw_only=True):
    """One trigger that is met.

    Attributes:
        short: What met it, for a sentence about a medicine.
        said: The same with its time.
        since: When the present run of it began.
        asked_since: When it first was as bad as it is now; None where that is the same moment.
        grade: How bad, as a place in `urgencies.GRADES`.
        sources: Where the limit is printed.
        doubt: Why it may not be true; a doubtful trigger asks for what settles it and holds nothing.
        settles: What settles the doubt, where that is no second measurement.
        if_confirmed: Circumstances that would hold if it were true.
        cautions: What to know of the value itself.
        before: Before when it is decided; None where nothing sets that.
    """

    trigger: Trigger
    short: str
    said: str
    measures: tuple[Measure, ...] = ()
    origins: tuple[Origin, ...] = ()
    since: datetime | None = None
    asked_since: datetime | None = None
    grade: int = 0
    sources: tuple[Source, ...] = ()
    doubt: str = ""
    settles: str = ""
    if_confirmed: tuple[Circumstance, ...] = ()
    cautions: tuple[str, ...] = ()
    is_provisional: bool = False
    before: datetime | None = None

    @property
    def at(self) -> datetime | None:
        """When its newest number was measured."""
        return newest_at(self.measures)


#: A rule, and the trigger that it speaks by.
MetRule = tuple[MedicineRule, MetTrigger]


def since_when(items: Sequence[Measurement], is_met: Callable[[Measurement], bool]) -> datetime | None:
    """Return since when values have met a condition up to the newest; None when that does not."""
    first = first_of_run(items, is_met)
    return first.at if first is not None else None


def since_beyond(items: Sequence[Measurement], cutoff: Cutoff, *, least: Met = Met.MAYBE) -> datetime | None:
    """Return since when values have been beyond a limit, at least with this certainty."""
    return since_when(items, lambda one: meets(cutoff, one) >= least)


def words_of(signal: Signal, measured: Measurement, label: str = "") -> str:
    """Write a value as it is said: 'potassium 6.2 mmol/L', 'glucose below 1.1 mmol/L'."""
    is_total = measured.method == NOT_ADJUSTED
    named = label or (Signal.CALCIUM_TOTAL if is_total else signal).label
    return f"{named} {value_words(signal, measured)}"


def at_words(said: str, moment: datetime | None, clock: Clock) -> str:
    """Add the time to what is said."""
    return f"{said} ({clock.full(moment)})" if moment is not None else said


def met_by(
    bedside: Bedside,
    trigger: Trigger,
    signal: Signal,
    measured: Measurement,
    source: Source,
    since: datetime | None,
    *,
    asked_since: datetime | None = None,
    certainty: Met = Met.YES,
    grade: int = 0,
    also: Sequence[tuple[Signal, Measurement]] = (),
    doubt: str = "",
    cautions: tuple[str, ...] = (),
    label: str = "",
) -> MetTrigger:
    """Return the trigger that a value meets, and others with it; `label` where it is not its signal's."""
    values = [(signal, measured), *also]
    short = " with ".join((words_of(*values[0], label), *(words_of(*value) for value in values[1:])))
    if certainty is Met.MAYBE and not doubt:
        doubt = "two different values are recorded for that time"
    return MetTrigger(
        trigger=trigger,
        short=short,
        said=at_words(short, measured.at, bedside.clock),
        measures=tuple(measure_of(each, value) for each, value in values),
        origins=origins_of(value for _, value in values),
        since=since,
        asked_since=asked_since,
        grade=grade,
        sources=(source,),
        doubt=doubt,
        cautions=cautions,
        is_provisional=any(value.is_provisional for _, value in values),
    )


class Also(TypedDict, total=False):
    """What else a trigger that a value meets may have; see `met_by`."""

    asked_since: datetime | None
    grade: int
    also: Sequence[tuple[Signal, Measurement]]
    doubt: str
    cautions: tuple[str, ...]


def met_beyond(
    bedside: Bedside,
    trigger: Trigger,
    signal: Signal,
    measured: Measurement,
    cutoff: Cutoff,
    **more: Unpack[Also],
) -> MetTrigger:
    """Return the trigger that a value beyond a limit meets, since values have been beyond it."""
    since = since_beyond(bedside.series(signal).items, cutoff)
    certainty = meets(cutoff, measured)
    return met_by(bedside, trigger, signal, measured, cutoff.source, since, certainty=certainty, **more)


def met_by_words(
    trigger: Trigger,
    short: str,
    found: Sequence[Recorded],
    *,
    key: str,
    source: Source,
    label: str = "recorded",
    said: str = "",
    since: datetime | None = None,
) -> MetTrigger:
    """Return the trigger that something written down meets, since the first of it where nothing else is said.

    Args:
        trigger: Which one.
        short: What met it, for a sentence about a medicine.
        found: What was written down.
        key: Of its measures.
        source: What makes it count.
        label: Of its measures.
        said: The same as `short` with its time, where that is said.
        since: When it began, where that is not when the first of it was written down.
    """
    return MetTrigger(
        trigger=trigger,
        short=short,
        said=said or short,
        measures=tuple(Measure(key, label, one.text, at=one.at, origin=one.origin) for one in found),
        origins=origins_of(found),
        since=since or earliest(one.at for one in found),
        sources=(source,),
    )


def of_late(bedside: Bedside, kinds: tuple[ConditionKind, ...], window: Window) -> list[Recorded]:
    """Return confirmed problems that may have begun so lately; else what somebody came with, some days."""
    listed = [
        (one, one.began)
        for one in bedside.record.conditions_of(*kinds)
        if one.confirmed and one.may_have_begun_within(window.length, bedside.as_of)
    ]
    first_days = min(window.length, CAME_WITH_FOR.length)
    came = [
        (one, one.at)
        for one in bedside.record.came_for(*kinds)
        if one.confirmed and (one.at is None or bedside.as_of - one.at <= first_days)
    ]
    return [
        Recorded(one.text or min(one.kinds.intersection(kinds)).value, at, one.origin)
        for one, at in listed or came
    ]


def met_by_problems(trigger: Trigger, found: Sequence[Recorded], *, key: str, source: Source) -> MetTrigger:
    """Return the trigger that problems on record meet."""
    short = f"{', '.join(dict.fromkeys(inside_a_sentence(one.text) for one in found))} on record"
    return met_by_words(trigger, short, found, key=key, source=source)


def age_caution(measured: Measurement, bedside: Bedside) -> tuple[str, ...]:
    """Say that a result is old, where it is."""
    if bedside.as_of - measured.at <= RESULT_IS_OLD.length:
        return ()
    age = bedside.clock.apart(measured.at, bedside.as_of)
    return (f"The result is {age} old: repeat it before deciding.",)


def limit_of(
    bedside: Bedside, signal: Signal, side: Literal["high", "low"], least: UrgencyWord
) -> Cutoff | None:
    """Return the limit of the critical results, or a site's own, from which a result is at least this urgent.

    None where there is no such result, or where the site has set no limit as urgent as that.
    """
    graded = bedside.graded.get(f"{signal.value}-{side}")
    if graded is None:
        return None
    found = [band for band in graded.bands if URGENCY_OF[band.urgency] >= URGENCY_OF[least]]
    return found[-1].cutoff if found else None
