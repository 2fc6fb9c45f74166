"""Earlier creatinine results that a result is compared with, in windows that slide.

One walk over the series, oldest first: results enter and leave each window once, and
nothing is computed twice.

Ages of results are counted in microseconds, or in whole calendar days where a site
counts the windows of the laboratory algorithm so.
"""

from bisect import bisect_left, insort
from collections import deque
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from decimal import Decimal
from enum import StrEnum
from typing import Final, NamedTuple

from weatherglass.clinical.criteria import kidney_baseline as baseline
from weatherglass.clinical.record import Measurement, Remark

_EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
_MICRO: Final = timedelta(microseconds=1)
_DAY: Final = 86_400_000_000
#: A date without a time is kept as noon UTC, at most this far from any moment of its day.
_DAY_SPREAD: Final = timedelta(hours=14) // _MICRO


class ReferenceMethod(StrEnum):
    """Which earlier results a reference value came from."""

    LOWEST_7_DAYS = "lowest of the previous 7 days"
    MEDIAN_YEAR = "median of 8 to 365 days before"
    EPISODE = "reference of the current episode"
    ESTIMATED = "estimated baseline, back-calculated from an eGFR of 75"
    UPPER_LIMIT = "upper reference limit for age"


class Reference(NamedTuple):
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


class Step(NamedTuple):
    """One result with what it is compared with."""

    result: Measurement
    recent: Reference | None
    rise_from: Measurement | None
    median: Reference | None


def usable(results: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Return the results that can be compared: exact, or a conflict's middle value."""
    return tuple(r for r in results if r.spread is None or Remark.CONFLICT in r.remarks)


def walk(
    results: Sequence[Measurement],
    *,
    recent: timedelta,
    rise: timedelta,
    year: timedelta,
    injured: Sequence[bool] | None = None,
    calendar: tzinfo | None = None,
) -> Iterator[Step]:
    """Go through a series of creatinine results.

    Args:
        results: Ascending in time, one a moment.
        recent: How far back the lowest recent result may lie.
        rise: How far back a rise is counted from; always elapsed time.
        year: How far back the results of the median may lie.
        injured: Which results so far belong to an injury; filled by the caller as the
            walk goes on. None leaves no result out of the median.
        calendar: The zone in which calendar days are counted instead of elapsed time.
    """
    moments = [(result.at - _EPOCH) // _MICRO for result in results]
    days = [_day(result, calendar) for result in results] if calendar is not None else moments
    week = _LowestWithin(recent // _MICRO)
    two_days = _LowestWithin(rise // _MICRO)
    median = _MedianBetween(results, days, recent // _MICRO, year // _MICRO, injured)
    dated: deque[int] = deque()
    for i, index in enumerate(results):
        timed = Remark.DAY_ONLY not in index.remarks
        # A date without a time serves a window of days once it surely lies before the
        # index and as long as it surely lies inside; it never serves the 48 hours.
        while dated and moments[i] - moments[dated[0]] > _DAY_SPREAD:
            entering = dated.popleft()
            early = 0 if calendar is not None else _DAY_SPREAD
            week.add(days[entering] - early, results[entering])
        lowest = week.lowest_before(days[i]) if timed else None
        yield Step(
            index,
            _recent(lowest, week) if lowest is not None else None,
            two_days.lowest_before(moments[i]) if timed else None,
            median.at(days[i]),
        )
        if timed:
            week.add(days[i], index)
            two_days.add(moments[i], index)
        else:
            dated.append(i)


def _day(result: Measurement, zone: tzinfo) -> int:
    # Noon UTC stands for a date alone: its date is the one that was recorded.
    local = result.at if Remark.DAY_ONLY in result.remarks else result.at.astimezone(zone)
    return local.toordinal() * _DAY


def _recent(lowest: Measurement, week: "_LowestWithin") -> Reference:
    return Reference(
        lowest.value, ReferenceMethod.LOWEST_7_DAYS, (lowest,), lowest.printed, week.count_before()
    )


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


class _MedianBetween:
    """The median of the results between two ages, with results entering and leaving."""

    def __init__(
        self,
        results: Sequence[Measurement],
        positions: Sequence[int],
        youngest: int,
        oldest: int,
        injured: Sequence[bool] | None,
    ) -> None:
        self._results = results
        self._positions = positions
        self._youngest = youngest
        self._oldest = oldest
        self._injured = injured
        self._first = 0
        self._last = 0
        self._all: list[tuple[Decimal, int]] = []
        self._clean: list[tuple[Decimal, int]] = []

    def at(self, position: int) -> Reference | None:
        """Return the median of results older than the youngest age, up to the oldest."""
        positions, everything = self._positions, self._all
        while self._last < len(positions) and position - positions[self._last] > self._youngest:
            place = self._last
            entering = (self._results[place].value, place)
            insort(everything, entering)
            if self._injured is not None and not self._injured[place]:
                insort(self._clean, entering)
            self._last += 1
        while self._first < self._last and position - positions[self._first] > self._oldest:
            leaving = (self._results[self._first].value, self._first)
            for held in (everything, self._clean):
                found = bisect_left(held, leaving)
                if found < len(held) and held[found] == leaving:
                    del held[found]
            self._first += 1
        if not everything:
            return None
        enough = len(self._clean) >= baseline.RESULTS_THAT_MUST_REMAIN
        return self._median(self._clean if enough else everything)

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
