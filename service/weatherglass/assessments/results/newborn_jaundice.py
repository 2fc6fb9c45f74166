"""Is a newborn's bilirubin above the line of its age for phototherapy or exchange transfusion?

Where only the day of birth is recorded, both ends of it are looked at: above the line of the oldest the
baby may be is surely above it.
"""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.newborn import is_born_early, weeks_when_born_early
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits import newborn_jaundice as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Done, ProcedureKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.clauses import Clause
from weatherglass.model.words.lists import inside_a_sentence, span

_HOUR = timedelta(hours=1)
_TWO = 2


class _Above(Plain, frozen=True):
    """How far above the lines: what it asks for, and whether the hour of birth could take it back."""

    urgency: Urgency
    asks: Clause
    words: str


def assess_newborn_jaundice(bedside: Bedside) -> Iterator[Finding]:
    """Hold the newest bilirubin of a newborn against the lines of its age."""
    days = bedside.age_in_days
    if days is None or days >= criteria.DAYS.length.days:
        return
    items = bedside.exact(Signal.BILIRUBIN, criteria.COUNTS_FOR.length)
    weeks = weeks_when_born_early(bedside.record) if items else None
    above = _above(bedside, weeks, items[-1]) if items else None
    if above is None:
        return
    newest = items[-1]
    since = _since(bedside, weeks, items, above)
    rise = _fast_rise(items)
    rising = f", rising by {plain(round_half_up(rise, Decimal(1)))} \u00b5mol/L an hour" if rise else ""
    asks = criteria.INTENSIFIED if rise and above.asks is criteria.PHOTOTHERAPY else above.asks
    light = _falls_under_light(bedside, items) if above.asks is criteria.PHOTOTHERAPY else None
    if light is not None:
        asks = criteria.UNDER_LIGHT
    under = f", falling under {inside_a_sentence(light.text)}" if light is not None else ""
    is_early = weeks is not None
    is_skin = newest.method == criteria.THROUGH_SKIN_METHOD
    head = f"Bilirubin {plain(newest.value)} \u00b5mol/L {above.words}{rising}{under}"
    yield tell(
        About(Kind.CRITICAL_RESULT, "newborn-bilirubin-high", Letter.EXPOSURE),
        above.urgency if light is None else Urgency.ROUTINE,
        rests_on(bedside, since, (Signal.BILIRUBIN, newest), *((light.origin,) if light is not None else ())),
        brief=head,
        asks=asks.text,
        sources=(
            criteria.TABLE,
            asks,
            criteria.BETWEEN,
            *((criteria.FOR_EARLY, criteria.EARLY_LIGHT_AT_BIRTH) if is_early else ()),
            *((criteria.FAST_RISE, criteria.RISE_OVER) if rise else ()),
            *((criteria.THROUGH_SKIN,) if is_skin else ()),
        ),
        cautions=(
            *_whose_lines(bedside, is_early=is_early),
            *((criteria.THROUGH_SKIN.text,) if is_skin else ()),
        ),
        decided_by="bilirubin above the line of the age in hours",
    )


def _whose_lines(bedside: Bedside, *, is_early: bool) -> tuple[str, ...]:
    """Say whose lines they are; nothing of a baby that is known to be born at term."""
    if is_early:
        return (criteria.FOR_EARLY.text,)
    weeks = bedside.record.series(Signal.GESTATION).latest
    is_of_term = weeks is not None and weeks.is_exact and not is_born_early(bedside.record)
    return () if is_of_term else (criteria.FOR_TERM.text,)


def _falls_under_light(bedside: Bedside, items: tuple[Measurement, ...]) -> Done | None:
    """Return the phototherapy that goes on, where bilirubin has fallen since it began."""
    light = next(reversed(bedside.record.done(ProcedureKind.PHOTOTHERAPY)), None)
    if light is None or (light.ended is not None and light.ended <= bedside.as_of) or len(items) < _TWO:
        return None
    is_since = light.at < items[-1].at and bedside.as_of - light.at <= criteria.LIGHT_COUNTS_FOR.length
    return light if is_since and items[-1].value < items[-2].value else None


def _fast_rise(items: tuple[Measurement, ...]) -> Decimal | None:
    """Return by how much it rises in an hour since the last result long enough before, where that is fast."""
    newest = items[-1]
    before = [one for one in items if newest.at - one.at >= criteria.RISE_OVER.length]
    if not before:
        return None
    hours = Decimal((newest.at - before[-1].at) // timedelta(minutes=1)) / 60
    rate = (newest.value - before[-1].value) / hours
    return rate if rate > criteria.FAST_RISE.value else None


def _since(bedside: Bedside, weeks: int | None, items: tuple[Measurement, ...], above: _Above) -> datetime:
    """Return since when every result has asked for as much."""

    def asks_as_much(one: Measurement) -> bool:
        then = _above(bedside, weeks, one)
        return then is not None and then.urgency >= above.urgency

    first = first_of_run(items, asks_as_much)
    return (first or items[-1]).at


def _above(bedside: Bedside, weeks: int | None, one: Measurement) -> _Above | None:
    youngest, oldest = _hours(bedside, one.at)
    low, high = _line(youngest, weeks), _line(oldest, weeks)
    if one.value > high.exchange:
        words = f"is above the line for exchange transfusion ({span(low.exchange, high.exchange)})"
        return _Above(Urgency.EMERGENCY, criteria.EXCHANGE, words)
    if one.value > low.exchange:
        words = f"may be above the line for exchange transfusion ({span(low.exchange, high.exchange)})"
        return _Above(Urgency.URGENT, criteria.EXCHANGE, f"{words}: the hour of birth decides")
    lines = f"{span(low.phototherapy, high.phototherapy)}, exchange transfusion above {plain(low.exchange)}"
    if one.value > high.phototherapy:
        return _Above(Urgency.URGENT, criteria.PHOTOTHERAPY, f"is above the line for phototherapy ({lines})")
    if one.value > low.phototherapy:
        words = f"may be above the line for phototherapy ({lines}): the hour of birth decides"
        return _Above(Urgency.PROMPT, criteria.PHOTOTHERAPY, words)
    return None


def _line(hours: int, weeks: int | None) -> criteria.Line:
    """Return the lines of an age in hours: of who was born early those of its weeks."""
    if weeks is not None:
        flat = criteria.EARLY_FROM.length // _HOUR
        share = Decimal(min(hours, flat)) / flat
        exchange = weeks * criteria.EARLY_EACH_WEEK.value
        ends = (
            (criteria.EARLY_LIGHT_AT_BIRTH.value, exchange - criteria.EARLY_LIGHT_LESS.value),
            (criteria.EARLY_EXCHANGE_AT_BIRTH.value, exchange),
        )
        light, blood = (round_half_up(first + (last - first) * share, Decimal(1)) for first, last in ends)
        return criteria.Line(hours=hours, phototherapy=light, exchange=blood)
    return next(line for line in reversed(criteria.LINES) if line.hours <= hours)


def _hours(bedside: Bedside, at: datetime) -> tuple[int, int]:
    """Return the lowest and highest age in whole hours that the time or the day of birth allows.

    Whose signs were taken was born by then.
    """
    born, born_at = bedside.record.subject.born, bedside.record.subject.born_at
    if born_at is not None:
        hours = max((at - born_at) // _HOUR, 0)
        return hours, hours
    if born is None:
        raise ValueError("A newborn has a day of birth.")
    local = bedside.local(at)
    began = datetime.combine(born, time(), tzinfo=local.tzinfo)
    oldest = max((local - began) // _HOUR, 0)
    was_born = (at - bedside.sets[0].start) // _HOUR if bedside.sets else 0
    return max(oldest - 24, min(was_born, oldest), 0), oldest
