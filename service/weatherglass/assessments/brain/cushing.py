"""Does the pressure rise while the pulse and consciousness fall?

Together they speak for pressure inside the skull; each alone means many things, so they are
said as one. With a falling coma scale it is an emergency. In a child high and slow are what
they are at the age.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.child_cells import pressure_above, pulse_below
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import last_run
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.signs import heart_and_pressure as limits
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal

_WINDOW = limits.CUSHING_WINDOW.length


class _Change(Plain, frozen=True):
    """One value against the furthest of the day before it."""

    newest: Measurement
    before: Measurement


def assess_cushing(bedside: Bedside) -> Iterator[Finding]:
    """Look for the pattern in the newest pressure, pulse and coma scale of a day."""
    months = bedside.age_in_months if bedside.is_child else None
    pressure = _changes(bedside, Signal.SYSTOLIC_PRESSURE, highest=False)
    pulse = _changes(bedside, Signal.PULSE, highest=True)
    coma = _changes(bedside, Signal.GCS_TOTAL, highest=True)
    if not pressure or not pulse:
        return
    falls = bool(coma) and trend_limits.GCS_FALL.is_met_by(_fall(coma[-1]))
    both = _rises(pressure[-1], months) and _slows(pulse[-1], months)
    if bedside.dysreflexia is not None and not falls:
        return  # An injured cord slows the pulse against the pressure that it raises.
    if months is not None and not falls:
        return  # Sleep, fear and play do as much to a child's pulse and pressure.
    if not both and not (months is None and falls and _is_high_and_slow(pressure[-1], pulse[-1])):
        return
    parts = [(Signal.SYSTOLIC_PRESSURE, pressure[-1]), (Signal.PULSE, pulse[-1])]
    parts += [(Signal.GCS_TOTAL, coma[-1])] if falls else []
    since = _since(pressure, pulse, months)
    rise = limits.CUSHING_RISE if months is None else limits.CUSHING_CHILD_RISE
    yield tell(
        About(Kind.HEAD_INJURY, "rising-pressure", Letter.DISABILITY),
        Urgency.EMERGENCY if falls else Urgency.URGENT,
        rests_on(
            bedside,
            since,
            *(m for _, change in parts for m in (change.before, change.newest)),
            asked_since=max(since, _first_fall(coma)) if falls else None,
        ),
        brief=f"Rising pressure with a falling pulse{' and coma scale' if falls else ''}",
        sentence=f"Rising pressure with a falling pulse{' and a falling coma scale' if falls else ''}: "
        f"{', '.join(_said(signal, one) for signal, one in parts)}: the pressure inside the skull may be "
        "rising; pupils, senior review and CT of the head to be considered.",
        measures=(measure_of(signal, change.newest) for signal, change in parts),
        sources=(rise, *((trend_limits.GCS_FALL,) if falls else ())),
        decided_by="a rising pressure with a falling pulse" + (" and a falling coma scale" if falls else ""),
    )


def _changes(bedside: Bedside, signal: Signal, *, highest: bool) -> list[_Change]:
    """Return every exact value with the lowest, or the highest, of the day before it; none when old."""
    items = bedside.exact(signal, bedside.choices.look_back)
    window = SlidingExtreme(_WINDOW, highest=highest)
    changes = []
    for place, one in enumerate(items):
        found = window.before(one.at)
        changes.append(_Change(one, items[found] if found is not None else one))
        window.add(one.at, one.value, place)
    return changes


def _fall(change: _Change) -> Decimal:
    return change.before.value - change.newest.value


def _rises(pressure: _Change, months: int | None) -> bool:
    rise = -_fall(pressure)
    if months is not None:
        enough = pressure.before.value * limits.CUSHING_CHILD_RISE.value
        return _is_high(pressure.newest, months) and rise >= enough
    return _is_high(pressure.newest, months) and limits.CUSHING_RISE.is_met_by(rise)


def _slows(pulse: _Change, months: int | None) -> bool:
    if months is not None:
        enough = pulse.before.value * limits.CUSHING_CHILD_FALL.value
        return _is_slow(pulse.newest, months) and _fall(pulse) >= enough
    return _is_slow(pulse.newest, months) and limits.CUSHING_FALL.is_met_by(_fall(pulse))


def _is_high(pressure: Measurement, months: int | None) -> bool:
    if months is not None:
        return pressure_above(pressure.value, months) > 0
    return limits.CUSHING_SYSTOLIC.is_met_by(pressure.value)


def _is_slow(pulse: Measurement, months: int | None) -> bool:
    if months is not None:
        return pulse_below(pulse.value, months) > 0
    return limits.CUSHING_PULSE.is_met_by(pulse.value)


def _is_high_and_slow(pressure: _Change, pulse: _Change) -> bool:
    return limits.CUSHING_HIGH_SYSTOLIC.is_met_by(pressure.newest.value) and limits.CUSHING_PULSE.is_met_by(
        pulse.newest.value
    )


def _since(pressure: Sequence[_Change], pulse: Sequence[_Change], months: int | None) -> datetime:
    """Return when a high pressure and a slow pulse were first both there."""
    high = last_run(
        [one.newest.at for one in pressure],
        [_is_high(one.newest, months) for one in pressure],
    )
    slow = last_run([one.newest.at for one in pulse], [_is_slow(one.newest, months) for one in pulse])
    times = [run.since for run in (high, slow) if run is not None]
    return max(times, default=pressure[-1].newest.at)


def _first_fall(coma: Sequence[_Change]) -> datetime:
    run = last_run(
        [one.newest.at for one in coma], [trend_limits.GCS_FALL.is_met_by(_fall(one)) for one in coma]
    )
    return run.since if run is not None else coma[-1].newest.at


_WORDS = {
    Signal.SYSTOLIC_PRESSURE: ("systolic pressure", " mmHg"),
    Signal.PULSE: ("pulse", ""),
    Signal.GCS_TOTAL: ("coma scale", ""),
}


def _said(signal: Signal, change: _Change) -> str:
    name, unit = _WORDS[signal]
    before = f" from {plain(change.before.value)}" if change.before.value != change.newest.value else ""
    return f"{name} {plain(change.newest.value)}{unit}{before}"
