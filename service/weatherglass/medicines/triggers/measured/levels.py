"""Medicines dosed by their level: one that is too high or too low, and one that is overdue.

The range that comes with the result comes first; where none is sent our toxic limits decide.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.facts.medicines.given_in_turn import GivenInTurn, given_in_turn, is_too_early
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.limits_met import Met, meets, surely
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.rules import levels
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES, LevelRule
from weatherglass.knowledge.medicines.rules.rule import MedicineRule, Trigger
from weatherglass.knowledge.medicines.rules.timing import VITAL_SIGNS_COUNT_FOR
from weatherglass.medicines.triggers.met import (
    MetRule,
    MetTrigger,
    at_words,
    since_beyond,
    since_when,
    words_of,
)
from weatherglass.model.numbers.quantities import Quantity, plain, round_half_up
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Sample, Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.value_words import limit_words

_SENT_RANGE: Final = our_choice("the range that the laboratory sends with a level comes before our limits")
#: A limit of ours by its urgency, as the degree of the trigger.
_DEGREES: Final = {"emergency": 2, "urgent": 1, "prompt": 0, "routine": 0}


class LevelRules(Plain, frozen=True):
    """The rules of one medicine; `overdue` is None where no level is asked for, `hidden` where none is."""

    level: LevelRule
    high: MedicineRule
    low: MedicineRule
    overdue: MedicineRule | None
    hidden: MedicineRule | None

    @property
    def rules(self) -> tuple[MedicineRule, ...]:
        """Each as a rule of the ordinary shape."""
        return tuple(each for each in (self.high, self.low, self.overdue, self.hidden) if each is not None)


_READ_AGAINST: Final = "A level is read against the time of the last dose."


def _rule(
    level: LevelRule, which: str, trigger: Trigger, action: Action, reason: str, source: Source, *caution: str
) -> MedicineRule:
    """Return a rule of the ordinary shape; `which` is a part of its key."""
    return MedicineRule(
        key=f"level-{which}-{level.key}",
        trigger=trigger,
        classes=BY_NAME[level.key].classes,
        action=action,
        reason=reason,
        caution=(_READ_AGAINST, *caution),
        restart=level.restart if action is Action.HOLD else None,
        sources=(source,),
    )


def _high(level: LevelRule) -> MedicineRule:
    next_dose = f"The next dose is for {level.team}."
    trigger, reason = Trigger.LEVEL_HIGH, level.high_reason
    high = _rule(level, "high", trigger, level.when_high, reason, level.source, next_dose)
    return replace(high, also=(Action.LEVEL,), milder=level.eases, monitor=(f"{level.key} level again",))


def _low(level: LevelRule) -> MedicineRule:
    missed = "Ask first whether doses were missed."
    low = _rule(level, "low", Trigger.LEVEL_LOW, Action.REVIEW, level.reason, _SENT_RANGE, missed)
    return replace(low, monitor=(f"{level.key} level again",))


def _overdue_rule(level: LevelRule) -> MedicineRule | None:
    if level.overdue is None:
        return None
    source = level.overdue.source
    overdue = _rule(level, "overdue", Trigger.LEVEL_OVERDUE, Action.LEVEL, level.reason, source)
    return replace(overdue, monitor=(f"{level.key} level before the next dose",))


def _hidden_rule(level: LevelRule) -> MedicineRule | None:
    if not level.bound_to_albumin:
        return None
    reason = (
        "With little albumin more of it is free than the total says: look for unsteadiness and "
        "sleepiness, and ask for a free level before the dose goes up."
    )
    next_dose = f"The next dose is for {level.team}."
    return _rule(level, "hidden", Trigger.LEVEL_HIGH, Action.REVIEW, reason, levels.BOUND, next_dose)


#: By ingredient.
AS_RULES: Final = {
    level.key: LevelRules(level, _high(level), _low(level), _overdue_rule(level), _hidden_rule(level))
    for level in LEVEL_RULES
}
#: Ingredients whose level is measured.
MEASURED: Final = frozenset(AS_RULES)
_KEYS: Final = {level.key: frozenset(c.value for c in BY_NAME[level.key].classes) for level in LEVEL_RULES}


def met_levels(bedside: Bedside, line: Line, *, injured: MetTrigger | None) -> Iterator[MetRule]:
    """Return what the levels of one line's ingredients say.

    Args:
        bedside: The patient.
        line: The medicine.
        injured: Acute kidney injury, which makes an old level overdue.
    """
    for ingredient in line.medicine.ingredients:
        found = AS_RULES.get(ingredient)
        # Given so that one of its classes acts only locally, it has no level.
        if found is None or not _KEYS[ingredient] <= line.classes:
            continue
        measured = _newest(bedside, found.level)
        if measured is not None and bedside.as_of - measured.at <= bedside.choices.laboratory_counts_for:
            high = _too_high(bedside, found.level, measured)
            hidden = _hidden(bedside, found.level, measured) if high is None else None
            low = _too_low(bedside, found.level, measured) if high is None and hidden is None else None
            if high is not None:
                yield found.high, high
            elif hidden is not None and found.hidden is not None:
                yield found.hidden, hidden
            elif low is not None:
                yield found.low, low
        if injured is not None and found.overdue is not None and line.standing.is_taken:
            latest = bedside.record.series(found.level.signal).latest
            overdue = _overdue(bedside, found.level, line, injured, latest)
            if overdue is not None:
                yield found.overdue, overdue


def _newest(bedside: Bedside, level: LevelRule) -> Measurement | None:
    """Return the newest level; a peak tells nothing of the next dose where a trough is known."""
    items = bedside.record.series(level.signal).items
    others = [one for one in items if one.sample is not Sample.PEAK]
    return others[-1] if others else (items[-1] if items else None)


# Too high


class _Limit(Plain, frozen=True):
    """A limit that a level is beyond.

    Attributes:
        degree: The degree of the trigger that it makes.
        sent: Whether it came with the result.
    """

    cutoff: Cutoff
    degree: int
    sent: bool = False


def _too_high(bedside: Bedside, level: LevelRule, measured: Measurement) -> MetTrigger | None:
    doses = given_in_turn(bedside.record.administrations, level.key)
    limits = _limits(bedside, level, measured, doses)
    certainty = max((meets(each.cutoff, measured) for each in limits), default=Met.NO)
    if certainty is Met.NO:
        return None
    beyond = [each for each in limits if meets(each.cutoff, measured) is certainty]
    worst = max(beyond, key=lambda each: each.degree)
    named = next((each for each in beyond if each.sent), worst)
    items = bedside.record.series(level.signal).items

    def is_high(one: Measurement) -> bool:
        return any(meets(each.cutoff, one) is not Met.NO for each in _limits(bedside, level, one, doses))

    worse = _worse(bedside, level) if worst.degree == 1 else None
    doubt = _doubt(level, measured, doses, certainty)
    asked_since = since_when(items, lambda one: meets(worst.cutoff, one) is not Met.NO)
    met = _of_level(
        bedside,
        level,
        Trigger.LEVEL_HIGH,
        measured,
        said=_above(named),
        since=since_when(items, is_high),
        asked_since=asked_since,
        grade=0 if is_too_early(level, measured.at, doses) else worst.degree,
        doubt=doubt,
        sources=tuple(dict.fromkeys((named.cutoff.source, worst.cutoff.source))),
    )
    return _with(met, *worse, bedside=bedside) if worse is not None and not met.doubt else met


def _hidden(bedside: Bedside, level: LevelRule, measured: Measurement) -> MetTrigger | None:
    """Return a level that only a low albumin keeps in its range, by what it stands for."""
    albumins = bedside.record.series(Signal.ALBUMIN)
    albumin = albumins.recent(bedside.as_of, bedside.choices.laboratory_counts_for)
    low_since = since_beyond(albumins.items, levels.LOW_ALBUMIN, least=Met.YES)
    if not level.bound_to_albumin or albumin is None or low_since is None:
        return None
    share = levels.BOUND_FOR_EACH_GRAM * albumin.value + levels.FREE
    meant = measured.value / share
    limit = _sent(level, Compare.ABOVE, measured.reference_high) or levels.HIGHEST_BOUND
    if not limit.is_met_by(meant):
        return None
    items = bedside.record.series(level.signal).items
    high_since = since_when(items, lambda one: limit.is_met_by(one.value / share))
    shown = plain(round_half_up(meant, Decimal(1)))
    met = _of_level(
        bedside,
        level,
        Trigger.LEVEL_HIGH,
        measured,
        said=f"which stands for about {shown} at an albumin of {plain(albumin.value)} g/L",
        since=max(high_since or measured.at, low_since),
        sources=(levels.BOUND, levels.LOW_ALBUMIN.source),
    )
    return replace(met, origins=(*met.origins, albumin.origin))


def _worse(bedside: Bedside, level: LevelRule) -> tuple[Signal, Measurement, Cutoff] | None:
    """Return what makes a toxic level an emergency, measured lately."""
    for one in level.worse:
        newest = bedside.record.series(one.signal).recent(bedside.as_of, VITAL_SIGNS_COUNT_FOR.length)
        if newest is not None and surely(one.cutoff, newest):
            return one.signal, newest, one.cutoff
    return None


def _with(
    met: MetTrigger, signal: Signal, measured: Measurement, cutoff: Cutoff, *, bedside: Bedside
) -> MetTrigger:
    began = since_beyond(bedside.record.series(signal).items, cutoff)
    asked = latest((met.asked_since, began))
    short = f"{met.short}, with {words_of(signal, measured)}"
    return replace(
        met,
        short=short,
        said=at_words(short, met.measures[0].at, bedside.clock),
        measures=(*met.measures, measure_of(signal, measured)),
        origins=(*met.origins, measured.origin),
        asked_since=asked,
        grade=2,
        sources=(*met.sources, cutoff.source),
    )


def _above(limit: _Limit) -> str:
    if limit.sent:
        return f"above the laboratory's {plain(limit.cutoff.limit.value)}"
    return f"too high ({limit_words(limit.cutoff)})"


def _limits(
    bedside: Bedside, level: LevelRule, measured: Measurement, doses: GivenInTurn
) -> Sequence[_Limit]:
    """Return the limits of one level: the range that was sent with it, and ours."""
    sent = _sent(level, Compare.ABOVE, measured.reference_high)
    if level.before_dose is not None:
        is_newborn = bedside.kidneys.is_newborn_at(measured.at)
        return _before_dose(level, measured, sent, doses, is_newborn=is_newborn)
    graded = bedside.graded.get(f"{level.signal.value}-high")
    own = [_Limit(band.cutoff, _DEGREES[band.urgency]) for band in graded.bands] if graded else []
    # Inside the range that was sent with it no level is called high.
    if sent is not None and meets(sent, measured) is Met.NO:
        return ()
    return [*([_Limit(sent, 0, sent=True)] if sent is not None else []), *own]


def _before_dose(
    level: LevelRule, measured: Measurement, sent: Cutoff | None, doses: GivenInTurn, *, is_newborn: bool
) -> Sequence[_Limit]:
    limit = level.before_dose
    if level.in_infusion is not None and doses.runs_at(measured.at):
        return (_Limit(level.in_infusion.cutoff, 1),)
    if limit is None or not _is_before_dose(level, measured, doses, sent_range=sent is not None):
        return ()
    own = limit.limit_for(is_newborn=is_newborn, doses=bisect_right(doses.began, measured.at))
    return (_Limit(sent, 1, sent=True),) if sent is not None else (_Limit(own, 1),)


def _is_before_dose(level: LevelRule, measured: Measurement, doses: GivenInTurn, *, sent_range: bool) -> bool:
    """Tell whether a level was measured before a dose: its range, or the last dose, tells it."""
    limit = level.before_dose
    if measured.sample in (Sample.TROUGH, Sample.PEAK):
        return measured.sample is Sample.TROUGH
    last = doses.last_before(measured.at)
    if limit is None or last is None:
        return limit is not None and (limit.unless_known or sent_range)
    return measured.at - last >= limit.after


def _sent(level: LevelRule, compare: Compare, value: Decimal | None) -> Cutoff | None:
    if value is None:
        return None
    unit = level.signal.unit
    return Cutoff(compare=compare, limit=Quantity(value, unit), source=_SENT_RANGE)


def _doubt(level: LevelRule, measured: Measurement, doses: GivenInTurn, certainty: Met) -> str:
    if level.too_early is not None and is_too_early(level, measured.at, doses):
        return f"measured within {lasting(level.too_early.length)} of a dose"
    return "two different values are recorded for that time" if certainty is Met.MAYBE else ""


# Too low


def _too_low(bedside: Bedside, level: LevelRule, measured: Measurement) -> MetTrigger | None:
    own = level.low.cutoff if level.low is not None else None

    def limit_of_one(one: Measurement) -> Cutoff | None:
        return _sent(level, Compare.BELOW, one.reference_low) or own

    def is_low(one: Measurement) -> bool:
        limit = limit_of_one(one)
        return limit is not None and surely(limit, one)

    limit = limit_of_one(measured)
    if limit is None or not is_low(measured):
        return None
    sent = measured.reference_low
    said = f"below the laboratory's {plain(sent)}" if sent is not None else f"too low ({limit_words(limit)})"
    return _of_level(
        bedside,
        level,
        Trigger.LEVEL_LOW,
        measured,
        said=said,
        since=since_when(bedside.record.series(level.signal).items, is_low),
        sources=(limit.source,),
    )


def _of_level(
    bedside: Bedside,
    level: LevelRule,
    trigger: Trigger,
    measured: Measurement,
    *,
    said: str,
    since: datetime | None,
    sources: tuple[Source, ...],
    asked_since: datetime | None = None,
    grade: int = 0,
    doubt: str = "",
) -> MetTrigger:
    short = f"{words_of(level.signal, measured)}, {said}"
    return MetTrigger(
        trigger=trigger,
        short=short,
        said=at_words(short, measured.at, bedside.clock),
        measures=(measure_of(level.signal, measured),),
        origins=(measured.origin,),
        since=since,
        asked_since=asked_since,
        grade=grade,
        sources=sources,
        doubt=doubt,
        is_provisional=Remark.PROVISIONAL in measured.remarks,
    )


# Overdue


def _overdue(
    bedside: Bedside, level: LevelRule, line: Line, injured: MetTrigger, measured: Measurement | None
) -> MetTrigger | None:
    if level.overdue is None:
        return None
    length = level.overdue.length
    if line.since is not None and bedside.as_of - line.since < length:
        return None
    if measured is not None and bedside.as_of - measured.at <= length:
        return None
    known = f"the last one {bedside.clock.full(measured.at)}" if measured is not None else "none is recorded"
    short = f"no {level.key} level in the last {lasting(length)} during acute kidney injury"
    since: datetime | None = injured.since
    if measured is not None and since is not None:
        since = max(since, measured.at + length)
    return MetTrigger(
        trigger=Trigger.LEVEL_OVERDUE,
        short=short,
        said=f"{short} ({known})",
        measures=(measure_of(level.signal, measured),) if measured is not None else (),
        origins=(measured.origin,) if measured is not None else (),
        since=since,
        sources=(level.overdue.source,),
    )
