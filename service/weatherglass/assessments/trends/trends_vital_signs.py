"""Are breathing rate, saturation or temperature going one way?

A steady trend by rank statistics that has also cost points in NEWS2, or has a size of its own in
pregnancy and childhood. Pressure and pulse of adults have criteria of their own and are asked about
elsewhere.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, Course, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.oxygen_course import OxygenPoint, breathed_at, is_more_oxygen
from weatherglass.facts.series.steady import SteadyCourse, steady_measures, steady_words
from weatherglass.facts.series.usual_range import usual_measures
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.lists import capital

_LETTERS = {
    Signal.RESPIRATION_RATE: Letter.BREATHING,
    Signal.SPO2: Letter.BREATHING,
    Signal.TEMPERATURE: Letter.EXPOSURE,
}
#: In children the others have no criterion of their own either.
_IN_CHILDREN = {**_LETTERS, Signal.PULSE: Letter.CIRCULATION, Signal.SYSTOLIC_PRESSURE: Letter.CIRCULATION}


def assess_vital_sign_trends(bedside: Bedside) -> Iterator[Finding]:
    """Look for a steady trend in each sign that has no criterion of its own."""
    for signal in _LETTERS if bedside.has_adult_limits else _IN_CHILDREN:
        course = bedside.steady(signal)
        state = bedside.state_of(course.run) if course is not None else None
        if course is not None and state is not None:
            yield _finding(bedside, signal, course, state)


def _held_by_oxygen(bedside: Bedside, signal: Signal, course: SteadyCourse) -> OxygenPoint | None:
    """Return what is breathed now, where a fall of the saturation has ended with more oxygen than then."""
    points = bedside.oxygen_course
    if signal is not Signal.SPO2 or course.trend.is_rising or not points:
        return None
    then = breathed_at(points, course.trend.last.at, bedside.choices.carry_forward)
    return points[-1] if is_more_oxygen(points[-1], then) else None


def _finding(bedside: Bedside, signal: Signal, course: SteadyCourse, state: State) -> Finding:
    trend = course.trend
    newest = bedside.record.series(signal).items[-1]
    label = signal.label
    name = capital(label)
    unit = unit_words(signal.unit)
    settling = state is State.SETTLING
    said = steady_words(trend, unit)
    ended = "no longer"
    brief = f"{name} was {said}, no longer" if settling else f"{name} is {said}"
    held_by = _held_by_oxygen(bedside, signal, course) if settling else None
    if held_by is not None:
        state = State.CONTINUING  # The saturation is back, the patient is not.
        now = f"{plain(newest.value)} {unit} now, with more oxygen than then"
        ended, brief = f"{now} (on {held_by.words})", f"{name} was {said}; {now}"
    return tell(
        About(Kind.VITAL_SIGN_TREND, signal.value, _IN_CHILDREN[signal]),
        Urgency.ROUTINE if settling else bedside.steady_urgency,
        rests_on(
            bedside,
            Course(course.run.since, state=state),
            trend.first,
            trend.last,
            (signal, newest),
            held_by,
            at=newest.at,
        ),
        brief=brief,
        sentence=f"{name} was {said}; {ended}." if settling else f"{name} is {said}.",
        measures=(
            *steady_measures(signal, trend),
            *usual_measures(signal, bedside.usual.get(signal)),
        ),
        sources=bedside.steady_sources,
        decided_by=bedside.steady_rule,
    )
