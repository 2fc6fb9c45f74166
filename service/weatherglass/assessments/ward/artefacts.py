"""Which values cannot be true, and which want a second look?

A value outside what is possible was kept apart by the reader and is named here. A rate of
zero is an arrest or an artefact; one that is past is told here, one of now is a single sign.
A value far from
the patient's others is marked "verify" and counted all the same: at the bedside an
outlier is as often true as false.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from datetime import timedelta
from decimal import Decimal
from itertools import groupby

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.patient.breath_and_blood import VITAL_SIGNS
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.steady import TABLES
from weatherglass.facts.series.windows import median_of
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import plausibility
from weatherglass.model.findings import Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.numbers.statistics import MAX_POINTS, OUTLIER_LIMIT, OUTLIER_SOURCE, robust_z
from weatherglass.model.record.values import Artefact, Measurement
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited
from weatherglass.model.words.lists import capital
from weatherglass.model.words.value_words import named_value, value_words

_LETTERS = {
    Signal.RESPIRATION_RATE: Letter.BREATHING,
    Signal.SPO2: Letter.BREATHING,
    Signal.OXYGEN_FLOW: Letter.BREATHING,
    Signal.FIO2: Letter.BREATHING,
    Signal.SYSTOLIC_PRESSURE: Letter.CIRCULATION,
    Signal.DIASTOLIC_PRESSURE: Letter.CIRCULATION,
    Signal.MEAN_PRESSURE: Letter.CIRCULATION,
    Signal.PULSE: Letter.CIRCULATION,
    Signal.GCS_TOTAL: Letter.DISABILITY,
    Signal.GCS_EYE: Letter.DISABILITY,
    Signal.GCS_VERBAL: Letter.DISABILITY,
    Signal.GCS_MOTOR: Letter.DISABILITY,
    Signal.TEMPERATURE: Letter.EXPOSURE,
}
_DAY = timedelta(hours=24)
_SHOWN = 5
_HOTTEST = Decimal(110)


def assess_artefacts(bedside: Bedside) -> Iterator[Finding]:
    """Name values that cannot be true, rates of zero, and values to verify."""
    for signal, group in groupby(
        sorted(bedside.record.artefacts, key=lambda a: (a.signal, a.measurement.at)), key=lambda a: a.signal
    ):
        impossible = _impossible(bedside, signal, tuple(group))
        if impossible is not None:
            yield impossible
    for signal in sorted(plausibility.ZERO_MEANS_CHECK):
        zero = _zero(bedside, signal)
        if zero is not None:
            yield zero
    verify = _verify(bedside)
    if verify is not None:
        yield verify


# Values that cannot be true


def _impossible(bedside: Bedside, signal: Signal, artefacts: Sequence[Artefact]) -> Finding | None:
    newest = artefacts[-1].measurement
    label = signal.label
    good = bedside.record.series(signal).latest
    # Nothing newer stands in for it: the sign is in fact not known.
    is_open = good is None or good.at < newest.at
    run = Run(artefacts[0].measurement.at, newest.at, is_open)
    state = bedside.state_of(run)
    if state is None:
        return None  # Long past, with later values; the list of what was not used names it.
    more = f", and {len(artefacts) - 1} more" if len(artefacts) > 1 else ""
    shown = value_words(signal, newest)
    said = f"{capital(label)} {shown} {bedside.clock.at(newest.at)}{more}"
    other = _in_another_unit(signal, newest)
    return tell(
        About(Kind.ARTEFACT, f"impossible-{signal.value}", _LETTERS.get(signal, Letter.OVERALL)),
        Urgency.PROMPT if is_open and bedside.as_of - newest.at <= _DAY else Urgency.ROUTINE,
        rests_on(bedside, run, *(a.measurement for a in artefacts)),
        brief=f"{said}, not possible",
        sentence=f"{said}: not possible, so not used{other}. {_what_to_do(signal, is_open=is_open)}",
        measures=(measure_of(signal, a.measurement) for a in artefacts[-_SHOWN:]),
        dated=newest.at,
        sources=_limit_sources(bedside, signal),
        decided_by="a value outside what is possible, and none after it" if is_open else "",
    )


def _in_another_unit(signal: Signal, one: Measurement) -> str:
    """Say what it would be in the unit that is mistaken for its own; empty where that is no value either."""
    fahrenheit, grams = ours.READS_AS_FAHRENHEIT, ours.READS_AS_GRAMS_A_DECILITRE
    if signal is Signal.TEMPERATURE and fahrenheit.is_met_by(one.value) and one.value <= _HOTTEST:
        celsius = (one.value - 32) * 5 / 9
        return f" (in Fahrenheit it would be {plain(round_half_up(celsius, Decimal('0.1')))} °C)"
    if signal is Signal.HAEMOGLOBIN and grams.is_met_by(one.value):
        return f" (in g/dL it would be {plain(one.value * 10)} g/L)"
    return ""


def _what_to_do(signal: Signal, *, is_open: bool) -> str:
    if is_open and signal not in _LETTERS:
        return "Check the sample and the unit, and repeat it."
    if is_open:
        return "Check the patient, then the monitor, and measure again."
    return "A later value was used."


def _limit_sources(bedside: Bedside, signal: Signal) -> tuple[Cited, ...]:
    is_child = bedside.is_below(plausibility.CHILD_BELOW)
    limits = plausibility.limits_for(signal, is_child=is_child)
    pair = plausibility.DIASTOLIC_BELOW_SYSTOLIC.source
    sources = (limits.source,) if limits is not None else ()
    is_pressure = signal in (Signal.SYSTOLIC_PRESSURE, Signal.DIASTOLIC_PRESSURE)
    return (*sources, pair) if is_pressure else sources


# A rate of zero


def _zero(bedside: Bedside, signal: Signal) -> Finding | None:
    items = bedside.record.series(signal).items
    if not items or all(one.value for one in items):
        return None
    run = run_at_level([one.at for one in items], [int(not one.value) for one in items])
    state = bedside.state_of(run)
    if run is None or state is None:
        return None
    newest = items[-1]
    if not newest.value:
        return None  # Said first of all, as a sign that calls by itself.
    label = signal.label
    zero = next(one for one in reversed(items) if not one.value)
    said = f"{capital(label)} was recorded as 0 {bedside.clock.at(zero.at)}, and {plain(newest.value)} since"
    return tell(
        About(Kind.ARTEFACT, f"zero-{signal.value}", _LETTERS[signal]),
        Urgency.ROUTINE,
        rests_on(bedside, run, (signal, zero), (signal, newest)),
        brief=said,
        asks="an artefact, or somebody intervened",
        sources=(plausibility.ZERO_MEANS_CHECK_RULE,),
        cautions=(plausibility.ZERO_MEANS_CHECK_RULE.text,),
    )


# Values far from the others


def _verify(bedside: Bedside) -> Finding | None:
    far = [found for signal in VITAL_SIGNS if (found := _outlier(bedside, signal)) is not None]
    if not far:
        return None
    said = [f"{named_value(signal, one)}, the others about {plain(middle)}" for signal, one, middle, _ in far]
    head = "Far from this patient's other readings of a day"
    return tell(
        About(Kind.ARTEFACT, "verify", Letter.OVERALL),
        Urgency.ROUTINE,
        rests_on(
            bedside,
            Course(min(one.at for _, one, _, _ in far), state=State.NEW),
            *(one for _, one, _, _ in far),
        ),
        brief=head,
        asks=f"{'; '.join(said)}. Verify; counted as measured",
        measures=(
            measure
            for signal, one, _, z in far
            for measure in (
                measure_of(signal, one),
                Measure("robust-z", f"robust distance of {signal.label}", z),
            )
        ),
        sources=(OUTLIER_SOURCE, ours.OUTLIER_READINGS),
        cautions=("An outlier is marked and never left out: it may be the first true sign.",),
    )


def _outlier(bedside: Bedside, signal: Signal) -> tuple[Signal, Measurement, Decimal, Decimal] | None:
    """Return the newest reading where it stands far from the others of the day."""
    series = bedside.record.series(signal)
    if not series.items or bedside.as_of - series.times[-1] > bedside.choices.look_back:
        return None
    newest = series.items[-1]
    first = max(bisect_left(series.times, newest.at - _DAY), len(series.items) - MAX_POINTS)
    held = [one for one in series.items[first:] if one.is_exact]
    if len(held) < ours.OUTLIER_READINGS.value or held[-1] is not newest:
        return None
    scores = robust_z([one.value for one in held])
    if scores is None or abs(scores[-1]) <= OUTLIER_LIMIT:
        return None
    if bedside.may_use_news2 and not TABLES[signal].points_of(newest.value):
        return None  # Ours: a value that scores nothing is not worth a second measurement.
    middle = median_of(sorted(one.value for one in held[:-1]))
    return (signal, newest, middle, scores[-1]) if middle is not None else None
