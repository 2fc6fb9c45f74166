"""Does what is on record turn into a crisis: thyroid storm, myxoedema coma, serotonin toxicity, others?

Each is asked of somebody of its age with the problem or the medicines that make it likely, and the signs
together. The team decides; what decides it is named and is not in the record.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import Course, allergies_beside, asked_by, course_of, rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.crisis_grounds import Ground, ground_of
from weatherglass.facts.results.results_of_old import are_of_old
from weatherglass.facts.rounds.alertness import AlteredMind
from weatherglass.facts.series.limits_met import Beyond, reaches
from weatherglass.knowledge.emergencies import crises as criteria
from weatherglass.knowledge.emergencies.crises import Crisis, Grade
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.model.findings import URGENCY_OF, Finding
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.medicines import PARENTERAL
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Consciousness, Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import capital, listed
from weatherglass.model.words.value_words import named_value

#: Ours: so many signs in a head.
_MOST_NAMED: Final = 4
_ASKED_BY: Final = {
    **{one.key: one.asked_by for one in criteria.CRISES if one.asked_by},
    **{one.key: one.asked_by for one in COMBINATIONS if one.asked_by},
}


class _Sign(Plain, frozen=True):
    """A sign that its newest value of the last day shows, and since when."""

    signal: Signal
    value: Measurement
    since: datetime
    lowest: Measurement | None = None

    @property
    def words(self) -> str:
        """As it is said: 'temperature 39.6 °C', of one that swings 'pulse 52 to 124 /min'."""
        if self.lowest is None:
            return named_value(self.signal, self.value, as_sent)
        low, high = as_sent(self.lowest.value), as_sent(self.value.value)
        return f"{named_value(self.signal, self.value, lambda _: f'{low} to {high}')} within a day"


def assess_crises(bedside: Bedside) -> Iterator[Finding]:
    """Ask for every crisis of which the ground and the signs are there, each question as it presses most."""
    if bedside.is_peri_arrest:
        return
    asked: dict[str, Finding] = {}
    months, days = bedside.age_in_months, bedside.days_lived
    record = bedside.record
    taken = frozenset[str]().union(
        *(one.medicine.classes for one in record.orders),
        *(one.medicine.classes for one in record.administrations),
    )
    for crisis in criteria.possible(record.kinds_told(), taken, record.kinds_done()):
        found = _asked(bedside, crisis) if _is_for(crisis, months, days) else None
        other = asked.get(crisis.asked)
        if found is not None and (other is None or found.urgency > other.urgency):
            asked[crisis.asked] = found
    yield from asked.values()


def asked_once(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Leave out a crisis, or a combination on the chart, that another finding asks as urgently.

    What is to be done at the bedside goes on to that one.
    """
    found = tuple(findings)
    passed_on: dict[str, str] = {}
    left_out: set[str] = set()
    for one in found:
        by = _ASKED_BY.get(one.key, frozenset())
        other = next((each for each in found if each.key in by and each.urgency >= one.urgency), None)
        if other is not None:
            left_out.add(one.key)
            passed_on[other.key] = passed_on.get(other.key) or one.at_once
    for one in found:
        if one.key not in left_out:
            yield replace(one, at_once=one.at_once or passed_on[one.key]) if one.key in passed_on else one


def _is_for(crisis: Crisis, months: int | None, days: int | None) -> bool:
    """Tell whether somebody of an age is asked about it; who has none recorded is taken for an adult."""
    age = months if months is not None else criteria.ADULT_MONTHS
    if crisis.below_days and (days is None or days >= crisis.below_days):
        return False
    return crisis.from_months <= age and not (crisis.below_months and age >= crisis.below_months)


def _asked(bedside: Bedside, crisis: Crisis) -> Finding | None:
    """Ask for one crisis: its signs first, which few patients show."""
    signs = sorted(_signs(bedside, crisis), key=lambda one: one.since)
    mind = bedside.altered_mind
    ground = ground_of(bedside, crisis) if _grade(crisis, signs, mind) is not None else None
    if ground is None:
        return None
    if crisis.within_hours and ground.at is not None:
        signs = [one for one in signs if one.since >= ground.at]
    began = ground.at if _was_alert_between(bedside, ground.at, mind) else ground.began
    if mind is not None and began is not None and (mind.since is None or mind.since < began):
        mind = None
    grade = _grade(crisis, signs, mind)
    return _finding(bedside, crisis, grade, ground, signs, mind) if grade is not None else None


def _was_alert_between(bedside: Bedside, problem: datetime | None, mind: AlteredMind | None) -> bool:
    """Tell whether somebody was alert after a problem began and before the mind altered."""
    if problem is None or mind is None or mind.since is None:
        return False
    return any(
        problem <= one.one.end < mind.since and one.value is Consciousness.ALERT for one in bedside.alertness
    )


def _grade(crisis: Crisis, signs: Sequence[_Sign], mind: AlteredMind | None) -> Grade | None:
    return next(_met(crisis, signs, mind), None)


def _met(crisis: Crisis, signs: Sequence[_Sign], mind: AlteredMind | None) -> Iterator[Grade]:
    return (one for one in crisis.grades if len(signs) >= one.numbers and (mind is not None or not one.mind))


def _finding(
    bedside: Bedside,
    crisis: Crisis,
    grade: Grade,
    ground: Ground,
    signs: Sequence[_Sign],
    mind: AlteredMind | None,
) -> Finding:
    course = _course(bedside, crisis, grade, signs, mind, ground)
    said = [one.words for one in signs] + ([mind.words] if mind is not None else [])
    likely = capital(ground.words) if ground.is_named else f"{crisis.asked} {ground.words}"
    head = f"{likely} with {listed(said)}" if said else likely
    # A head that is read out names the first few of many; its sentence names all.
    few = (
        [*said[:_MOST_NAMED], f"{len(said) - _MOST_NAMED} more signs"]
        if len(said) > _MOST_NAMED + 1
        else said
    )
    basis = rests_on(
        bedside,
        course,
        *ground.origins,
        *((one.signal, one.value) for one in signs),
        *(mind.origins if mind else ()),
        at=None if signs else ground.at,
    )
    asks = _asks(bedside, crisis)
    return asked_by(
        crisis,
        head,
        basis,
        key=crisis.key,
        urgency=URGENCY_OF[grade.soon],
        brief=f"{likely} with {listed(few)}" if said else likely,
        asks=f"{asks}{allergies_beside(bedside, asks)}",
        sources=(criteria.COUNTS_FOR,),
        decided_by="what is on record and its signs together",
    )


def _course(
    bedside: Bedside,
    crisis: Crisis,
    grade: Grade,
    signs: Sequence[_Sign],
    mind: AlteredMind | None,
    ground: Ground,
) -> Course:
    """Return since when enough is there, and enough for a grade as urgent as this.

    A further sign makes neither later.
    """
    soon = URGENCY_OF[grade.soon]
    began = [
        (at, URGENCY_OF[one.soon] >= soon)
        for one in _met(crisis, signs, mind)
        if (at := _complete(one, signs, mind, ground)) is not None
    ]
    since = min((at for at, _ in began), default=None)
    return course_of(bedside, since, min((at for at, is_as_urgent in began if is_as_urgent), default=None))


def _complete(
    grade: Grade, signs: Sequence[_Sign], mind: AlteredMind | None, ground: Ground
) -> datetime | None:
    """Return when the last came of what a grade asks for, else when the ground did."""
    asked = [signs[grade.numbers - 1].since] if grade.numbers else []
    if grade.mind and mind is not None and mind.since is not None:
        asked.append(mind.since)
    if asked and ground.written is not None:
        asked.append(ground.written)
    return max(asked, default=ground.at)


def _asks(bedside: Bedside, crisis: Crisis) -> str:
    """Return what is asked for: something else where it is being treated by a vein or into a muscle."""
    if crisis.treated is None:
        return crisis.asks
    wanted = frozenset(each.value for each in crisis.treated.classes)
    since = bedside.as_of - criteria.COUNTS_FOR.length
    for dose in reversed(bedside.record.administrations):
        is_by_route = crisis.treated.by_any_route or dose.route in PARENTERAL
        if since <= dose.at and is_by_route and dose.medicine.classes & wanted:
            return f"{capital(dose.medicine.name)} given {bedside.clock.at(dose.at)}; {crisis.treated.asks}"
    for order in bedside.on_chart(crisis.treated.classes):
        if order.route in PARENTERAL:
            stands = f"{order.medicine.text} on the chart, no dose recorded in the last day"
            return f"{stands}: it is due now; {crisis.treated.asks}"
    return crisis.asks


# Its signs


def _signs(bedside: Bedside, crisis: Crisis) -> Iterator[_Sign]:
    for signal, cutoff in crisis.signs:
        if signal is Signal.CREATININE and _is_recovering(bedside):
            continue  # Somebody has acted, or it has gone by itself.
        if signal is Signal.OXYGEN_FLOW and bedside.record.known_of(ConditionKind.HOME_OXYGEN):
            continue
        if signal is Signal.TEMPERATURE and not cutoff.compare.is_upward and bedside.is_cooled_on_purpose:
            continue
        found = _of_twins(bedside, cutoff) if signal is Signal.FETAL_HEART else None
        found = found or bedside.newest_beyond(signal, reaches(cutoff), criteria.COUNTS_FOR.length)
        if found is not None:
            value, since = found
            if signal is Signal.POTASSIUM and Remark.HAEMOLYSED in value.remarks:
                continue
            if signal in crisis.new and are_of_old(bedside.record, signal, value, bedside.as_of):
                continue
            again = _risen_again(bedside, value) if signal is Signal.CREATININE else None
            yield _Sign(signal, value, max(filter(None, (since, again))))
    yield from _swings(bedside, crisis)


def _swings(bedside: Bedside, crisis: Crisis) -> Iterator[_Sign]:
    for signal, cutoff in crisis.differences:
        values = bedside.exact(signal, criteria.COUNTS_FOR.length)
        low, high = (pick(values, key=lambda one: one.value, default=None) for pick in (min, max))
        if low is not None and high is not None and cutoff.is_met_by(high.value - low.value):
            yield _Sign(signal, high, max(low.at, high.at), low)


def _of_twins(bedside: Bedside, cutoff: Cutoff) -> Beyond | None:
    """Return the newest slow heart of an hour: a quick one after it may be the other baby's."""
    if not bedside.record.told_of(ConditionKind.TWINS):
        return None
    within = bedside.record.series(Signal.FETAL_HEART).within(
        bedside.as_of - criteria.TWINS_FOR.length, bedside.as_of
    )
    slow = [one for one in within if cutoff.is_met_by(one.value)]
    if not slow or sum(one.at > slow[-1].at for one in within) > 1:
        return None  # Two were counted since: nobody is left out.
    return Beyond(slow[-1], slow[0].at)


def _risen_again(bedside: Bedside, newest: Measurement) -> datetime | None:
    """Return when creatinine rose again after it had been on its way back; None where it had not."""
    week = bedside.record.series(Signal.CREATININE).within(newest.at - timedelta(days=7), newest.at)
    share = kdigo.RECOVERING_SHARE_OF_PEAK.limit.value
    peak = lowest = Decimal(0)
    again: datetime | None = None
    for one in week:
        if one.value >= peak:
            peak = lowest = one.value
            again = None
        elif one.value <= lowest:
            lowest, again = one.value, None
        elif again is None and lowest <= share * peak:
            again = one.at
    return again


def _is_recovering(bedside: Bedside) -> bool:
    """Tell whether creatinine is on its way back from an injury."""
    kidneys = bedside.kidneys
    recovers = kidneys.episode is not None and kidneys.episode.recovering_since is not None
    return recovers or kidneys.late_recognition is not None
