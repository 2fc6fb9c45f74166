"""Urine output over time: what was charted, how much of the time it covers, and its stage.

A volume belongs to the period it was collected in. Ours where a chart gives less: a
volume or rate without a period covers the time since the entry before it, when that is
at most six hours; time that two entries cover counts once.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, ROUND_DOWN, Decimal
from heapq import merge
from typing import Final

from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement, Remark, Series
from weatherglass.model.sources import Origin

_SECOND: Final = timedelta(seconds=1)
_HOUR: Final = 3600
_STAGE_1: Final = kdigo.URINE_CRITERIA[-1]
_HOURS: Final = _STAGE_1.window.length // timedelta(hours=1)
_ENOUGH: Final = f"not below {_STAGE_1.rate.limit.value} mL/kg/h for {_HOURS} hours"
_TOO_LITTLE: Final = f"too little of the last {_HOURS} hours is charted"
_ANURIA: Final = (
    f"no more than {kdigo.ANURIA_VOLUME.limit.value} mL "
    f"in {kdigo.ANURIA_WINDOW.length // timedelta(hours=1)} hours"
)
_WITHOUT_PERIOD: Final = ours.URINE_WITHOUT_PERIOD.length


class Passed(Plain, frozen=True):
    """Urine passed in a stretch of time.

    Attributes:
        volume: In mL, over the charted part of the window.
        seconds: How much of the window is charted.
        window: Length of the window in seconds.
        ended: End of the window.
        origins: The entries used, oldest first.
        assumed: Whether an entry without a period was taken to cover the time before it.
    """

    volume: Decimal
    seconds: int
    window: int
    ended: datetime
    origins: tuple[Origin, ...]
    assumed: bool = False

    @property
    def per_hour(self) -> Decimal:
        """Millilitres an hour over the charted time."""
        return self.volume * _HOUR / self.seconds

    @property
    def is_covered(self) -> bool:
        """Whether enough of the window is charted to judge it."""
        return self.seconds >= kdigo.URINE_COVERAGE.value * self.window

    def per_kilogram(self, weight: Decimal) -> Decimal:
        """Millilitres a kilogram an hour, cut to three places so that no limit is reached by rounding."""
        return (self.per_hour / weight).quantize(Decimal("0.001"), rounding=ROUND_DOWN)


def rate_words(rate: Decimal) -> str:
    """Say millilitres a kilogram an hour, cut so that no limit is reached by rounding: '0.14 mL/kg/h'."""
    return f"{plain(rate.quantize(Decimal('0.01'), rounding=ROUND_DOWN))} mL/kg/h"


def at_any_weight(bound: int) -> str:
    """Say for whom a rate holds whose weight is not known: no urine at all is too little for anybody."""
    return f"for everybody above {bound} kg" if bound else "at any weight"


class _Stretch(Plain, frozen=True):
    start: datetime
    end: datetime
    volume: Decimal
    origin: Origin
    assumed: bool


class UrineChart:
    """Charted urine as stretches of time that do not overlap, oldest first."""

    def __init__(self, volumes: Series[Measurement], rates: Series[Measurement]) -> None:
        """Lay the entries out along time."""
        self._stretches = tuple(_laid_out(volumes, rates))
        self._starts = [one.start for one in self._stretches]
        self._ends = [one.end for one in self._stretches]
        self._volume = [Decimal(0)]
        self._seconds = [0]
        for one in self._stretches:
            self._volume.append(self._volume[-1] + one.volume)
            self._seconds.append(self._seconds[-1] + (one.end - one.start) // _SECOND)

    @property
    def ends(self) -> Sequence[datetime]:
        """The moments at which an entry ends, oldest first."""
        return self._ends

    def over(self, ended: datetime, length: timedelta) -> Passed:
        """Return what was passed in a window, as far as it is charted."""
        start = ended - length
        first = bisect_right(self._ends, start)
        last = bisect_left(self._starts, ended)
        if first >= last:
            return Passed(Decimal(0), 0, length // _SECOND, ended, ())
        volume = self._volume[last] - self._volume[first]
        seconds = self._seconds[last] - self._seconds[first]
        for one, outside in (
            (self._stretches[first], start - self._starts[first]),
            (self._stretches[last - 1], self._ends[last - 1] - ended),
        ):
            cut = outside // _SECOND
            if cut > 0:
                # What falls outside leaves at the mean rate of its entry.
                volume -= one.volume * cut / ((one.end - one.start) // _SECOND)
                seconds -= cut
        return Passed(
            volume,
            seconds,
            length // _SECOND,
            ended,
            tuple(dict.fromkeys(one.origin for one in self._stretches[first:last])),
            any(one.assumed for one in self._stretches[first:last]),
        )

    def shortest(self, moment: datetime, *, at_least: timedelta) -> Passed | None:
        """Return the newest charted time without a gap that is at least this long.

        Looks at the entries that end at a moment or up to six hours before it.
        """
        last = bisect_right(self._ends, moment)
        if not last or moment - self._ends[last - 1] > _WITHOUT_PERIOD:
            return None
        end = self._ends[last - 1]
        first = last - 1
        while end - self._starts[first] < at_least:
            if not first or self._ends[first - 1] != self._starts[first]:
                return None
            first -= 1
        return self.over(end, end - self._starts[first])


def _laid_out(volumes: Series[Measurement], rates: Series[Measurement]) -> Iterator[_Stretch]:
    tagged = merge(
        ((one.at, 0, one) for one in volumes.items),
        ((one.at, 1, one) for one in rates.items),
        key=lambda entry: (entry[0], entry[1]),
    )
    covered: datetime | None = None
    previous: datetime | None = None
    for at, is_rate, entry in tagged:
        began = _beginning(entry, previous, is_rate=bool(is_rate))
        previous = at
        if began is None or not _can_be_used(entry):
            continue
        start = began if covered is None else max(began, covered)
        whole, kept = (at - began) // _SECOND, (at - start) // _SECOND
        if kept <= 0:
            continue
        volume = entry.value * whole / _HOUR if is_rate else entry.value
        volume = volume * kept / whole if kept != whole else volume
        yield _Stretch(start, at, volume, entry.origin, began != entry.began)
        covered = at


def _beginning(entry: Measurement, previous: datetime | None, *, is_rate: bool) -> datetime | None:
    if entry.began is not None and entry.began < entry.at:
        return entry.began
    if previous is not None and timedelta(0) < entry.at - previous <= _WITHOUT_PERIOD:
        return previous
    return entry.at - ours.FIRST_URINE_RATE.length if is_rate else None


def _can_be_used(entry: Measurement) -> bool:
    return entry.is_exact and entry.value >= 0 and Remark.DAY_ONLY not in entry.remarks


# KDIGO, 2012: urine output


class UrineStage(Plain, frozen=True):
    """The stage by urine output at the end of one entry.

    Attributes:
        stage: 0 to 3, or None when too little is charted or no weight is recorded.
        passed: The window that decided, or the longest one that could be judged.
        weight: The weight used, None when none was needed or recorded.
        rule: Which rule decided, or why there is no stage.
        above: Without a recorded weight, the weight in kg above which the stage holds for everybody.
    """

    at: datetime
    stage: int | None
    passed: Passed | None
    weight: Measurement | None
    rule: str
    above: int | None = None


def stage_urine(
    chart: UrineChart, weight: Measurement | None, *, least_weight: Decimal | None = None
) -> tuple[UrineStage, ...]:
    """Give the end of every charted entry its KDIGO stage by urine output.

    A row is met when the mean over its window is below the printed rate and at least 80%
    of the window is charted. Anuria needs no weight.

    Args:
        chart: The urine chart.
        weight: The recorded weight in kg; KDIGO does not say which one to use.
        least_weight: Without one, what the patient surely weighs; None where even that is not known.

    Source:
        KDIGO 2012, section 2, Table 2, urine output.
    """
    staged = (_urine_at(chart, end, weight) for end in chart.ends)
    if weight is not None or least_weight is None:
        return tuple(staged)
    return tuple(one if one.stage is not None else _bounded(chart, one, least_weight) for one in staged)


def _bounded(chart: UrineChart, one: UrineStage, least_weight: Decimal) -> UrineStage:
    """Give the stage that holds for everybody of a weight that an adult surely has."""
    for row in kdigo.URINE_CRITERIA:  # Highest stage first.
        passed = chart.over(one.at, row.window.length)
        if not passed.is_covered:
            continue
        rate = row.rate.limit.value
        if _is_below(passed, rate, least_weight):
            bound = int((passed.volume * _HOUR / (rate * passed.seconds)).to_integral_value(ROUND_CEILING))
            rule = f"less than {rate} mL/kg/h {at_any_weight(bound)}"
            return UrineStage(one.at, row.stage, passed, None, rule, bound)
    return one


def _urine_at(chart: UrineChart, end: datetime, weight: Measurement | None) -> UrineStage:
    judged: Passed | None = None
    found: UrineStage | None = None
    for row in kdigo.URINE_CRITERIA:  # Highest stage first.
        passed = chart.over(end, row.window.length)
        if not passed.is_covered:
            continue
        judged = judged or passed
        if found is None and weight is not None and _is_below(passed, row.rate.limit.value, weight.value):
            hours = passed.window // _HOUR
            rule = f"less than {row.rate.limit.value} mL/kg/h for {hours} hours"
            found = UrineStage(end, row.stage, passed, weight, rule)
    if found is None or found.stage != kdigo.ANURIA_STAGE:
        dry = chart.over(end, kdigo.ANURIA_WINDOW.length)
        if dry.is_covered and _is_anuria(dry):
            return UrineStage(end, kdigo.ANURIA_STAGE, dry, None, _ANURIA)
    if found is not None:
        return found
    if judged is None:
        return UrineStage(end, None, None, weight, _TOO_LITTLE)
    if weight is None:
        return UrineStage(end, None, judged, None, "no weight is recorded")
    return UrineStage(end, 0, judged, weight, _ENOUGH)


def _is_below(passed: Passed, rate: Decimal, weight: Decimal) -> bool:
    # volume / (weight x hours) < rate, without rounding a quotient.
    return passed.volume * _HOUR < rate * weight * passed.seconds


def _is_anuria(passed: Passed) -> bool:
    limit = kdigo.ANURIA_VOLUME
    return limit.is_met_by(passed.volume * passed.window / passed.seconds)
