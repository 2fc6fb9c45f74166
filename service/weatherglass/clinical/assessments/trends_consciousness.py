"""Is the coma scale falling?

The total against the highest of the previous 24 hours. A fall of 2 points is a common
calling criterion, more than 2 that of the MERIT study.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.clock_words import lasting
from weatherglass.clinical.criteria import context_choices as ours
from weatherglass.clinical.criteria import trend_limits
from weatherglass.clinical.findings import Finding, Kind, Letter, Measure, State, Urgency
from weatherglass.clinical.quantities import Unit, plain
from weatherglass.clinical.references import Origin
from weatherglass.clinical.runs import run_at_level
from weatherglass.clinical.scoring import limit_words
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source
from weatherglass.clinical.timeline import ObservationSet
from weatherglass.clinical.windows import SlidingExtreme


class _Total(NamedTuple):
    """One coma scale total, recorded or added up from its three parts."""

    value: Decimal
    at: datetime
    origins: tuple[Origin, ...]


def assess_consciousness_trend(bedside: Bedside) -> Iterator[Finding]:
    """Compare the coma scale with the highest of the previous 24 hours."""
    totals = [total for total in map(_total, bedside.sets) if total is not None]
    if not totals or bedside.as_of - totals[-1].at > bedside.choices.look_back:
        return
    highest = SlidingExtreme(trend_limits.GCS_WINDOW.length, highest=True)
    levels: list[int] = []
    before: _Total | None = None
    for place, total in enumerate(totals):
        top = highest.before(total.at)
        before = totals[top] if top is not None else None
        levels.append(_level(total, before))
        highest.add(total.at, total.value, place)
    run = run_at_level([t.at for t in totals], levels, bridge=trend_limits.REPEAT_AFTER.length)
    state = bedside.state_of(run)
    if run is None or state is None:
        return
    if levels[-1] and before is not None:
        yield _fallen(totals[-1], before, levels[-1], run.since, state)
    else:
        yield _settling(totals[-1], run.since, state)


def _total(one: ObservationSet) -> _Total | None:
    whole = one.observed.get(Signal.GCS_TOTAL)
    if whole is not None:
        measured = one.number(Signal.GCS_TOTAL)
        return None if measured is None else _Total(measured.value, measured.at, (measured.origin,))
    if Signal.GCS_EYE not in one.observed:
        return None
    parts = [one.number(s) for s in (Signal.GCS_EYE, Signal.GCS_VERBAL, Signal.GCS_MOTOR)]
    known = [part for part in parts if part is not None]
    if len(known) < len(parts):
        return None
    return _Total(
        sum((part.value for part in known), Decimal(0)),
        max(part.at for part in known),
        tuple(dict.fromkeys(part.origin for part in known)),
    )


def _level(total: _Total, before: _Total | None) -> int:
    fall = before.value - total.value if before is not None else Decimal(0)
    if not trend_limits.GCS_FALL.is_met_by(fall):
        return 0
    if ours.GCS_VERY_LOW.is_met_by(total.value):
        return 3
    return 2 if trend_limits.GCS_FALL_MERIT.is_met_by(fall) else 1


def _fallen(total: _Total, before: _Total, level: int, since: datetime, state: State) -> Finding:
    fall = before.value - total.value
    low = level == 3
    sources: tuple[Source, ...] = (trend_limits.GCS_FALL.source,)
    if level > 1:
        sources += (trend_limits.GCS_FALL_MERIT.source,)
    if low:
        sources += (ours.GCS_VERY_LOW.source,)
    return Finding(
        kind=Kind.VITAL_SIGN_TREND,
        key=Signal.GCS_TOTAL.value,
        letter=Letter.DISABILITY,
        urgency=Urgency.EMERGENCY if low else Urgency.URGENT,
        sentence=(
            f"Coma scale {plain(total.value)}, down {plain(fall)} from {plain(before.value)} "
            f"({lasting(total.at - before.at)} before){': the airway is at risk' if low else ''}."
        ),
        at=total.at,
        state=state,
        since=since,
        measures=(
            *_measures(total),
            _measure("from", "highest coma scale of 24 hours", before.value, before.at, before.origins[0]),
            _measure("fall", "fall of the coma scale", fall),
        ),
        evidence=tuple(dict.fromkeys((*before.origins, *total.origins))),
        sources=sources,
        cautions=("Check glucose, pupils and what sedates on the chart.",),
        decided_by=(
            "coma scale 8 or less after a fall"
            if low
            else f"a fall of the coma scale of {limit_words(trend_limits.GCS_FALL)} in 24 hours"
        ),
    )


def _settling(total: _Total, since: datetime, state: State) -> Finding:
    return Finding(
        kind=Kind.VITAL_SIGN_TREND,
        key=Signal.GCS_TOTAL.value,
        letter=Letter.DISABILITY,
        urgency=Urgency.ROUTINE,
        sentence=f"Coma scale {plain(total.value)}: no longer 2 points below the highest of a day.",
        at=total.at,
        state=state,
        since=since,
        measures=_measures(total),
        evidence=total.origins,
        sources=(trend_limits.GCS_FALL.source,),
    )


def _measures(total: _Total) -> tuple[Measure, ...]:
    return (_measure(Signal.GCS_TOTAL.value, "Glasgow Coma Scale", total.value, total.at, total.origins[0]),)


def _measure(
    key: str, label: str, value: Decimal, at: datetime | None = None, origin: Origin | None = None
) -> Measure:
    return Measure(key=key, label=label, value=value, unit=Unit.SCORE, at=at, origin=origin)
