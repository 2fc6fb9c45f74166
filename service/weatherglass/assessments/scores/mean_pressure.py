"""Is the mean pressure low, where no systolic one says so?"""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.signs.sign_grades import is_for
from weatherglass.facts.rounds.signs.sign_limits import level_of, sign_met
from weatherglass.facts.series.limits_met import counting
from weatherglass.facts.series.runs import stepped_run
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.value_words import limit_words, value_words


def assess_mean_pressure(bedside: Bedside) -> Iterator[Finding]:
    """Show the newest mean pressure without a systolic one beside it, and call where it is low."""
    series = bedside.record.series(Signal.MEAN_PRESSURE)
    items = counting(series.items, bedside.as_of, bedside.choices.look_back)
    if not items:
        return
    newest = items[-1]
    if not _is_alone(bedside, newest, until=bedside.as_of):
        yield from _mean_beside_systolic(bedside, newest)
        return
    signs = [sign for sign in bedside.signs["mean-pressure-low"] if is_for(bedside, sign)]
    window = bedside.choices.observation_set_window
    met = [sign_met(signs, one) if _is_alone(bedside, one, until=one.at + window) else None for one in items]
    sign = met[-1]
    stepped = stepped_run([one.at for one in items], [level_of(each) for each in met])
    calls = sign is not None and stepped is not None
    said = _in_words(newest)
    yield tell(
        About(Kind.SINGLE_SIGN if calls else Kind.CONTEXT, Signal.MEAN_PRESSURE.value, Letter.CIRCULATION),
        URGENCY_OF[sign.urgency] if sign is not None else Urgency.ROUTINE,
        rests_on(bedside, stepped if calls else Course(newest.at), (Signal.MEAN_PRESSURE, newest)),
        brief=f"{said}, systolic not recorded",
        sentence=f"{said} {bedside.clock.at(newest.at)}: systolic not recorded.",
        sources=sign.sources if sign is not None else (trend_limits.PRESSURE_MEAN_TARGET.source,),
        decided_by=f"mean pressure {limit_words(sign.cutoff)}" if sign is not None else "",
    )


def _is_alone(bedside: Bedside, mean: Measurement, *, until: datetime) -> bool:
    """Tell whether no systolic pressure was taken with a mean pressure, or after it up to a moment."""
    earliest = mean.at - bedside.choices.observation_set_window
    return not bedside.record.series(Signal.SYSTOLIC_PRESSURE).within(earliest, until)


def _mean_beside_systolic(bedside: Bedside, mean: Measurement) -> Iterator[Finding]:
    """Show a mean pressure below the target that no finding about the systolic one names."""
    window = bedside.choices.observation_set_window
    near = bedside.record.series(Signal.SYSTOLIC_PRESSURE).within(mean.at - window, mean.at + window)
    systolic = near[-1] if near else None
    low = trend_limits.PRESSURE_MEAN_TARGET
    if systolic is None or not bedside.has_adult_limits or not low.is_met_by(mean.value):
        return
    if bedside.pressure and bedside.pressure[-1].level:
        return
    beside = f"systolic pressure {value_words(Signal.SYSTOLIC_PRESSURE, systolic)}"
    at = bedside.clock.at(mean.at)
    said = f"{_in_words(mean)} {at}, below {plain(low.limit.value)}, with {beside}"
    yield tell(
        About(Kind.CONTEXT, Signal.MEAN_PRESSURE.value, Letter.CIRCULATION),
        Urgency.ROUTINE,
        rests_on(bedside, Course(mean.at), (Signal.MEAN_PRESSURE, mean)),
        brief=said,
        sources=(low,),
    )


def _in_words(mean: Measurement) -> str:
    return f"Mean pressure {value_words(Signal.MEAN_PRESSURE, mean)}"
