"""Windows that slide along a series: its lowest, highest or middle value so far.

Every trend is replayed over its whole past, so a window moves one value a step and
never starts again: extremes in constant time a step, medians by a sorted window.
"""

from bisect import bisect_left, insort
from collections import deque
from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal


class SlidingExtreme:
    """The place of the lowest (or highest) value of a sliding window."""

    __slots__ = ("_kept", "_sign", "_window")

    def __init__(self, window: timedelta, *, highest: bool = False) -> None:
        """Look back over `window`; for the highest value when `highest`."""
        self._window = window
        self._sign = -1 if highest else 1
        self._kept: deque[tuple[datetime, Decimal, int]] = deque()

    def before(self, moment: datetime) -> int | None:
        """Return the place of the extreme of the values added, none older than the window."""
        kept = self._kept
        earliest = moment - self._window
        while kept and kept[0][0] < earliest:
            kept.popleft()
        return kept[0][2] if kept else None

    def add(self, at: datetime, value: Decimal, place: int) -> None:
        """Take in the next value of the series."""
        signed = value * self._sign
        kept = self._kept
        # Of equal values the later one stays: it is in the window longer.
        while kept and kept[-1][1] >= signed:
            kept.pop()
        kept.append((at, signed, place))


class SlidingMedian:
    """The median of the values between two ages, with values entering and leaving."""

    __slots__ = ("_first", "_last", "_oldest", "_sorted", "_times", "_values", "_youngest")

    def __init__(
        self,
        times: Sequence[datetime],
        values: Sequence[Decimal],
        *,
        oldest: timedelta,
        youngest: timedelta = timedelta(0),
    ) -> None:
        """Take the series; values older than `youngest` and at most `oldest` old count."""
        self._times = times
        self._values = values
        self._youngest = youngest
        self._oldest = oldest
        self._first = self._last = 0
        self._sorted: list[Decimal] = []

    def at(self, moment: datetime) -> tuple[int, Decimal | None]:
        """Return how many values the window holds at a moment and their median.

        Moments must not go back in time.
        """
        times, values = self._times, self._values
        newest, oldest = moment - self._youngest, moment - self._oldest
        while self._last < len(times) and times[self._last] < newest:
            insort(self._sorted, values[self._last])
            self._last += 1
        while self._first < self._last and times[self._first] < oldest:
            del self._sorted[bisect_left(self._sorted, values[self._first])]
            self._first += 1
        return len(self._sorted), median_of(self._sorted)


def median_of(ascending: Sequence[Decimal]) -> Decimal | None:
    """Return the middle of values in order; of an even number the mean of the middle two."""
    if not ascending:
        return None
    half = len(ascending) // 2
    if len(ascending) % 2:
        return ascending[half]
    return (ascending[half - 1] + ascending[half]) / 2


def quantile_of(ascending: Sequence[Decimal], share: Decimal) -> Decimal:
    """Return the value below which a share of the values lies, between neighbours by proportion.

    Examples:
        >>> quantile_of([Decimal(v) for v in (1, 2, 3, 4)], Decimal("0.25"))
        Decimal('1.75')
    """
    place = share * (len(ascending) - 1)
    below = int(place)
    if below + 1 >= len(ascending):
        return ascending[-1]
    return ascending[below] + (ascending[below + 1] - ascending[below]) * (place - below)
