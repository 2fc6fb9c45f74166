"""Does this patient need more oxygen than yesterday?

NEWS2 gives two points for any oxygen and so cannot see the need growing. More counts as
a step from air to oxygen, a higher fraction, a higher flow, or the next device, against
the least support of the previous 24 hours.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.oxygen_course import OxygenPoint
from weatherglass.facts.rounds.scoring import measure_of
from weatherglass.facts.series.runs import run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.limits import trend_limits
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.findings import Finding, Kind, Letter, Measure, State, Urgency
from weatherglass.model.quantities import Unit, plain
from weatherglass.model.record import ConditionKind, Measurement
from weatherglass.model.signals import OxygenDelivery, Signal
from weatherglass.model.sources import Origin, Source, our_choice
from weatherglass.model.words.clock_words import lasting

_WINDOW = trend_limits.OXYGEN_WINDOW.length
_RESERVOIR_OR_MORE = our_choice("a reservoir mask or more ranks as a need above 40 %")
_MAX_STEP = 3


class _Step(NamedTuple):
    """One round against the least support of the day before it."""

    point: OxygenPoint
    least: OxygenPoint | None
    reasons: tuple[str, ...]
    level: int


def assess_oxygen_requirement(bedside: Bedside) -> Iterator[Finding]:
    """Compare what is breathed with the least of the previous 24 hours."""
    course = [point for point in bedside.oxygen_course if point.is_fresh]
    if not course or bedside.as_of - course[-1].at > bedside.choices.look_back:
        return
    steps = _replay(course)
    run = run_at_level(
        [step.point.at for step in steps],
        [step.level for step in steps],
        bridge=trend_limits.REPEAT_AFTER.length,
    )
    state = bedside.state_of(run)
    if run is None or state is None:
        return
    newest = steps[-1]
    if newest.level:
        yield _more(bedside, newest, run.since, state)
    else:
        yield _settling(newest, run.since, state)


def _replay(course: Sequence[OxygenPoint]) -> list[_Step]:
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
        steps.append(_Step(point, course[least] if least is not None else None, reasons, level))
        by_step.add(point.at, Decimal(point.step), place)
        if point.fraction is not None:
            by_fraction.add(point.at, point.fraction, place)
        if point.flow is not None:
            by_flow.add(point.at, point.flow, place)
    return steps


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
        yield "oxygen started"
    elif point.step > least.step:
        yield "the next device"
    if point.fraction is not None and fraction is not None and least.is_oxygen:
        rise = point.fraction - fraction
        if trend_limits.OXYGEN_FRACTION_STEP.is_met_by(rise):
            yield f"FiO2 up by {plain(rise)}"
    if point.flow is not None and flow is not None and least.is_oxygen:
        rise = point.flow - flow
        if trend_limits.OXYGEN_FLOW_STEP.is_met_by(rise):
            yield f"flow up by {plain(rise)} L/min"


def _is_high(point: OxygenPoint) -> bool:
    if point.fraction is not None:
        return trend_limits.OXYGEN_HIGH_NEED.is_met_by(point.fraction)
    return point.step >= _MAX_STEP


def _more(bedside: Bedside, newest: _Step, since: datetime, state: State) -> Finding:
    point, least = newest.point, newest.least
    is_high = newest.level > 1
    start = _start(bedside, newest)
    stepped = f" with {start.words} and stepped up" if start is not None else ""
    before = f", from {least.words} {lasting(point.at - least.at)} before" if least is not None else ""
    spo2 = _saturation(bedside, point)
    reached = f"; saturation {plain(spo2.value)} %" if spo2 is not None else ""
    reasons = ", ".join(newest.reasons)
    excess = bedside.oxygen_excess
    if excess is not None:
        # Above its range nobody knows how much is needed: that shows once it is reduced.
        is_high = is_high and not excess.is_narrow
        brief = f"Oxygen was stepped up: {point.words}{before}"
        later = "how much is needed shows once the saturation is back in its range"
        sentence = f"{brief} ({reasons}{stepped}); {later}."
    else:
        brief = f"More oxygen is needed: {point.words}{before}"
        sentence = f"{brief} ({reasons}{stepped}){reached}."
    return Finding(
        kind=Kind.OXYGEN_REQUIREMENT,
        key="oxygen-requirement",
        letter=Letter.BREATHING,
        urgency=Urgency.URGENT if is_high else Urgency.PROMPT,
        sentence=sentence,
        brief=brief,
        at=point.at,
        state=state,
        since=since,
        measures=tuple(_measures(newest, spo2)),
        evidence=_evidence(newest, spo2),
        sources=tuple(_sources(bedside, point, is_high=is_high)),
        cautions=tuple(_cautions(bedside, point)),
        decided_by=(
            "more oxygen in 24 hours, now a need above 40 % or by reservoir mask or more"
            if is_high
            else "more oxygen than the least of 24 hours"
        ),
    )


def _start(bedside: Bedside, newest: _Step) -> OxygenPoint | None:
    """Return the first oxygen after air, where the newest is more than that."""
    least = newest.least
    if least is None or least.is_oxygen:
        return None
    after = (p for p in bedside.oxygen_course if p.at > least.at and p.is_oxygen and p.is_fresh)
    first = next(after, None)
    if first is None or first.at == newest.point.at:
        return None
    more_flow = (
        first.flow is not None
        and newest.point.flow is not None
        and trend_limits.OXYGEN_FLOW_STEP.is_met_by(newest.point.flow - first.flow)
    )
    return first if newest.point.step > first.step or more_flow else None


def _settling(newest: _Step, since: datetime, state: State) -> Finding:
    return Finding(
        kind=Kind.OXYGEN_REQUIREMENT,
        key="oxygen-requirement",
        letter=Letter.BREATHING,
        urgency=Urgency.ROUTINE,
        sentence=f"The need for oxygen is no longer growing: {newest.point.words}.",
        brief=f"The need for oxygen is no longer growing: {newest.point.words}",
        at=newest.point.at,
        state=state,
        since=since,
        measures=tuple(_measures(newest, None)),
        evidence=newest.point.origins,
        sources=(trend_limits.OXYGEN_FLOW_STEP.source,),
    )


def _saturation(bedside: Bedside, point: OxygenPoint) -> Measurement | None:
    return bedside.sets[point.place].number(Signal.SPO2)


def _measures(newest: _Step, spo2: Measurement | None) -> Iterator[Measure]:
    for key, label, point in (
        ("oxygen-delivery", "air or oxygen", newest.point),
        ("least-support", "least support of 24 hours", newest.least),
    ):
        if point is not None:
            yield Measure(key=key, label=label, value=point.words, at=point.at, origin=point.origins[0])
    point = newest.point
    for key, label, value, unit in (
        ("oxygen-flow", "oxygen flow", point.flow, Unit.LITRE_PER_MINUTE),
        ("fio2", "inspired oxygen fraction", point.fraction, Unit.FRACTION),
    ):
        if value is not None:
            yield Measure(key=key, label=label, value=value, unit=unit, at=point.at)
    if spo2 is not None:
        yield measure_of(Signal.SPO2, spo2)


def _evidence(newest: _Step, spo2: Measurement | None) -> tuple[Origin, ...]:
    least = newest.least.origins if newest.least is not None else ()
    own = (spo2.origin,) if spo2 is not None else ()
    return tuple(dict.fromkeys((*least, *newest.point.origins, *own)))


def _sources(bedside: Bedside, point: OxygenPoint, *, is_high: bool) -> Iterator[Source]:
    yield trend_limits.OXYGEN_FLOW_STEP.source
    yield news2_2017.OXYGEN_NEED_IS_DETERIORATION.source
    if is_high:
        yield trend_limits.OXYGEN_HIGH_NEED.source
        at_risk = bedside.record.has(ConditionKind.COPD)
        yield (trend_limits.OXYGEN_HELD_AT_COPD if at_risk else trend_limits.OXYGEN_HELD_AT).source
        if point.fraction is None:
            yield _RESERVOIR_OR_MORE


def _cautions(bedside: Bedside, point: OxygenPoint) -> Iterator[str]:
    if bedside.oxygen_excess is None:
        yield news2_2017.OXYGEN_NEED_IS_DETERIORATION.text
    if point.device is OxygenDelivery.OXYGEN:
        yield "The device is not recorded."
    if bedside.record.has(ConditionKind.HYPERCAPNIA):
        yield "Hypercapnic respiratory failure is recorded: keep to the prescribed range."
