"""Steady trends of vital signs: one way, by rank statistics, and large enough to cost points.

Slopes look at every pair of points, so their number is bounded: one reading an hour at
most, the newest 24 of 48 hours. A statistical trend counts only where the sign also scores
2 points more in NEWS2 at its end than at its beginning; in pregnancy, which NEWS2 is not
for, where it has changed by a size of its own and ends beyond a limit.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Literal

from weatherglass.facts.series.runs import Run
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import child_trends
from weatherglass.model.findings import Measure
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.numbers.statistics import (
    MANN_KENDALL_SOURCE,
    MIN_POINTS_FOR_SIGNIFICANCE,
    THEIL_SEN_SOURCE,
    mann_kendall,
    theil_sen_slope,
)
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import BandTable
from weatherglass.model.words.clock_words import lasting

_APART = timedelta(hours=1)
_DAY = timedelta(days=1)
_WINDOW = ours.STEADY_WINDOW.length
_SIZE = int(ours.STEADY_SIZE.limit.value)
_MOST = int(ours.STEADY_POINTS.value)
#: Readings within the hour before, that are looked at: of more the rest would only cost time.
_NEAR = 6
TABLES: dict[Signal, BandTable] = {
    row.signal: row.table
    for row in news2_2017.PARAMETERS
    if isinstance(row.signal, Signal) and isinstance(row.table, BandTable)
}


#: Tells whether the change from a first to a last value is large enough.
Size = Callable[[Decimal, Decimal], bool]


def costs_points(signal: Signal) -> Size:
    """Return the size of a trend where NEWS2 is used: 2 points more at its end."""
    table = TABLES[signal]
    return lambda first, last: table.points_of(last) - table.points_of(first) >= _SIZE


def harms_in_pregnancy(signal: Signal) -> Size:
    """Return the size of a trend in pregnancy: a change of its own, to beyond a limit."""
    limits = [one for one in ours.STEADY_IN_PREGNANCY if one.signal is signal]
    return lambda first, last: any(
        one.change.is_met_by(abs(last - first)) and one.ends.is_met_by(last) and not one.ends.is_met_by(first)
        for one in limits
    )


class SteadyTrend(Plain, frozen=True):
    """One steady trend of a vital sign.

    Attributes:
        first: The reading it begins with.
        last: The reading it ends with.
        readings: How many readings entered it.
        per_day: Theil-Sen slope, in the unit of the sign a day.
        probability: Of so one-sided an order without any trend, two-sided.
    """

    first: Measurement
    last: Measurement
    readings: int
    per_day: Decimal
    probability: Decimal

    @property
    def is_rising(self) -> bool:
        """Whether the sign goes up."""
        return self.per_day > 0


class SteadyCourse(Plain, frozen=True):
    """The newest steady trend of a sign, and the run of readings that showed one."""

    trend: SteadyTrend
    run: Run

    @property
    def is_present(self) -> bool:
        """Whether the newest reading still ends a steady trend."""
        return self.run.is_present


def steady_course(
    readings: Sequence[Measurement], size: Size, *, settled_within: timedelta
) -> SteadyCourse | None:
    """Return the steady trend that the newest reading ends, or one that ended lately.

    Args:
        readings: Of a sign that NEWS2 scores, oldest first.
        size: What is large enough.
        settled_within: How long before the newest reading an ended trend is looked for.
    """
    hourly = _one_an_hour(readings)
    ends = range(len(hourly), 0, -1)
    newest = hourly[-1].at if hourly else None
    found: SteadyTrend | None = None
    until = since = 0
    for end in ends:
        trend = steady_trend(size, hourly[:end])
        if trend is None:
            if found is not None or (newest is not None and newest - hourly[end - 1].at > settled_within):
                break
            continue
        if found is None:
            found, until = trend, end - 1
        since = end - 1
    if found is None:
        return None
    began = _first_seen(readings, size, hourly[since].at)
    return SteadyCourse(found, Run(began, hourly[until].at, until == len(hourly) - 1))


def _first_seen(readings: Sequence[Measurement], size: Size, seen: datetime) -> datetime:
    """Return when a trend was first to be seen: a reading that came soon after does not make it younger."""
    times = [one.at for one in readings]
    first, last = bisect_right(times, seen - _APART), bisect_left(times, seen)
    for place in range(first, min(last, first + _NEAR)):
        if readings[place].is_exact and steady_trend(size, _one_an_hour(readings[: place + 1])):
            return times[place]
    return seen


def steady_trend(size: Size, hourly: Sequence[Measurement]) -> SteadyTrend | None:
    """Return the steady trend that ends with the last of these readings, if there is one.

    Args:
        size: What is large enough.
        hourly: Oldest first, at most one an hour.
    """
    if len(hourly) < MIN_POINTS_FOR_SIGNIFICANCE:
        return None
    last = hourly[-1]
    earliest = last.at - _WINDOW
    first = max(0, len(hourly) - _MOST)
    while hourly[first].at < earliest:
        first += 1
    held = hourly[first:]
    if len(held) < MIN_POINTS_FOR_SIGNIFICANCE or not size(held[0].value, last.value):
        return None
    values = [one.value for one in held]
    probability = mann_kendall(values).p_two_sided
    if probability is None or probability > ours.STEADY_PROBABILITY.value:
        return None
    slope = theil_sen_slope([days_before(last.at, one.at) for one in held], values)
    if not slope or (slope > 0) != (last.value > held[0].value):
        return None
    return SteadyTrend(held[0], last, len(held), slope, probability)


def days_before(moment: datetime, at: datetime) -> float:
    """Return how many days a moment is from another, negative before it."""
    return (at - moment) / _DAY


def _one_an_hour(readings: Sequence[Measurement]) -> list[Measurement]:
    """Thin a series from its end: exact readings, each an hour or more before the next.

    Two windows' worth are kept: one for the trend and one to see since when it held.
    """
    kept: list[Measurement] = []
    for one in reversed(readings):
        if not one.is_exact:
            continue
        if kept and kept[0].at - one.at > 2 * _WINDOW:
            break
        if not kept or kept[-1].at - one.at >= _APART:
            kept.append(one)
    kept.reverse()
    return kept


# In words


def steady_words(trend: SteadyTrend, unit: str) -> str:
    """Say a steady trend: 'rising steadily, from 16 to 24 /min in 9 hours'."""
    return (
        f"{steadily(trend)}, from {plain(trend.first.value)} to {plain(trend.last.value)} {unit} in "
        f"{lasting(trend.last.at - trend.first.at)}"
    )


def steadily(trend: SteadyTrend) -> str:
    """Say which way alone: 'rising steadily'."""
    return f"{'rising' if trend.is_rising else 'falling'} steadily"


def steady_measures(signal: Signal, trend: SteadyTrend) -> Iterator[Measure]:
    """Spell out a steady trend of a vital sign."""
    return slope_measures(
        signal,
        trend.first,
        over=f"{trend.readings} readings",
        per_day=trend.per_day,
        probability=trend.probability,
    )


def slope_measures(
    signal: Signal,
    first: Measurement,
    *,
    over: str,
    per_day: Decimal,
    probability: Decimal,
    sides: Literal["one-sided", "two-sided"] = "two-sided",
) -> Iterator[Measure]:
    """Spell out any trend: where it began, its slope and its probability by chance."""
    yield Measure(
        "trend-from",
        f"{signal.label} at the beginning of the trend",
        first.value,
        signal.unit,
        first.at,
        first.origin,
    )
    yield Measure("slope-per-day", f"slope a day over {over}", per_day, signal.unit)
    yield Measure("probability", f"{sides} probability without a trend", probability)


#: What a steady trend rests on, where NEWS2 is used and in pregnancy.
STEADY_SOURCES: tuple[Source, ...] = (
    THEIL_SEN_SOURCE,
    MANN_KENDALL_SOURCE,
    ours.STEADY_SIZE.source,
)
STEADY_SOURCES_IN_PREGNANCY: tuple[Source, ...] = (
    THEIL_SEN_SOURCE,
    MANN_KENDALL_SOURCE,
    ours.STEADY_IN_PREGNANCY_SOURCE,
)
STEADY_SOURCES_IN_CHILDREN: tuple[Source, ...] = (
    THEIL_SEN_SOURCE,
    MANN_KENDALL_SOURCE,
    child_trends.RISE_OF_BREATHING.source,
    child_trends.PROMPT.source,
)
