"""How far has haemoglobin fallen, against the highest of the 48 hours before it?"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.signs.reference_changes import rise_by_chance
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Signal

_FALLS = (
    trend_limits.HAEMOGLOBIN_FALL,
    trend_limits.HAEMOGLOBIN_FALL_MAJOR,
    trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING,
)
_BY_CHANCE = rise_by_chance(Signal.HAEMOGLOBIN)


#: Each is held against those before it: no patient has more in a week.
_MOST = 100


class HaemoglobinFall(Plain, frozen=True):
    """The newest haemoglobin against the highest of the window before it.

    Attributes:
        level: 1 from 20 g/L, 2 from 30, 3 from 50; 0 below.
        run: The run of falls that the newest result belongs to, or the last one.
    """

    newest: Measurement
    before: Measurement
    fall: Decimal
    level: int
    run: Run | None


class SteadyHaemoglobin(Plain, frozen=True):
    """Haemoglobins in a row, none of which was higher than the last by more than chance.

    Attributes:
        left_at: When the next one was lower; None where there is none.
    """

    first: Measurement
    newest: Measurement
    left_at: datetime | None = None


def haemoglobin_fall(record: Record) -> HaemoglobinFall | None:
    """Compare each haemoglobin with the highest known in the 48 hours before it; return the newest.

    What was known when those hours began counts too, up to a week old: a low value that is measured
    again is no less of a fall.
    """
    results = [
        r for r in record.series(Signal.HAEMOGLOBIN).items if r.is_exact and Remark.DAY_ONLY not in r.remarks
    ]
    highest = SlidingExtreme(trend_limits.HAEMOGLOBIN_WINDOW.length, highest=True)
    levels: list[int] = []
    before: Measurement | None = None
    for place, result in enumerate(results):
        top = highest.before(result.at)
        inside = results[top] if top is not None else None
        before = _from(result, inside, _known_at_first(results, place))
        fall = before.value - result.value if before is not None else Decimal(0)
        levels.append(_degree(fall))
        highest.add(result.at, result.value, place)
    if not results:
        return None
    newest = results[-1]
    before = before or newest
    run = run_at_level([r.at for r in results], levels, bridge=trend_limits.REPEAT_AFTER.length)
    return HaemoglobinFall(newest, before, before.value - newest.value, levels[-1], run)


def _from(result: Measurement, inside: Measurement | None, first: Measurement | None) -> Measurement | None:
    """Return what a result has fallen from: the highest inside the window, unless only the other shows it."""
    if inside is None or first is None:
        return inside or first
    is_deeper = _degree(first.value - result.value) > _degree(inside.value - result.value)
    return first if is_deeper else inside


def _degree(fall: Decimal) -> int:
    return sum(cutoff.is_met_by(fall) for cutoff in _FALLS)


def _known_at_first(results: Sequence[Measurement], place: int) -> Measurement | None:
    """Return the last result before the window of one began, None where it is too old."""
    at = results[place].at
    first = bisect_left(results, at - trend_limits.HAEMOGLOBIN_WINDOW.length, hi=place, key=lambda r: r.at)
    last = results[first - 1] if first else None
    return last if last is not None and at - last.at <= trend_limits.HAEMOGLOBIN_LAST_KNOWN.length else None


def steady_haemoglobin(record: Record) -> SteadyHaemoglobin | None:
    """Return the newest results from which haemoglobin has not fallen; blood that was given hides a fall."""
    return next(_levels(record), None)


def last_steady(record: Record, since: datetime, least: timedelta) -> SteadyHaemoglobin | None:
    """Return the last results since a moment that were steady for so long, whatever came after them."""
    return next(
        (
            one
            for one in _levels(record, newest_only=False)
            if one.first.at >= since and one.newest.at - one.first.at >= least
        ),
        None,
    )


def _levels(record: Record, *, newest_only: bool = True) -> Iterator[SteadyHaemoglobin]:
    """Yield the steady results that end with each one, the newest first."""
    given = max((one.until for one in record.done(ProcedureKind.TRANSFUSION)), default=None)
    results = [one for one in record.series(Signal.HAEMOGLOBIN).items if one.is_exact][-_MOST:]
    for place in range(len(results) - 1, -1, -1):
        last, first = results[place], results[place]
        for one in reversed(results[:place]):
            lost = one.value - last.value
            if lost * 100 > one.value * _BY_CHANCE or (given is not None and one.at <= given):
                break
            first = one
        if first is not last:
            yield SteadyHaemoglobin(first, last, results[place + 1].at if place + 1 < len(results) else None)
        if newest_only:
            return
