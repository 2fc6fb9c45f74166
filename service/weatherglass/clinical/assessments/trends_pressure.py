"""Has the systolic pressure fallen from what is normal for this patient?

More than 40 below the own normal, or 90 or less; or a steady fall that has cost points.
A pressure that is low as usual, and known to be tolerated, is not called a fall.
"""

from collections.abc import Iterator

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import news2_2017, trend_limits
from weatherglass.clinical.criteria.medicine_classes import MedicineClass
from weatherglass.clinical.findings import Finding, Kind, Letter, Measure, Urgency
from weatherglass.clinical.pressure_course import PressureStep
from weatherglass.clinical.quantities import Unit, plain
from weatherglass.clinical.record import Measurement, Remark
from weatherglass.clinical.runs import Run, run_at_level
from weatherglass.clinical.scoring import limit_words, measure_of
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source
from weatherglass.clinical.steady import (
    SteadyTrend,
    steady_measures,
    steady_words,
)
from weatherglass.clinical.usual_range import usual_measures

_BRIDGE = trend_limits.REPEAT_AFTER.length


def assess_pressure_trend(bedside: Bedside) -> Iterator[Finding]:
    """Follow systolic pressure in adults."""
    if bedside.age is not None and bedside.age < news2_2017.MINIMUM_AGE.years:
        return
    steps = bedside.pressure
    if not steps or bedside.as_of - steps[-1].reading.at > bedside.choices.look_back:
        return
    if bedside.pressure_is_low_as_usual and bedside.perfusion.is_kept:
        return
    newest = steps[-1]
    run = run_at_level([step.reading.at for step in steps], [step.level for step in steps], bridge=_BRIDGE)
    steady = bedside.steady(Signal.SYSTOLIC_PRESSURE)
    steady_now = steady is not None and steady.is_present
    if not newest.level and steady is not None and (steady_now or run is None):
        run = steady.run
    state = bedside.state_of(run)
    if run is None or state is None:
        return
    met = bool(newest.level) or steady_now
    urgency = Urgency.URGENT if newest.level else bedside.steady_urgency if steady_now else Urgency.ROUTINE
    trend = steady.trend if steady is not None and steady_now else None
    yield Finding(
        kind=Kind.VITAL_SIGN_TREND,
        key=Signal.SYSTOLIC_PRESSURE.value,
        letter=Letter.CIRCULATION,
        urgency=urgency,
        sentence=_words(bedside, newest, trend) if met else _settling(bedside, newest, run),
        at=newest.reading.at,
        state=state,
        since=run.since,
        measures=tuple(_measures(bedside, newest, trend)),
        evidence=tuple(
            dict.fromkeys((*((trend.first.origin,) if trend is not None else ()), newest.reading.origin))
        ),
        sources=_sources(bedside, newest, trend),
        cautions=tuple(_cautions(bedside, newest)),
        decided_by=_rule(bedside, newest, trend),
        provisional=Remark.PROVISIONAL in newest.reading.remarks,
    )


def _words(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> str:
    parts = []
    value = newest.reading.value
    if newest.is_low:
        parts.append("90 or less")
    if newest.usual is not None and newest.usual > value and (newest.level or trend is None):
        parts.append(f"{plain(newest.usual - value)} below the usual {plain(newest.usual)}")
    if trend is not None:
        parts.append(steady_words(trend, "mmHg"))
    mean = _mean_pressure(bedside, newest)
    if mean is not None:
        parts.append(f"mean pressure {plain(mean.value)}")
    return f"Systolic pressure {plain(value)} mmHg: {', '.join(parts)}."


def _settling(bedside: Bedside, newest: PressureStep, run: Run) -> str:
    when = bedside.clock.full(run.until)
    return (
        f"Systolic pressure {plain(newest.reading.value)} mmHg: no longer low or falling; "
        f"it was until {when}."
    )


def _mean_pressure(bedside: Bedside, newest: PressureStep) -> Measurement | None:
    """Return a mean pressure below the target, recorded with the reading."""
    mean = bedside.record.series(Signal.MEAN_PRESSURE).latest
    if mean is None or mean.spread is not None:
        return None
    together = abs(mean.at - newest.reading.at) <= bedside.choices.observation_set_window
    return mean if together and trend_limits.PRESSURE_MEAN_TARGET.is_met_by(mean.value) else None


def _measures(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> Iterator[Measure]:
    yield measure_of(Signal.SYSTOLIC_PRESSURE, newest.reading)
    if newest.usual is not None:
        yield Measure(
            key="fall",
            label="below the own normal",
            value=newest.usual - newest.reading.value,
            unit=Unit.MILLIMETRE_OF_MERCURY,
        )
    if trend is not None:
        yield from steady_measures(Signal.SYSTOLIC_PRESSURE, trend)
    mean = _mean_pressure(bedside, newest)
    if mean is not None:
        yield measure_of(Signal.MEAN_PRESSURE, mean)
    yield from usual_measures(Signal.SYSTOLIC_PRESSURE, bedside.usual.get(Signal.SYSTOLIC_PRESSURE))


def _sources(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> tuple[Source, ...]:
    sources: tuple[Source, ...] = ()
    if newest.is_low:
        sources += (trend_limits.PRESSURE_LOW.source,)
    if newest.is_fall or not sources:
        sources += (trend_limits.PRESSURE_FALL.source, trend_limits.PRESSURE_BASELINE_WINDOW.source)
    return (*sources, *(bedside.steady_sources if trend is not None else ()))


def _rule(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> str:
    if newest.is_low:
        return f"systolic pressure {limit_words(trend_limits.PRESSURE_LOW)}"
    if newest.is_fall:
        return "systolic pressure more than 40 mmHg below the own normal"
    return bedside.steady_rule if trend is not None else ""


def _cautions(bedside: Bedside, newest: PressureStep) -> Iterator[str]:
    if newest.usual is None:
        yield "Fewer than three readings in the week before: what is usual is not known."
    if bedside.pressure_is_low_as_usual:
        yield "A low pressure is usual for this patient, but that it is tolerated now is not shown."
    if bedside.on_chart({MedicineClass.BETA_BLOCKER}):
        yield "A beta-blocker on the chart holds the pulse down: a normal pulse does not reassure."
