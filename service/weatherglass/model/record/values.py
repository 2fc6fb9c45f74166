"""What was measured, answered or sent: numbers and answers in order of time, and what was not read."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from decimal import Decimal
from enum import Enum, StrEnum
from typing import Generic, NamedTuple, TypeVar

from weatherglass.model.plain import Plain, replace
from weatherglass.model.signals import Sample, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.times.dates_alone import known_by


class Remark(StrEnum):
    """What a reader must know about one value before trusting it."""

    HAEMOLYSED = "haemolysed"
    CONFLICT = "conflicting values at one instant"
    PROVISIONAL = "preliminary"
    DAY_ONLY = "recorded with a date but no time of day"
    ESTIMATED = "estimated"


class Spread(NamedTuple):
    """The interval a value is known to lie in; `None` is an open end.

    Comes from a comparator ("< 20") or from two values that nobody can choose between.
    """

    low: Decimal | None
    high: Decimal | None


class Measurement(Plain, frozen=True):
    """One number in its signal's canonical unit.

    `printed` keeps a value that was reported in the other unit a publication prints
    (creatinine in mg/dL), because thresholds are compared in the printed unit.

    Attributes:
        method: Values of one method can be compared with each other; a name for nothing else.
        sample: What the code says of the vessel or the hour of the sample, or the way of measuring.
    """

    value: Decimal
    at: datetime
    origin: Origin
    spread: Spread | None = None
    remarks: frozenset[Remark] = frozenset()
    began: datetime | None = None
    printed: Decimal | None = None
    reference_low: Decimal | None = None
    reference_high: Decimal | None = None
    method: str = ""
    sample: Sample = Sample.NOT_STATED

    @property
    def is_provisional(self) -> bool:
        """Whether it may still change."""
        return Remark.PROVISIONAL in self.remarks

    @property
    def is_exact(self) -> bool:
        """Whether it is known as a number and not as an interval alone."""
        return self.spread is None

    @property
    def lowest(self) -> Decimal | None:
        """The lowest that it can be; None where that is open."""
        return self.value if self.spread is None else self.spread.low

    @property
    def highest(self) -> Decimal | None:
        """The highest that it can be; None where that is open."""
        return self.value if self.spread is None else self.spread.high


class CodedObservation(Plain, frozen=True):
    """One coded answer.

    `beside` is another answer of the same instant that nothing but its seriousness tells apart
    from this one; both are then said.
    """

    value: Enum
    at: datetime
    origin: Origin
    remarks: frozenset[Remark] = frozenset()
    text: str = ""
    beside: "CodedObservation | None" = None

    @property
    def is_provisional(self) -> bool:
        """Whether it may still change."""
        return Remark.PROVISIONAL in self.remarks


_Item = TypeVar("_Item", Measurement, CodedObservation)


class Series(Generic[_Item]):
    """Values of one signal, ascending in time, one per instant."""

    __slots__ = ("items", "times")

    def __init__(self, items: Sequence[_Item]) -> None:
        """Take items that are already sorted by time."""
        self.items: tuple[_Item, ...] = tuple(items)
        self.times: tuple[datetime, ...] = tuple(item.at for item in items)

    def __len__(self) -> int:
        """Count the values."""
        return len(self.items)

    def __iter__(self) -> Iterator[_Item]:
        """Go through the values, oldest first."""
        return iter(self.items)

    @property
    def latest(self) -> _Item | None:
        """The newest value, if there is any."""
        return self.items[-1] if self.items else None

    def last_by(self, moment: datetime) -> _Item | None:
        """The newest value at or before a moment."""
        at = bisect_right(self.times, moment)
        return self.items[at - 1] if at else None

    def recent(self, moment: datetime, counts_for: timedelta) -> _Item | None:
        """The newest value at or before a moment, None where it is older than it counts for."""
        newest = self.last_by(moment)
        return newest if newest is not None and moment - newest.at <= counts_for else None

    def nearest(self, moment: datetime, within: timedelta) -> _Item | None:
        """The value nearest to a moment, None where none is so near; of two as near the earlier."""
        at = bisect_left(self.times, moment)
        around = [one for one in self.items[max(at - 1, 0) : at + 1] if abs(one.at - moment) <= within]
        return min(around, key=lambda one: abs(one.at - moment), default=None)

    def within(self, start: datetime, end: datetime) -> tuple[_Item, ...]:
        """Values with start <= time <= end."""
        return self.items[bisect_left(self.times, start) : bisect_right(self.times, end)]

    def before(self, moment: datetime) -> tuple[_Item, ...]:
        """Values strictly before a moment."""
        return self.items[: bisect_left(self.times, moment)]

    def until(self, moment: datetime, zone: tzinfo = UTC) -> "Series[_Item]":
        """The series as it stood at a moment; a date alone is known on its whole day."""
        if not self.times or self.times[-1] <= moment:
            return self
        known = bisect_right(self.times, moment)
        items = list(self.items[:known])
        items += _of_the_day(self.items[known:], moment, zone)
        return Series(items)


#: A date stands at noon UTC, and the day has begun somewhere on earth this much earlier.
_NOON_AFTER_DAWN = timedelta(hours=26)


def _of_the_day(later: Sequence[_Item], moment: datetime, zone: tzinfo) -> Iterator[_Item]:
    """Go through what is later only because a date alone stands at noon."""
    for item in later:
        if item.at - moment > _NOON_AFTER_DAWN:
            return
        known = known_by(item.at, moment, zone)
        if known is not None:
            yield replace(item, at=known)


class Artefact(Plain, frozen=True):
    """A value outside what is possible at a bedside; shown, never scored."""

    signal: Signal
    measurement: Measurement


class Flag(StrEnum):
    """What the sender itself said of a value."""

    NONE = ""
    ABNORMAL = "abnormal"
    CRITICAL = "critical"


class SentValue(Plain, frozen=True):
    """A value as its sender wrote it, where our own reading of it is not the whole story.

    One that no code of ours reads, that no rule judges, or that its sender flagged. It is said by
    name; it is never scored.

    Attributes:
        name: What it is, in the words of the sender's code or text ("Calcium adjusted").
        shown: The value as it was sent, with its unit ("3.6 mmol/L", "HI").
        signal: Key of the signal that we read it as; empty when it is not read.
        suspected: Key of the signal that its words name while its code is not read; empty otherwise.
        vital: Sent as a vital sign; otherwise as a laboratory result or without a category.
        flag: Whether the sender called it abnormal or critical.
        outside: Whether it lies outside the reference range that was sent with it; None without one.
        reference: That range as sent ("135-145 mmol/L"); empty without one.
        aside: Whether it is words that nothing asks about: they stand at the end, and beside a calm sentence.
        danger: Whether its words may be a sign of danger.
        remark: Whether it is somebody's remark, of which a later one takes nothing back.
    """

    name: str
    shown: str
    at: datetime
    origin: Origin
    signal: str = ""
    suspected: str = ""
    vital: bool = False
    flag: Flag = Flag.NONE
    outside: bool | None = None
    reference: str = ""
    aside: bool = False
    danger: bool = False
    remark: bool = False

    @property
    def heading(self) -> str:
        """The name before its value: a remark is set apart from it."""
        return f"{self.name}:" if self.remark else self.name

    @property
    def is_known(self) -> bool:
        """Whether it is a sign or result that is read, sent so that it could not be used, or was flagged."""
        return bool(self.suspected or self.signal or self.vital or self.flag is not Flag.NONE or self.outside)


class Later(Plain, frozen=True):
    """Values that are dated after the moment of a review, and soon after it: a clock may run ahead."""

    count: int
    until: datetime


class Undated(Plain, frozen=True):
    """A value as its sender wrote it, of which nobody can tell the day; its own time says nothing.

    Attributes:
        earliest: The beginning of the month or year that was written; None where nothing was.
        latest: Its end.
    """

    value: SentValue
    earliest: datetime | None
    latest: datetime | None


class PutUp(Plain, frozen=True):
    """A warning that stands on a patient until somebody takes it down, in words that nobody reads here.

    Attributes:
        name: What it is called by its sender ("Difficult airway").
        shown: What it is, where its name does not say so ("flag").
        at: Since when; None where that is not known.
        ends: Until when; None while that is open.
        is_supply: Whether it is a medicine that was handed over, which nobody may take.
    """

    name: str
    shown: str
    origin: Origin
    at: datetime | None = None
    ends: datetime | None = None
    is_supply: bool = False
