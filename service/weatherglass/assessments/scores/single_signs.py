"""Does one sign call by itself: breathing, saturation, pulse, temperature?

One finding a sign, from its newest value, with a score or without one. A breathing rate or a pulse of 0, how
alert somebody is, the systolic and the mean pressure have questions of their own.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import About, Course, begun_with, course_of, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.rounds.signs.sign_grades import Grade, Graded, grade_of, newest_graded
from weatherglass.facts.rounds.signs.sign_limits import level_of, sign_met
from weatherglass.facts.rounds.timeline import oxygen_of
from weatherglass.facts.series.runs import Stepped, stepped_run
from weatherglass.knowledge.limits import plausibility
from weatherglass.knowledge.limits.context_choices import LONG_STANDING_FOR
from weatherglass.knowledge.signs import single_signs as criteria
from weatherglass.knowledge.signs.single_signs import SingleSign, Whose
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Measure, State, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Consciousness, Letter, OxygenDelivery, Signal
from weatherglass.model.sources import Cited, Source
from weatherglass.model.words.clauses import Clause
from weatherglass.model.words.value_words import limit_words, value_words

_LETTERS = {
    Signal.RESPIRATION_RATE: Letter.BREATHING,
    Signal.SPO2: Letter.BREATHING,
    Signal.PULSE: Letter.CIRCULATION,
    Signal.SYSTOLIC_PRESSURE: Letter.CIRCULATION,
    Signal.TEMPERATURE: Letter.EXPOSURE,
}
#: Sign, and the keys of its limits.
_SIGNS = (
    (Signal.RESPIRATION_RATE, ("respiration-low", "respiration-high")),
    (Signal.SPO2, ("saturation-low", "saturation-on-oxygen-low")),
    (Signal.PULSE, ("pulse-low", "pulse-high")),
    (Signal.TEMPERATURE, ("temperature-low", "temperature-high")),
)
#: In adults the systolic pressure has a question of its own, but for a low one that is not exact.
_UNSURE = ((Signal.SYSTOLIC_PRESSURE, ("systolic-low",)),)
#: One reading back inside the limits is no way back from anywhere.
_LEAST_ON_THE_WAY = 2
_CHILD_SIGNS = ((Signal.SYSTOLIC_PRESSURE, ("systolic-low", "systolic-high")),)


def assess_single_signs(bedside: Bedside) -> Iterator[Finding]:
    """Report every sign beyond a limit that calls by itself, but a breathing or a pulse that is absent."""
    absent = bedside.absent_rate
    zeros = {signal for signal, _ in absent.zeros} if absent is not None else set()
    pressure = _UNSURE if bedside.has_unsure_low_pressure else ()
    for signal, keys in (*_SIGNS, *(pressure if bedside.has_adult_limits else _CHILD_SIGNS)):
        if signal not in zeros:
            yield from _sign(bedside, signal, keys)


# One sign against its limits


def _sign(bedside: Bedside, signal: Signal, keys: Sequence[str]) -> Iterator[Finding]:
    items = bedside.record.series(signal).items
    forget = bedside.choices.settled_within + bedside.choices.look_back
    if not items or bedside.as_of - items[-1].at > forget:
        return
    grade = grade_of(bedside, signal, keys, keeps=bedside.is_known_to_keep)
    items, graded = _back_to_the_run(items, grade, bedside.as_of - forget)
    newest = newest_graded(bedside, signal, items, graded)
    stepped = stepped_run([one.at for one in items], [*map(level_of, graded[:-1]), level_of(newest.sign)])
    if stepped is None:
        return
    if stepped.run.is_present and bedside.as_of - items[-1].at <= bedside.choices.look_back:
        yield _present(bedside, signal, newest, stepped)
        return
    over = stepped.run.until + (forget if stepped.run.is_present else bedside.choices.settled_within)
    if bedside.as_of <= over:
        place = next(n for n in range(len(items) - 1, -1, -1) if items[n].at == stepped.run.until)
        if not items[place].value and not stepped.run.is_present:
            return  # A rate of 0 that is past is told among the artefacts.
        last = Graded(items[place], graded[place] or newest.sign)
        yield _past(bedside, signal, last, items[place + 1 :], stepped)


def _back_to_the_run(
    items: tuple[Measurement, ...], grade: Grade, not_before: datetime
) -> tuple[tuple[Measurement, ...], list[SingleSign | None]]:
    """Grade from the newest value back to what came before its run, or before the last one."""
    graded: list[SingleSign | None] = []
    for one in reversed(items):
        graded.append(grade(one))
        if graded[-1] is None and (any(graded) or one.at < not_before):
            break
    graded.reverse()
    return items[-len(graded) :], graded


def _present(bedside: Bedside, signal: Signal, newest: Graded, stepped: Stepped) -> Finding:
    sign = newest.sign
    if sign is None:
        raise ValueError("A present run has a limit.")
    said = f"{sign.label} {value_words(signal, newest.shown)}{_circumstances(bedside, signal, newest.shown)}"
    sentence = f"{said}: {_beyond(bedside, sign)}."
    own = _as_usual(bedside, sign, newest.shown)
    if own is not None:
        sentence = f"{said}: {_beyond(bedside, sign)}, and {own.words}."
    is_old = bedside.as_of - newest.shown.at > bedside.choices.stale_after
    is_dated = is_old or bedside.is_of_an_earlier_round(newest.shown.at)
    if is_dated:
        said = f"{said} {bedside.clock.at(newest.shown.at)}"
        sentence = f"{said}, and not recorded since: {_beyond(bedside, sign)}."
    found = _finding(
        bedside,
        signal,
        newest,
        course_of(bedside, stepped),
        urgency=own.urgency if own is not None else URGENCY_OF[sign.urgency],
        sentence=" ".join(filter(None, (sentence, _doubt(bedside, signal, newest)))),
        brief=said,
        decided_by=f"{sign.label.lower()} {limit_words(sign.cutoff)}",
        dated=newest.shown.at if is_dated else None,
    )
    if own is not None:
        return replace(found, sources=(*found.sources, *own.sources))
    return begun_with(found, None if is_old else _at_once(bedside, sign))


class _Own(Plain, frozen=True):
    """How a sign is told that is beyond its limit and this person's own."""

    urgency: Urgency
    words: str
    sources: tuple[Source, ...] = ()


def _as_usual(bedside: Bedside, sign: SingleSign, one: Measurement) -> _Own | None:
    """Return how a sign is told that is no worse than usual for this person; None where it is, or may be."""
    if sign.key == "systolic-low":
        is_own = sign.whose is Whose.CHILDREN and bedside.pressure_of_a_child_is_usual
        usual = _Own(Urgency.ROUTINE, "no lower than usual for this child")
        return usual if is_own and sign.urgency == "urgent" else None
    if sign.key == "pulse-low" and _is_own_slow_pulse(bedside, one):
        return _Own(Urgency.URGENT, criteria.SLOW_AS_USUAL.text, (criteria.SLOW_AS_USUAL.source,))
    if sign.signal is Signal.SPO2 and _is_of_a_mixing_heart(bedside, one):
        return _Own(Urgency.PROMPT, criteria.BLUE_AS_USUAL.text, (criteria.BLUE_AS_USUAL.source,))
    return None


def _is_own_slow_pulse(bedside: Bedside, one: Measurement) -> bool:
    """Tell whether a slow pulse is hardly below the own one, in a round that is calm but for it."""
    usual, found = bedside.usual.get(Signal.PULSE), bedside.round_at(one.at)
    if usual is None or found is None or not criteria.OWN_SLOW_PULSE.is_met_by(usual.median):
        return False
    is_own = usual.spans >= LONG_STANDING_FOR.length and usual.median - one.value <= criteria.OWN_NEAR.value
    pressure = found.number(Signal.SYSTOLIC_PRESSURE)
    is_calm = pressure is not None and criteria.OWN_PRESSURE.is_met_by(pressure.value)
    is_alert = bool(bedside.alertness) and bedside.alertness[-1].value is Consciousness.ALERT
    may_be_ill = bedside.record.has(*criteria.SLOW_BY_ILLNESS) or bedside.on_chart(criteria.SLOWS_PULSE)
    return is_own and is_calm and is_alert and not may_be_ill


def _is_of_a_mixing_heart(bedside: Bedside, one: Measurement) -> bool:
    """Tell whether a saturation without a target on record is the own one of a heart that mixes blood."""
    usual = bedside.usual.get(Signal.SPO2)
    is_known = bedside.saturation_floor is None and bedside.record.known_of(ConditionKind.MIXING_HEART)
    if usual is None or not is_known or usual.spans < LONG_STANDING_FOR.length:
        return False
    is_own = usual.median - one.value <= criteria.OWN_NEAR.value
    return is_own and criteria.OWN_SATURATION.is_met_by(one.value) and bedside.altered_mind is None


def _at_once(bedside: Bedside, sign: SingleSign) -> Clause | None:
    """Return what is done before anybody comes."""
    if sign.signal is Signal.SPO2:
        return None if bedside.saturation_misleads else criteria.OXYGEN_NOW
    if sign.key == "temperature-high" and URGENCY_OF[sign.urgency] is Urgency.EMERGENCY:
        return criteria.COOL_NOW
    if sign.key == "temperature-low" and URGENCY_OF[sign.urgency] is Urgency.EMERGENCY:
        return None if bedside.is_cooled_on_purpose else criteria.WARM_NOW
    # What sedates may be what stops a fit.
    has_fitted = bedside.record.has(ConditionKind.SEIZURE, ConditionKind.SEIZURES_GOING_ON)
    may_harm = not has_fitted and ConditionKind.PALLIATIVE not in bedside.problems
    is_sedative = bedside.has_sedatives and may_harm
    if sign.key == "respiration-low" and is_sedative and not bedside.is_sedated:
        return criteria.NO_MORE_SEDATION
    return None


def _past(
    bedside: Bedside, signal: Signal, last: Graded, since_then: Sequence[Measurement], stepped: Stepped
) -> Finding:
    label = last.sign.label if last.sign is not None else signal.label
    said = f"{label} was {value_words(signal, last.shown)} {bedside.clock.at(last.shown.at)}"
    newest = since_then[-1] if since_then else None
    best = None if _is_in_its_range(bedside, signal) else _on_the_way_back(last, since_then)
    now = (
        "not recorded since"
        if newest is None
        else f"{value_words(signal, newest)} {bedside.clock.at(newest.at)}"
    )
    if best is not None:
        now = f"{value_words(signal, best)} {bedside.clock.at(best.at)}, worse again: {now}"
    return _finding(
        bedside,
        signal,
        replace(last, better=newest),
        Course(stepped.since, stepped.asked_since, State.SETTLING if best is None else State.CONTINUING),
        urgency=Urgency.ROUTINE,
        sentence=f"{said}; {now}.",
        brief=said,
    )


def _is_in_its_range(bedside: Bedside, signal: Signal) -> bool:
    """Tell whether the newest saturation is not below the range that holds: it is where it is to be."""
    course = bedside.saturation if signal is Signal.SPO2 else None
    return course is not None and bool(course.below) and not course.below[-1]


def _on_the_way_back(last: Graded, since_then: Sequence[Measurement]) -> Measurement | None:
    """Return the best value since, where the newest one has lost more than half of the way to it again."""
    values = [one for one in since_then if one.is_exact]
    if last.sign is None or len(values) < _LEAST_ON_THE_WAY or values[-1] is not since_then[-1]:
        return None
    cutoff = last.sign.cutoff
    best = (min if cutoff.compare.is_upward else max)(values, key=lambda one: one.value)
    lost, left = abs(best.value - values[-1].value), abs(values[-1].value - cutoff.limit.value)
    return best if lost > left else None


def _finding(
    bedside: Bedside,
    signal: Signal,
    graded: Graded,
    course: Course,
    *,
    urgency: Urgency,
    sentence: str,
    brief: str,
    decided_by: str = "",
    dated: datetime | None = None,
) -> Finding:
    lowered = _lowered_pressure(bedside, signal, graded.shown)
    return tell(
        About(Kind.SINGLE_SIGN, signal.value, _LETTERS[signal]),
        urgency,
        rests_on(bedside, course, graded.shown, graded.better, lowered),
        brief=brief,
        sentence=sentence,
        measures=(
            _measure(signal, graded.shown),
            *((measure_of(Signal.SYSTOLIC_PRESSURE, lowered),) if lowered is not None else ()),
        ),
        dated=dated,
        sources=_sources(signal, graded),
        decided_by=decided_by,
    )


# Words


def _circumstances(bedside: Bedside, signal: Signal, one: Measurement) -> str:
    """Name what makes the sign worse: the oxygen that is given, a low pressure beside the pulse."""
    found = bedside.round_at(one.at)
    if found is None:
        return ""
    if signal is Signal.SPO2:
        oxygen = oxygen_of(found)
        if oxygen is None:
            return ""
        return " on air" if oxygen.value is OxygenDelivery.AIR else " on oxygen"
    systolic = _lowered_pressure(bedside, signal, one)
    return f" with systolic pressure {plain(systolic.value)} mmHg" if systolic is not None else ""


def _lowered_pressure(bedside: Bedside, signal: Signal, one: Measurement) -> Measurement | None:
    """Return the low pressure of the round of a pulse, which is said with it."""
    found = bedside.round_at(one.at) if signal is Signal.PULSE else None
    systolic = found.number(Signal.SYSTOLIC_PRESSURE) if found is not None else None
    is_low = systolic is not None and sign_met(bedside.signs["systolic-low"], systolic) is not None
    return systolic if is_low else None


def _beyond(bedside: Bedside, sign: SingleSign) -> str:
    floor = bedside.saturation_floor
    if sign.signal is Signal.SPO2 and floor is not None and floor < sign.cutoff.limit.value:
        return f"below the {plain(floor)} % that the prescribed target begins at"
    said = limit_words(sign.cutoff, plain, with_unit=False)
    return f"{said} at this age" if sign.whose is Whose.CHILDREN else said


def _doubt(bedside: Bedside, signal: Signal, newest: Graded) -> str:
    """Say what contradicts the value; it counts all the same."""
    one = newest.shown
    if newest.better is not None:
        return (
            f"{value_words(signal, newest.better)} {bedside.clock.at(newest.better.at)} in the same round "
            "contradicts it: act on the worse one and measure again."
        )
    if Remark.CONFLICT in one.remarks:
        return "Both are recorded for one time: act on the worse one and measure again."
    if signal is Signal.SPO2 and plausibility.SPO2_VERIFY.is_met_by(one.value):
        return "Verify the trace at the bedside; it counts until then."
    return ""


def _measure(signal: Signal, one: Measurement) -> Measure:
    """Return the value that counts: of an interval, its dangerous end."""
    spread = one.spread
    if spread is None or spread.low is None or spread.high is None:
        return measure_of(signal, one)
    middle = (spread.low + spread.high) / 2
    return measure_of(signal, replace(one, value=spread.low if one.value <= middle else spread.high))


def _sources(signal: Signal, graded: Graded) -> tuple[Cited, ...]:
    found = list(graded.sign.sources) if graded.sign is not None else []
    if signal is Signal.SPO2:
        found.append(criteria.TARGET_ALLOWS.source)
        if plausibility.SPO2_VERIFY.is_met_by(graded.shown.value):
            found.append(plausibility.SPO2_VERIFY.source)
    if graded.better is not None or Remark.CONFLICT in graded.shown.remarks:
        found.append(criteria.CONTRADICTED.source)
    return tuple(dict.fromkeys(found))
