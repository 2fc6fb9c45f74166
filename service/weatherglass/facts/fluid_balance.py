"""Fluid balance: what went in and out, how much of the time is charted, urine an hour, weight, gaps.

A balance stands only over time that is charted on both sides: what nobody wrote down is no zero.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.kidneys.urine import Passed, UrineChart
from weatherglass.knowledge.kidneys.kdigo_aki_2012 import LEAST_RATE
from weatherglass.knowledge.ward import fluid_balance as ours
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Series
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

_NOTHING: Series[Measurement] = Series(())
#: For whom half a millilitre a kilogram an hour is looked at, as KDIGO has it.
_RATE = LEAST_RATE.limit.value


class Side(Plain, frozen=True):
    """What went in, or out, over a stretch of time."""

    volume: Decimal
    seconds: int
    window: int
    origins: tuple[Origin, ...]

    @property
    def is_covered(self) -> bool:
        """Whether enough of the time is charted."""
        return self.seconds >= ours.COVERED.value * self.window

    @property
    def hours(self) -> int:
        """Charted hours, whole ones."""
        return self.seconds // 3600


class Balance(Plain, frozen=True):
    """In and out over one stretch of time."""

    start: datetime
    end: datetime
    taken: Side
    given_off: Side
    is_urine_alone: bool

    @property
    def difference(self) -> Decimal | None:
        """In less out in mL, None where too little of either side is charted."""
        if not (self.taken.is_covered and self.given_off.is_covered):
            return None
        return self.taken.volume - self.given_off.volume


class HourlyUrine(Plain, frozen=True):
    """Urine of the newest charted hours.

    Attributes:
        weight: The weight in kg, None where none is recorded.
        bound: Without a weight, above how many kg it is less than 0.5 mL/kg/h for everybody.
    """

    passed: Passed
    weight: Measurement | None
    bound: Decimal

    @property
    def per_kilogram(self) -> Decimal | None:
        """mL/kg/h, None without a weight."""
        return self.passed.per_kilogram(self.weight.value) if self.weight is not None else None


class Gap(Plain, frozen=True):
    """Time in which an hourly chart of urine has no entry."""

    start: datetime
    end: datetime


class FluidBalance(Plain, frozen=True):
    """All of it at one moment; each part is None or empty where nothing is charted."""

    day: Balance | None
    cumulative: Balance | None
    urine: HourlyUrine | None
    weights: tuple[Measurement, Measurement] | None
    gaps: tuple[Gap, ...]

    @property
    def weight_change(self) -> Decimal | None:
        """Kilograms gained in the last days, None without two weights."""
        return self.weights[1].value - self.weights[0].value if self.weights is not None else None


def fluid_balance(
    record: Record, as_of: datetime, urine: UrineChart, weight: Measurement | None, since: datetime | None
) -> FluidBalance:
    """Work out the balance as it stood at a moment.

    Args:
        record: The record as it stood at `as_of`.
        as_of: The moment of the review.
        urine: Charted urine.
        weight: The weight that counts, in kg.
        since: Since when the stay lasts, None where that is not recorded.
    """
    taken = UrineChart(record.series(Signal.FLUID_INTAKE), _NOTHING)
    out = UrineChart(record.series(Signal.FLUID_OUTPUT), _NOTHING)
    start = max(since or as_of - ours.CUMULATIVE.length, as_of - ours.CUMULATIVE.length)
    day = _balance(taken, out, urine, as_of - ours.A_DAY.length, as_of)
    whole = as_of - start > ours.A_DAY.length
    return FluidBalance(
        day,
        _balance(taken, out, urine, start, as_of) if whole else None,
        _hourly(urine, as_of, weight),
        _weights(record, as_of, since or as_of - ours.WEIGHT_BEFORE.length),
        tuple(_gaps(record, as_of)),
    )


def _balance(
    taken: UrineChart, out: UrineChart, urine: UrineChart, start: datetime, end: datetime
) -> Balance | None:
    length = end - start
    inside, total, passed = (chart.over(end, length) for chart in (taken, out, urine))
    if not inside.seconds and not total.seconds:
        return None
    # A total of what went out holds the urine already.
    is_urine = total.seconds < passed.seconds
    return Balance(start, end, _side(inside), _side(passed if is_urine else total), is_urine)


def _side(passed: Passed) -> Side:
    return Side(passed.volume, passed.seconds, passed.window, passed.origins)


def _hourly(urine: UrineChart, as_of: datetime, weight: Measurement | None) -> HourlyUrine | None:
    ends = [end for end in urine.ends[-1:] if as_of - end <= ours.A_DAY.length]
    if not ends:
        return None
    passed = urine.over(ends[-1], ours.URINE_OVER.length)
    if not passed.seconds:
        return None
    return HourlyUrine(passed, weight, passed.per_hour / _RATE)


def _weights(record: Record, as_of: datetime, since: datetime) -> tuple[Measurement, Measurement] | None:
    days = record.series(Signal.WEIGHT).within(max(since, as_of - ours.CUMULATIVE.length), as_of)
    exact = [one for one in days if one.is_exact and one.value > 0]
    if len(exact) < 2 or exact[-1].at - exact[0].at < ours.WEIGHTS_APART.length:
        return None
    return exact[0], exact[-1]


def _gaps(record: Record, as_of: datetime) -> Iterator[Gap]:
    """Find where a chart that was kept hour by hour has no entry, up to the moment of the review."""
    start = as_of - ours.A_DAY.length
    both = (record.series(signal).within(start, as_of) for signal in (Signal.URINE_VOLUME, Signal.URINE_RATE))
    found = sorted((one for entries in both for one in entries), key=lambda one: one.at)
    covered = [(one.began if one.began is not None and one.began < one.at else None, one.at) for one in found]
    short = sum(_length(covered, place) <= ours.HOURLY.length for place in range(len(covered)))
    if short < ours.HOURLY_ENTRIES:
        return
    for place in range(1, len(covered)):
        began = covered[place][0]
        # An entry without a period stands for the hour before it.
        opened = began if began is not None else covered[place][1] - timedelta(hours=1)
        if opened - covered[place - 1][1] > ours.GAP.length:
            yield Gap(covered[place - 1][1], opened)
    if as_of - covered[-1][1] > ours.GAP.length:
        yield Gap(covered[-1][1], as_of)


def _length(covered: list[tuple[datetime | None, datetime]], place: int) -> timedelta:
    began, ended = covered[place]
    if began is not None:
        return ended - began
    return ended - covered[place - 1][1] if place else timedelta.max
