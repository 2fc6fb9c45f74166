"""Earlier creatinine results that a result is compared with, in windows that slide.

One walk over the series, oldest first: results enter and leave each window once, and
nothing is computed twice.

Ages of results are counted in microseconds. Where one of a pair was recorded as a date
without a time they are counted in calendar days: dates 1 to 7 days apart are surely in
that order, and only the 48 hours cannot be counted. A site may count the windows of the
laboratory algorithm in calendar days throughout.
"""

from bisect import bisect_left, insort
from collections import deque
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from decimal import Decimal
from enum import StrEnum
from itertools import groupby
from typing import Final

from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline as baseline
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement, Remark

_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_MICRO: Final = timedelta(microseconds=1)
_DAY: Final = 86_400_000_000
_NOON: Final = 12
#: How many times lower a result is no longer on a level: the least that is a stage.
_RECOVERED: Final = next(row.low for row in kdigo.STAGE_BY_RATIO.bands if row.low is not None)


class ReferenceMethod(StrEnum):
    """Which earlier results a reference value came from."""

    LOWEST_7_DAYS = "lowest of the previous 7 days"
    MEDIAN_YEAR = "median of 8 to 365 days before"
    BEFORE_THE_WEEK = "last result before the previous 7 days"
    EPISODE = "reference of the current episode"
    ESTIMATED = "estimated baseline, back-calculated from an eGFR of 75"
    UPPER_LIMIT = "upper reference limit for age"


class Reference(Plain, frozen=True):
    """A reference creatinine in umol/L, how it was chosen and from what.

    Attributes:
        chosen_from: How many results it was chosen from.
        left_out: How many results of an earlier injury were left out of a median.
    """

    value: Decimal
    method: ReferenceMethod
    results: tuple[Measurement, ...]
    printed: Decimal | None = None
    chosen_from: int = 0
    left_out: int = 0


class Step(Plain, frozen=True):
    """One result with what it is compared with.

    Attributes:
        before: The newest result that is older than the recent window, where it is still recent
            enough to speak of a level that lasts.
        level: The median of all such results since creatinine last was 1.5 times lower than it.
        slower_from: The lowest result of a little longer than a rise is counted in.
        rise_left_out: Whether a result of about 48 hours could not be counted, for want of a time.
        unordered: Another result of the same date, where nobody knows which of the two came first.
    """

    result: Measurement
    recent: Reference | None
    rise_from: Measurement | None
    median: Reference | None
    before: Measurement | None = None
    level: Reference | None = None
    slower_from: Measurement | None = None
    rise_left_out: bool = False
    unordered: Measurement | None = None


def usable(results: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Return the results that can be compared: exact, or a conflict's middle value."""
    return tuple(r for r in results if r.is_exact or Remark.CONFLICT in r.remarks)


def worst_last(results: Sequence[Measurement], zone: tzinfo) -> tuple[Measurement, ...]:
    """Put a date without a time where it is worst among the results of its day.

    Nobody knows which of them came first; what was highest is read as the newest.
    """
    if not any(Remark.DAY_ONLY in result.remarks for result in results):
        return tuple(results)
    ordered: list[Measurement] = []
    for _, group in groupby(results, key=lambda result: _day(result, zone)):
        of_day = list(group)
        timed = [result for result in of_day if Remark.DAY_ONLY not in result.remarks]
        dated = [result for result in of_day if Remark.DAY_ONLY in result.remarks]
        highest = [result for result in dated if not timed or result.value > timed[-1].value]
        ordered += [result for result in dated if result not in highest]
        ordered += [*timed, *highest]
    return tuple(ordered)


def walk(
    results: Sequence[Measurement],
    *,
    recent: timedelta,
    rise: timedelta,
    year: timedelta,
    lasting: timedelta | None = None,
    slower: timedelta | None = None,
    injured: Sequence[bool] | None = None,
    zone: tzinfo = UTC,
    by_calendar: bool = False,
) -> Iterator[Step]:
    """Go through a series of creatinine results.

    Args:
        results: Ascending in time, one a moment.
        recent: How far back the lowest recent result may lie.
        rise: How far back a rise is counted from; always elapsed time.
        year: How far back the results of the median may lie.
        lasting: How far back a level lies that is said to last; None where nobody asks.
        slower: How far back what has risen more slowly lies; None where nobody asks.
        injured: Which results so far belong to an injury; filled by the caller as the
            walk goes on. None leaves no result out of the median.
        zone: Where the days are counted.
        by_calendar: Whether days are counted by the calendar even where both times are known.
    """
    places = _places(results, zone, by_calendar=by_calendar)
    week = _Week(results, places, recent // _MICRO)
    two_days = _LowestWithin(rise // _MICRO)
    longer = _LowestWithin(slower // _MICRO) if slower is not None else None
    youngest = recent // _MICRO
    medians = _Medians(results, places, youngest, year // _MICRO, injured)
    levels = _Medians(results, places, youngest, lasting // _MICRO, None) if lasting is not None else None
    near = _NearDates(results, places, rise // _MICRO) if not all(places.is_timed) else None
    for i, index in enumerate(results):
        is_timed = places.is_timed[i]
        level, before = levels.before(i) if levels is not None else (None, None)
        yield Step(
            index,
            week.before(i),
            two_days.lowest_before(places.moments[i]) if is_timed else None,
            medians.before(i)[0],
            before,
            level,
            longer.lowest_before(places.moments[i]) if longer is not None and is_timed else None,
            near is not None and near.is_left_out(i),
            near.unordered(i) if near is not None else None,
        )
        week.add(i)
        if near is not None:
            near.add(i)
        if levels is not None and level is not None and level.value >= _RECOVERED * index.value:
            levels.begin_at(i)
        if is_timed:
            two_days.add(places.moments[i], index)
            if longer is not None:
                longer.add(places.moments[i], index)


class _Places(Plain, frozen=True):
    """Where results lie on the line of time, in microseconds.

    Attributes:
        days: The calendar day of each, where it was recorded.
        own: What two results with a time are compared by: their moments, or their days.
        is_timed: Whether a time was recorded.
    """

    moments: Sequence[int]
    days: Sequence[int]
    own: Sequence[int]
    is_timed: Sequence[bool]


def _places(results: Sequence[Measurement], zone: tzinfo, *, by_calendar: bool) -> _Places:
    moments = [(result.at - _EPOCH) // _MICRO for result in results]
    is_timed = [Remark.DAY_ONLY not in result.remarks for result in results]
    if not by_calendar and all(is_timed):
        return _Places(moments, moments, moments, is_timed)  # Nobody asks for a day.
    days = [_day(result, zone) for result in results]
    return _Places(moments, days, days if by_calendar else moments, is_timed)


def _day(result: Measurement, zone: tzinfo) -> int:
    # Noon UTC stands for a date alone: its date is the one that was recorded. One of the day of
    # the review may stand at the moment of the review instead.
    at = result.at
    at_noon = Remark.DAY_ONLY in result.remarks and (at.hour, at.minute, at.second) == (_NOON, 0, 0)
    return (at if at_noon else at.astimezone(zone)).toordinal() * _DAY


class _Week:
    """The lowest result of the days before another, where each may be a date without a time."""

    def __init__(self, results: Sequence[Measurement], places: _Places, window: int) -> None:
        self._results = results
        self._places = places
        self._timed = _LowestWithin(window)
        self._dated = _LowestWithin(window)
        self._any = _LowestWithin(window)
        self._has_dates = not all(places.is_timed)
        #: Results that have not entered the windows of days: those of the newest day.
        self._waiting: tuple[deque[int], deque[int]] = (deque(), deque())

    def before(self, i: int) -> Reference | None:
        """Return the lowest of the results that surely come before a result and lie in the window."""
        day = self._places.days[i]
        if self._has_dates:
            self._take_in(day)
        asked: tuple[tuple[_LowestWithin, int], ...]
        if self._places.is_timed[i]:
            asked = ((self._timed, self._places.own[i]), (self._dated, day))[: 1 + self._has_dates]
        else:
            asked = ((self._any, day),)
        found = [(window.lowest_before(position), window.count_before()) for window, position in asked]
        lowest = min(
            (one for one, _ in found if one is not None), key=lambda m: (m.value, _EPOCH - m.at), default=None
        )
        if lowest is None:
            return None
        count = sum(many for _, many in found)
        return Reference(lowest.value, ReferenceMethod.LOWEST_7_DAYS, (lowest,), lowest.printed, count)

    def add(self, i: int) -> None:
        """Take in a result."""
        is_timed = self._places.is_timed[i]
        if is_timed:
            self._timed.add(self._places.own[i], self._results[i])
        if self._has_dates:
            self._waiting[is_timed].append(i)

    def _take_in(self, day: int) -> None:
        """Let enter what lies on an earlier day: of one day nobody knows what came first."""
        days = self._places.days
        for is_timed, waiting in enumerate(self._waiting):
            while waiting and days[waiting[0]] < day:
                i = waiting.popleft()
                self._any.add(days[i], self._results[i])
                if not is_timed:
                    self._dated.add(days[i], self._results[i])


class _NearDates:
    """Whether a date without a time lies so near that the 48 hours, or the order, are unknown."""

    def __init__(self, results: Sequence[Measurement], places: _Places, window: int) -> None:
        self._results = results
        self._places = places
        self._window = window
        self._last: list[int | None] = [None, None]  # The newest without and with a time.

    def add(self, i: int) -> None:
        """Take in a result."""
        self._last[self._places.is_timed[i]] = i

    def _nearest(self, i: int) -> int | None:
        """Return the newest result that another cannot be placed against by the hour."""
        last = self._last[:1] if self._places.is_timed[i] else self._last
        return max((place for place in last if place is not None), default=None)

    def _days_to(self, i: int, place: int) -> int:
        return self._places.days[i] - self._places.days[place]

    def is_left_out(self, i: int) -> bool:
        """Tell whether a result lies about 48 hours before, and nobody knows how exactly."""
        nearest = self._nearest(i)
        return nearest is not None and self._days_to(i, nearest) <= self._window

    def unordered(self, i: int) -> Measurement | None:
        """Return a result of the same date, where nobody knows which came first."""
        nearest = self._nearest(i)
        return self._results[nearest] if nearest is not None and not self._days_to(i, nearest) else None


class _LowestWithin:
    """The lowest of the results in a sliding window, in constant time a step."""

    def __init__(self, window: int) -> None:
        self._window = window
        self._kept: deque[tuple[int, Measurement]] = deque()
        self._inside: deque[int] = deque()

    def lowest_before(self, position: int) -> Measurement | None:
        """Return the lowest result at most the window before a position."""
        earliest = position - self._window
        kept, inside = self._kept, self._inside
        while kept and kept[0][0] < earliest:
            kept.popleft()
        while inside and inside[0] < earliest:
            inside.popleft()
        return kept[0][1] if kept else None

    def count_before(self) -> int:
        """Return how many results were inside when the lowest was last asked for."""
        return len(self._inside)

    def add(self, position: int, result: Measurement) -> None:
        """Take in a result; one that is a little older than the last is put in its place."""
        kept = self._kept
        self._inside.append(position)
        later: list[tuple[int, Measurement]] = []
        while kept and kept[-1][0] > position:
            later.append(kept.pop())
        # Of equal values the later one stays in the window longer.
        if not later or later[-1][1].value > result.value:
            while kept and kept[-1][1].value >= result.value:
                kept.pop()
            kept.append((position, result))
        kept.extend(reversed(later))


class _Medians:
    """The median of a stretch of time before each result, whether it has a time or not."""

    def __init__(
        self,
        results: Sequence[Measurement],
        places: _Places,
        youngest: int,
        oldest: int,
        injured: Sequence[bool] | None,
    ) -> None:
        self._places = places
        among = (results, places, youngest, oldest, injured)
        self._for_timed = _MedianBetween(*among, timed=places.own)
        self._for_dated = _MedianBetween(*among, timed=places.days)

    def before(self, i: int) -> tuple[Reference | None, Measurement | None]:
        """Return the median before a result, and the newest of what it was taken from."""
        day = self._places.days[i]
        if self._places.is_timed[i]:
            return self._for_timed.at(self._places.own[i], day)
        return self._for_dated.at(day, day)

    def begin_at(self, i: int) -> None:
        """Leave every result before one out from now on."""
        self._for_timed.begin_at(i)
        self._for_dated.begin_at(i)


class _Side:
    """Places in order of time, of which a stretch lies between two ages."""

    def __init__(self, places: Sequence[int], positions: Sequence[int]) -> None:
        self.places = places
        self.positions = positions
        self.first = 0
        self.last = 0

    def entering(self, latest: int) -> Iterator[int]:
        """Return the places that have become old enough since the last call."""
        while self.last < len(self.places) and self.positions[self.places[self.last]] < latest:
            self.last += 1
            yield self.places[self.last - 1]

    def leaving(self, earliest: int) -> Iterator[int]:
        """Return the places that have become too old since the last call."""
        while self.first < self.last and self.positions[self.places[self.first]] < earliest:
            self.first += 1
            yield self.places[self.first - 1]

    @property
    def newest(self) -> int | None:
        """The newest place of the stretch."""
        return self.places[self.last - 1] if self.first < self.last else None


class _MedianBetween:
    """The median of the results between two ages, with results entering and leaving."""

    def __init__(
        self,
        results: Sequence[Measurement],
        places: _Places,
        youngest: int,
        oldest: int,
        injured: Sequence[bool] | None,
        *,
        timed: Sequence[int],
    ) -> None:
        self._results = results
        self._youngest = youngest
        self._oldest = oldest
        self._injured = injured
        with_time = [i for i, is_timed in enumerate(places.is_timed) if is_timed]
        without = [i for i, is_timed in enumerate(places.is_timed) if not is_timed]
        sides = (_Side(with_time, timed), _Side(without, places.days))
        self._sides = sides if without else sides[:1]
        self._all: list[tuple[Decimal, int]] = []
        self._clean: list[tuple[Decimal, int]] = []
        self._first = 0

    def begin_at(self, place: int) -> None:
        """Leave every result before one out from now on."""
        self._first = place
        self._all.clear()
        self._clean.clear()

    def at(self, *positions: int) -> tuple[Reference | None, Measurement | None]:
        """Return the median of results older than the youngest age, up to the oldest, and the newest.

        Args:
            positions: The moment as results with a time are placed, and as dates alone are.
        """
        for side, position in zip(self._sides, positions, strict=False):
            for place in side.entering(position - self._youngest):
                if place < self._first:
                    continue
                entering = (self._results[place].value, place)
                insort(self._all, entering)
                if self._injured is not None and not self._injured[place]:
                    insort(self._clean, entering)
            for place in side.leaving(position - self._oldest):
                self._drop((self._results[place].value, place))
        seen = [side.newest for side in self._sides]
        newest = max((place for place in seen if place is not None), default=None)
        before = self._results[newest] if newest is not None else None
        if not self._all:
            return None, before
        enough = len(self._clean) >= baseline.RESULTS_THAT_MUST_REMAIN
        return self._median(self._clean if enough else self._all), before

    def _drop(self, leaving: tuple[Decimal, int]) -> None:
        for held in (self._all, self._clean):
            found = bisect_left(held, leaving)
            if found < len(held) and held[found] == leaving:
                del held[found]

    def _median(self, held: Sequence[tuple[Decimal, int]]) -> Reference:
        half, is_odd = divmod(len(held), 2)
        left_out = len(self._all) - len(held)
        value, place = held[half]
        high = self._results[place]
        if is_odd:
            return Reference(value, ReferenceMethod.MEDIAN_YEAR, (high,), high.printed, len(held), left_out)
        lower_value, lower_place = held[half - 1]
        low = self._results[lower_place]
        both = (low, high) if lower_place < place else (high, low)
        printed = None
        if low.printed is not None and high.printed is not None:
            printed = (low.printed + high.printed) / 2
        value = (lower_value + value) / 2
        return Reference(value, ReferenceMethod.MEDIAN_YEAR, both, printed, len(held), left_out)
