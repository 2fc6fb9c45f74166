"""Has the pulse risen from what is normal for this patient?

Up by 30 from its median of a day, to above 110; or a steady rise or fall that has cost
points in NEWS2.
"""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.steady import SteadyTrend, steadily, steady_measures, steady_words
from weatherglass.facts.series.usual_range import usual_measures
from weatherglass.facts.series.windows import SlidingMedian
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Source
from weatherglass.model.words.value_words import limit_words

_BRIDGE = trend_limits.REPEAT_AFTER.length
_LEAST_READINGS = int(trend_limits.PRESSURE_BASELINE_READINGS.value)


def assess_pulse_trend(bedside: Bedside) -> Iterator[Finding]:
    """Follow the pulse in adults."""
    if bedside.is_child:
        return
    pulse = bedside.exact(Signal.PULSE, bedside.choices.look_back)
    if not pulse:
        return
    median = SlidingMedian(
        [one.at for one in pulse], [one.value for one in pulse], oldest=trend_limits.PULSE_WINDOW.length
    )
    levels: list[int] = []
    usual: Decimal | None = None
    for one in pulse:
        count, middle = median.at(one.at)
        usual = middle if count >= _LEAST_READINGS else None
        levels.append(_level(one.value, usual))
    newest = pulse[-1]
    run = run_at_level([one.at for one in pulse], levels, bridge=_BRIDGE)
    steady = bedside.steady(Signal.PULSE)
    steady_now = steady is not None and steady.is_present
    if not levels[-1] and steady is not None and (steady_now or run is None):
        run = steady.run
    if run is None or bedside.state_of(run) is None:
        return
    trend = steady.trend if steady is not None and steady_now else None
    yield _finding(bedside, newest, usual, levels[-1], trend, run)


def _level(value: Decimal, usual: Decimal | None) -> int:
    if usual is None or not trend_limits.PULSE_RISE.is_met_by(value - usual):
        return 0
    if not trend_limits.PULSE_RISE_FLOOR.is_met_by(value):
        return 0
    return 2 if trend_limits.PULSE_HIGH.is_met_by(value) else 1


def _finding(
    bedside: Bedside,
    newest: Measurement,
    usual: Decimal | None,
    level: int,
    trend: SteadyTrend | None,
    run: Run,
) -> Finding:
    parts = []
    brief = steadily(trend) if trend is not None else "no longer rising"
    if level and usual is not None:
        parts.append(f"up {plain(newest.value - usual)} from the median {plain(usual)} of a day")
    if trend is not None:
        parts.append(steady_words(trend, "/min"))
    sources: tuple[Source, ...] = (trend_limits.PULSE_RISE.source,)
    if level > 1:
        sources += (trend_limits.PULSE_HIGH.source,)
    until = bedside.clock.full(run.until)
    ended = f"no longer rising; it was until {until}"
    said = f"Pulse {plain(newest.value)} /min"
    return tell(
        About(Kind.VITAL_SIGN_TREND, Signal.PULSE.value, Letter.CIRCULATION),
        _urgency(bedside, level, trend),
        rests_on(bedside, run, trend.first if trend is not None else None, newest),
        brief=f"{said}, {parts[0] if level and parts else brief}",
        sentence=f"{said}: {', '.join(parts) or ended}.",
        measures=_measures(bedside, newest, usual, trend),
        sources=(*sources, *(bedside.steady_sources if trend is not None else ())),
        cautions=_cautions(bedside),
        decided_by=_rule(bedside, level, trend),
    )


def _urgency(bedside: Bedside, level: int, trend: SteadyTrend | None) -> Urgency:
    if level:
        return Urgency.URGENT if level > 1 else Urgency.PROMPT
    return bedside.steady_urgency if trend is not None else Urgency.ROUTINE


def _rule(bedside: Bedside, level: int, trend: SteadyTrend | None) -> str:
    rise = limit_words(trend_limits.PULSE_RISE, with_unit=False)
    if level > 1:
        return f"pulse {limit_words(trend_limits.PULSE_HIGH)} after a rise of {rise}"
    if level:
        least = limit_words(trend_limits.PULSE_RISE_FLOOR, with_unit=False)
        return f"pulse up by {rise} from its median of a day, to {least}"
    return bedside.steady_rule if trend is not None else ""


def _measures(
    bedside: Bedside, newest: Measurement, usual: Decimal | None, trend: SteadyTrend | None
) -> Iterator[Measure]:
    yield measure_of(Signal.PULSE, newest)
    if usual is not None:
        yield Measure("median-24-hours", "median pulse of 24 hours", usual, Unit.PER_MINUTE)
    if trend is not None:
        yield from steady_measures(Signal.PULSE, trend)
    yield from usual_measures(Signal.PULSE, bedside.usual.get(Signal.PULSE))


def _cautions(bedside: Bedside) -> Iterator[str]:
    if bedside.on_chart({MedicineClass.BETA_BLOCKER}):
        yield "A beta-blocker on the chart holds the pulse down: the rise may be understated."
