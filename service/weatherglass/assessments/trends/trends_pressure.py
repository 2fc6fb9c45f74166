"""Has the systolic pressure fallen from what is normal for this patient, or is it low?

Below 90, or more than 40 below the own normal in two readings, calls at once; 90, or such a
fall that is below 100, within the hour; a first reading so far down is to be measured again.
A steady fall that has cost points is a trend. A pressure that is low as usual, and known to
be tolerated, is not called a fall. One of which only an interval is known is told among the single signs.
"""

from collections.abc import Iterator, Sequence

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.pressure_course import PressureStep
from weatherglass.facts.rounds.signs.sign_limits import level_of, sign_met
from weatherglass.facts.series.runs import Run, Stepped, stepped_run
from weatherglass.facts.series.steady import SteadyTrend, steadily, steady_measures, steady_words
from weatherglass.facts.series.usual_range import usual_measures
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.signs.single_signs import VASODILATOR_OFF, VASODILATORS, SingleSign
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited, Source, our_choice
from weatherglass.model.words.value_words import limit_words

_FALLEN = f"more than {trend_limits.PRESSURE_FALL.limit.value} mmHg"
_BRIDGE = trend_limits.REPEAT_AFTER.length


_FIRST = our_choice("a first reading more than 40 below the own normal is measured again at once")
_UNKNOWN = our_choice(
    "a pressure that is low as usual calls within the hour where nothing shows that it is tolerated"
)


def assess_pressure_trend(bedside: Bedside) -> Iterator[Finding]:
    """Follow systolic pressure in adults."""
    if not bedside.has_adult_limits or bedside.has_unsure_low_pressure:
        return
    steps, newest = bedside.pressure, bedside.pressure_now
    if newest is None or bedside.low_pressure_is_tolerated:
        return
    levels = _levels(bedside, steps)
    level = levels[-1] = _tolerable(bedside, levels[-1])
    if not level:  # A first fall that the next reading did not confirm is nothing to tell of.
        levels = [each if each > Urgency.PROMPT else 0 for each in levels]
    stepped = stepped_run([step.reading.at for step in steps], levels, bridge=_BRIDGE)
    steady = bedside.steady(Signal.SYSTOLIC_PRESSURE)
    steady_now = steady is not None and steady.is_present
    is_sign = stepped is not None
    if not level and steady is not None and (steady_now or stepped is None):
        stepped, is_sign = Stepped(steady.run, steady.run.since), False
    if stepped is None or bedside.state_of(stepped.run) is None:
        return
    met = bool(level) or steady_now
    urgency = Urgency(level) if level else bedside.steady_urgency if steady_now else Urgency.ROUTINE
    trend = steady.trend if steady is not None and steady_now else None
    said = _words(bedside, newest, trend, level) if met else _settling(bedside, newest, stepped.run)
    brief = f"Systolic pressure {plain(newest.reading.value)} mmHg, no longer low or falling"
    if met:
        brief = _brief(bedside, newest, None if is_sign else trend, _when(bedside, newest))
    if is_sign and not met:
        brief = _was(bedside, stepped.run)
        said = f"{brief}; {plain(newest.reading.value)} mmHg {bedside.clock.at(newest.reading.at)}."
    runs = is_sign and urgency is Urgency.EMERGENCY and _vasodilator_runs(bedside)
    yield tell(
        About(
            Kind.SINGLE_SIGN if is_sign else Kind.VITAL_SIGN_TREND,
            Signal.SYSTOLIC_PRESSURE.value,
            Letter.CIRCULATION,
        ),
        urgency,
        rests_on(bedside, stepped, trend.first if trend is not None else None, newest.reading),
        brief=brief,
        sentence=said,
        measures=_measures(bedside, newest, trend),
        dated=newest.reading.at if met and _when(bedside, newest) else None,
        at_once=VASODILATOR_OFF.text if runs else "",
        sources=(*_sources(bedside, newest, trend), *((VASODILATOR_OFF,) if runs else ())),
        cautions=_cautions(bedside, newest),
        decided_by=_rule(bedside, newest, trend),
    )


def _vasodilator_runs(bedside: Bedside) -> bool:
    """Tell whether a line of the chart infuses what widens vessels; its words may say so alone."""
    return any(
        one.route is Route.INTRAVENOUS
        or (one.route is Route.UNKNOWN and "infusion" in one.dose_text.casefold())
        for one in bedside.on_chart(VASODILATORS)
    )


def _levels(bedside: Bedside, steps: Sequence[PressureStep]) -> list[int]:
    """Return how urgent each was; one that was low as usual did not make an emergency of a fall below it."""
    levels = [_level(bedside, step) for step in steps]
    if bedside.pressure_is_low_as_usual:
        return levels
    most, low = int(Urgency.URGENT), bedside.was_low_as_usual
    return [min(level, most) if low(step) else level for step, level in zip(steps, levels, strict=True)]


def _level(bedside: Bedside, step: PressureStep) -> int:
    """Return how urgent one pressure is by itself; 0 where it is not."""
    low = sign_met(bedside.signs["systolic-low"], step.reading)
    return max(
        level_of(low),
        level_of(_confirmed_fall(bedside, step)),
        int(Urgency.URGENT) if step.is_low or step.is_fall else 0,
        int(Urgency.PROMPT) if step.is_first_fall else 0,
    )


def _confirmed_fall(bedside: Bedside, step: PressureStep) -> SingleSign | None:
    if not step.is_confirmed:
        return None
    fall = replace(step.reading, value=step.below_usual, spread=None)
    return sign_met(bedside.signs["systolic-fall"], fall)


def _tolerable(bedside: Bedside, level: int) -> int:
    """Return the level of the newest pressure, less where it is low as usual and nothing fails."""
    if bedside.pressure_is_low_as_usual and not bedside.perfusion.is_failing:
        return min(level, int(Urgency.URGENT))
    return level


def _brief(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None, when: str) -> str:
    if trend is not None:
        return f"Systolic pressure {plain(newest.reading.value)} mmHg{when}, {steadily(trend)}"
    again = ": repeat the pressure now" if newest.is_first_fall else ""
    return f"Systolic pressure {plain(newest.reading.value)} mmHg{when}{_below(bedside, newest)}{again}"


def _below(bedside: Bedside, newest: PressureStep) -> str:
    said = _below_its_own(bedside, newest)
    return f", {said}" if said else ""


def _below_its_own(bedside: Bedside, newest: PressureStep) -> str:
    """Say how far a pressure is below the own one; empty where it is not."""
    if newest.usual is None or newest.below_usual <= 0:
        return ""
    if bedside.own_pressures_are_of_an_illness:  # Which are nobody's usual ones.
        return f"{plain(newest.below_usual)} below the {plain(newest.usual)} of this illness"
    return f"{plain(newest.below_usual)} below the usual {plain(newest.usual)}"


def _words(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None, level: int) -> str:
    parts = []
    value = newest.reading.value
    low = sign_met(bedside.signs["systolic-low"], newest.reading)
    if low is not None:
        parts.append(limit_words(low.cutoff, with_unit=False))
    elif newest.is_low:
        parts.append("90 or less")
    below = _below_its_own(bedside, newest)
    if below and (level or trend is None):
        parts.append(below)
    if trend is not None:
        parts.append(steady_words(trend, "mmHg"))
    mean = _mean_pressure(bedside, newest)
    if mean is not None:
        parts.append(f"mean pressure {plain(mean.value)}")
    again = ". Repeat the pressure now" if level == Urgency.PROMPT and newest.is_first_fall else ""
    when = _when(bedside, newest)
    since = ", and not recorded since" if when else ""
    return f"Systolic pressure {plain(value)} mmHg{when}{since}: {', '.join(parts)}{again}."


def _when(bedside: Bedside, newest: PressureStep) -> str:
    """Say when a pressure was that is not of now."""
    at = newest.reading.at
    is_old = bedside.as_of - at > bedside.choices.stale_after
    return f" {bedside.clock.at(at)}" if is_old or bedside.is_of_an_earlier_round(at) else ""


def _was(bedside: Bedside, run: Run) -> str:
    """Say the last pressure of a run that is over."""
    last = next(step.reading for step in reversed(bedside.pressure) if step.reading.at == run.until)
    return f"Systolic pressure was {plain(last.value)} mmHg {bedside.clock.at(last.at)}"


def _settling(bedside: Bedside, newest: PressureStep, run: Run) -> str:
    when = bedside.clock.full(run.until)
    return (
        f"Systolic pressure {plain(newest.reading.value)} mmHg: no longer low or falling; "
        f"it was until {when}."
    )


def _mean_pressure(bedside: Bedside, newest: PressureStep) -> Measurement | None:
    """Return a mean pressure below the target, recorded with the reading."""
    mean = bedside.record.series(Signal.MEAN_PRESSURE).latest
    if mean is None or not mean.is_exact:
        return None
    together = abs(mean.at - newest.reading.at) <= bedside.choices.observation_set_window
    return mean if together and trend_limits.PRESSURE_MEAN_TARGET.is_met_by(mean.value) else None


def _measures(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> Iterator[Measure]:
    yield measure_of(Signal.SYSTOLIC_PRESSURE, newest.reading)
    if newest.usual is not None:
        yield Measure(
            "fall", "below the own normal", newest.usual - newest.reading.value, Unit.MILLIMETRE_OF_MERCURY
        )
    if trend is not None:
        yield from steady_measures(Signal.SYSTOLIC_PRESSURE, trend)
    mean = _mean_pressure(bedside, newest)
    if mean is not None:
        yield measure_of(Signal.MEAN_PRESSURE, mean)
    yield from usual_measures(Signal.SYSTOLIC_PRESSURE, bedside.usual.get(Signal.SYSTOLIC_PRESSURE))


def _sources(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> tuple[Cited, ...]:
    low = sign_met(bedside.signs["systolic-low"], newest.reading)
    fall = _confirmed_fall(bedside, newest)
    sources: tuple[Source, ...] = low.sources if low is not None else ()
    if newest.is_low:
        sources += (trend_limits.PRESSURE_LOW.source,)
    if newest.is_first_fall:
        sources += (_FIRST,)
    if newest.is_fall or not sources or newest.is_first_fall:
        sources += (trend_limits.PRESSURE_FALL.source, trend_limits.PRESSURE_BASELINE_WINDOW.source)
    sources += fall.sources if fall is not None else ()
    if bedside.pressure_is_low_as_usual:
        sources += (_UNKNOWN,)
    return tuple(dict.fromkeys((*sources, *(bedside.steady_sources if trend is not None else ()))))


def _rule(bedside: Bedside, newest: PressureStep, trend: SteadyTrend | None) -> str:
    low = sign_met(bedside.signs["systolic-low"], newest.reading)
    if low is not None:
        return f"systolic pressure {limit_words(low.cutoff)}"
    fall = _confirmed_fall(bedside, newest)
    if fall is not None:
        return f"systolic pressure {limit_words(fall.cutoff)} below the own normal, in two readings"
    if newest.is_low:
        return f"systolic pressure {limit_words(trend_limits.PRESSURE_LOW)}"
    if newest.is_fall:
        return f"systolic pressure {_FALLEN} below the own normal"
    if newest.is_first_fall:
        return f"a first systolic pressure {_FALLEN} below the own normal"
    return bedside.steady_rule if trend is not None else ""


def _cautions(bedside: Bedside, newest: PressureStep) -> Iterator[str]:
    if newest.usual is None:
        yield "Fewer than three readings in the week before: what is usual is not known."
    if bedside.pressure_is_low_as_usual:
        yield "A low pressure is usual for this patient, but that it is tolerated now is not shown."
    if bedside.on_chart({MedicineClass.BETA_BLOCKER}):
        yield "A beta-blocker on the chart holds the pulse down: a normal pulse does not reassure."
