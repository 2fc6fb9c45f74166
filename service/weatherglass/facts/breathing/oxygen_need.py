"""Whether more oxygen is needed than on the day before, round by round.

More counts as a step from air to oxygen, a higher fraction, a higher flow, or the next device,
against the least support of the previous 24 hours.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.facts.breathing.oxygen_course import OxygenPoint
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.signals import OxygenDelivery

#: A reason that "from air" says as well.
STARTED: Final = "oxygen started"

_WINDOW = trend_limits.OXYGEN_WINDOW.length
_MAX_STEP = 3


class OxygenStep(Plain, frozen=True):
    """One round against the least support of the day before it.

    Attributes:
        reasons: In which ways more is needed.
        level: 0 where no more is needed, 1 where it is, 2 where it is much.
    """

    point: OxygenPoint
    least: OxygenPoint | None
    reasons: tuple[str, ...]
    level: int


class OxygenNeed(Plain, frozen=True):
    """What is breathed now, and the run of a growing need that it belongs to or the last one.

    Attributes:
        first: The first oxygen after air, where the newest is more than that.
        most: The most that was breathed since the least, where it has been stepped down since.
    """

    newest: OxygenStep
    run: Run | None
    first: OxygenPoint | None
    most: OxygenPoint | None


def oxygen_need(course: Sequence[OxygenPoint], as_of: datetime, look_back: timedelta) -> OxygenNeed | None:
    """Replay what was breathed and recorded anew; None where the newest of it is too old."""
    fresh = [point for point in course if point.is_fresh]
    if not fresh or as_of - fresh[-1].at > look_back:
        return None
    steps = _replay(fresh)
    run = run_at_level(
        [step.point.at for step in steps],
        [step.level for step in steps],
        bridge=trend_limits.REPEAT_AFTER.length,
    )
    return OxygenNeed(steps[-1], run, _first(fresh, steps[-1]), _most(fresh, steps[-1]))


def _most(fresh: Sequence[OxygenPoint], newest: OxygenStep) -> OxygenPoint | None:
    least, now = newest.least, newest.point
    since = [one for one in fresh if least is not None and least.at < one.at < now.at]
    most = max(since, key=_support, default=now)
    is_less = now.step < most.step or (
        now.step == most.step
        and now.flow is not None
        and most.flow is not None
        and trend_limits.OXYGEN_FLOW_LESS.is_met_by(most.flow - now.flow)
    )
    return most if is_less else None


def _first(fresh: Sequence[OxygenPoint], newest: OxygenStep) -> OxygenPoint | None:
    least = newest.least
    if least is None or least.is_oxygen:
        return None
    first = next((p for p in fresh if p.at > least.at and p.is_oxygen), None)
    if first is None or first.at == newest.point.at:
        return None
    more_flow = (
        first.flow is not None
        and newest.point.flow is not None
        and trend_limits.OXYGEN_FLOW_STEP.is_met_by(newest.point.flow - first.flow)
    )
    return first if newest.point.step > first.step or more_flow else None


def _replay(course: Sequence[OxygenPoint]) -> list[OxygenStep]:
    by_step, by_fraction, by_flow = (SlidingExtreme(_WINDOW) for _ in range(3))
    steps = []
    for place, point in enumerate(course):
        least = by_step.before(point.at)
        reasons = tuple(
            _reasons(
                point,
                course[least] if least is not None else None,
                _value(course, by_fraction.before(point.at), "fraction"),
                _value(course, by_flow.before(point.at), "flow"),
            )
        )
        level = 0 if not reasons else 2 if _is_high(point) else 1
        steps.append(OxygenStep(point, course[least] if least is not None else None, reasons, level))
        by_step.add(point.at, _support(point), place)
        if point.fraction is not None:
            by_fraction.add(point.at, point.fraction, place)
        if point.flow is not None:
            by_flow.add(point.at, point.flow, place)
    return steps


def _support(point: OxygenPoint) -> Decimal:
    """Rank what is breathed: by its step, of one step by its fraction, then by its flow."""
    fraction = point.fraction if point.fraction is not None else Decimal(1)
    flow = point.flow if point.flow is not None else Decimal(0)
    return point.step + fraction / 10 + flow / 10_000


def _value(course: Sequence[OxygenPoint], place: int | None, name: str) -> Decimal | None:
    if place is None:
        return None
    point = course[place]
    return point.fraction if name == "fraction" else point.flow


def _reasons(
    point: OxygenPoint, least: OxygenPoint | None, fraction: Decimal | None, flow: Decimal | None
) -> Iterator[str]:
    """Say in which ways the need is greater than the least of the day before."""
    if least is None or not point.is_oxygen:
        return
    if not least.is_oxygen:
        yield STARTED
    elif point.step > least.step and not _is_known_to_be_no_more(point, least):
        yield "the next device"
    if point.fraction is not None and fraction is not None and least.is_oxygen:
        rise = point.fraction - fraction
        if trend_limits.OXYGEN_FRACTION_STEP.is_met_by(rise):
            yield f"FiO2 up by {plain(rise)}"
    if point.flow is not None and flow is not None and least.is_oxygen:
        rise = point.flow - flow
        if trend_limits.OXYGEN_FLOW_STEP.is_met_by(rise):
            yield f"flow up by {plain(rise)} L/min"


def _is_known_to_be_no_more(point: OxygenPoint, least: OxygenPoint) -> bool:
    """Tell whether a mask that was begun for carbon dioxide gives no higher a fraction than before."""
    if (
        point.device is not OxygenDelivery.PRESSURE_SUPPORT
        or point.fraction is None
        or least.fraction is None
    ):
        return False
    return point.fraction <= least.fraction


def _is_high(point: OxygenPoint) -> bool:
    if point.fraction is not None:
        return trend_limits.OXYGEN_HIGH_NEED.is_met_by(point.fraction)
    return point.step >= _MAX_STEP
