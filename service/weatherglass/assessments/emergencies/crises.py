"""Does what is on record turn into a crisis: thyroid storm, myxoedema coma, serotonin toxicity, others?

Each is asked of somebody of its age with the problem or the medicines that make it likely, and the signs
together. The team decides; what decides it is named and is not in the record.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Final

from weatherglass.assessments.telling.basis import Course, asked_by, course_of, rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.pregnancy import early_pregnancy
from weatherglass.facts.results.results_of_old import are_of_old
from weatherglass.facts.rounds.alertness import AlteredMind
from weatherglass.facts.series.limits_met import reaches
from weatherglass.knowledge.emergencies import crises as criteria
from weatherglass.knowledge.emergencies.crises import Crisis, Grade
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.medicines.medicine_classes import acts_locally
from weatherglass.knowledge.sepsis.sepsis_strata import FEVER
from weatherglass.model.findings import URGENCY_OF, Finding
from weatherglass.model.known_times import earliest, latest
from weatherglass.model.patterns import when_asked
from weatherglass.model.plain import Plain, replace
from weatherglass.model.quantities import as_sent
from weatherglass.model.record.care import OPERATIONS
from weatherglass.model.record.medicines import PARENTERAL, Medicine, OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital, inside_a_sentence, listed
from weatherglass.model.words.value_words import named_value

#: Ours: so many signs in a head.
_MOST_NAMED: Final = 4
_ENDED: Final = when_asked(r"\b(?:complet\w*|finish\w*|stopp\w*|ended|until)\b\D{0,20}((?:19|20)\d\d)")
_ASKED_BY: Final = {one.key: one.asked_by for one in criteria.CRISES if one.asked_by}


class _Ground(Plain, frozen=True):
    """What makes it likely, since when, and `began` where only a mind that altered after it counts.

    Attributes:
        is_named: Whether it is what is asked.
        written: When a problem of this kind was first written down; before that nobody could ask.
    """

    words: str
    origins: tuple[Origin, ...]
    began: datetime | None = None
    at: datetime | None = None
    is_named: bool = False
    written: datetime | None = None


class _Sign(Plain, frozen=True):
    """A sign that its newest value of the last day shows, and since when."""

    signal: Signal
    value: Measurement
    since: datetime

    @property
    def words(self) -> str:
        """As it is said: 'temperature 39.6 °C'."""
        return named_value(self.signal, self.value, as_sent)


def assess_crises(bedside: Bedside) -> Iterator[Finding]:
    """Ask for every crisis of which the ground and the signs are there, each question as it presses most."""
    if bedside.is_peri_arrest:
        return
    asked: dict[str, Finding] = {}
    months, days = bedside.age_in_months, bedside.age_in_days
    record = bedside.record
    taken = frozenset[str]().union(
        *(one.medicine.classes for one in record.orders),
        *(one.medicine.classes for one in record.administrations),
    )
    for crisis in criteria.possible(record.kinds_told(), taken):
        found = _asked(bedside, crisis) if _is_for(crisis, months, days) else None
        other = asked.get(crisis.asked)
        if found is not None and (other is None or found.urgency > other.urgency):
            asked[crisis.asked] = found
    yield from asked.values()


def asked_once(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Leave out a crisis that another finding asks as urgently, by what was measured.

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
            passed_on[other.key] = one.at_once
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
    ground = _ground(bedside, crisis) if _grade(crisis, signs, mind) is not None else None
    if ground is not None and (crisis.beside or crisis.mother):
        ground = _with_what_stands_beside(bedside, crisis, ground)
    if ground is None:
        return None
    if crisis.within_hours and ground.at is not None:
        signs = [one for one in signs if one.since >= ground.at]
    if mind is not None and ground.began is not None and (mind.since is None or mind.since < ground.began):
        mind = None
    grade = _grade(crisis, signs, mind)
    return _finding(bedside, crisis, grade, ground, signs, mind) if grade is not None else None


def _grade(crisis: Crisis, signs: Sequence[_Sign], mind: AlteredMind | None) -> Grade | None:
    return next(_met(crisis, signs, mind), None)


def _met(crisis: Crisis, signs: Sequence[_Sign], mind: AlteredMind | None) -> Iterator[Grade]:
    return (one for one in crisis.grades if len(signs) >= one.numbers and (mind is not None or not one.mind))


def _finding(
    bedside: Bedside,
    crisis: Crisis,
    grade: Grade,
    ground: _Ground,
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
    return asked_by(
        crisis,
        head,
        basis,
        key=crisis.key,
        urgency=URGENCY_OF[grade.soon],
        brief=f"{likely} with {listed(few)}" if said else likely,
        asks=_asks(bedside, crisis),
        sources=(criteria.COUNTS_FOR.source,),
        decided_by="what is on record and its signs together",
    )


def _course(
    bedside: Bedside,
    crisis: Crisis,
    grade: Grade,
    signs: Sequence[_Sign],
    mind: AlteredMind | None,
    ground: _Ground,
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
    grade: Grade, signs: Sequence[_Sign], mind: AlteredMind | None, ground: _Ground
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
            return f"{_name(dose.medicine)} given {bedside.clock.at(dose.at)}; {crisis.treated.asks}"
    for order in bedside.on_chart(crisis.treated.classes):
        if order.route in PARENTERAL:
            stands = f"{order.medicine.text} on the chart, no dose recorded in the last day"
            return f"{stands}: it is due now; {crisis.treated.asks}"
    return crisis.asks


# What makes it likely


def _is_treated(bedside: Bedside, crisis: Crisis) -> bool:
    """Tell whether something on the chart answers the question; what only prevents does not."""
    preventive = {one.order for one in bedside.drug_chart.lines if is_preventive(bedside.named(one))}
    return any(order.origin not in preventive for order in bedside.on_chart(crisis.but_not))


def _ground(bedside: Bedside, crisis: Crisis) -> _Ground | None:
    is_for_others = crisis.unless_mother and bedside.is_pregnant_or_recently
    if is_for_others or (crisis.but_not and _is_treated(bedside, crisis)):
        return None
    if any(
        one.charted is not None and one.charted.route in crisis.unless_by for one in bedside.drug_chart.lines
    ):
        return None
    if crisis.after and not _comes_after(bedside, crisis):
        return None
    if _is_known(bedside, crisis) or (crisis.unless_gap and bedside.unexplained_gap is not None):
        return None
    known = _early_pregnancy(bedside) if crisis.early_pregnancy else next(_problems(bedside, crisis), None)
    if known is not None:
        return known
    found = (
        _of_classes(bedside, crisis)
        or _of_pair(bedside, crisis)
        or _of_dose(bedside, crisis)
        or _of_operation(bedside, crisis)
    )
    if found is None and crisis.whoever:
        return _Ground(crisis.whoever, ())
    return found or _of_fever(bedside, crisis)


def _of_classes(bedside: Bedside, crisis: Crisis) -> _Ground | None:
    """Return what is on the chart, or was given last so lately that it still acts.

    Of an order that is over and has no end its beginning counts.
    """
    orders = bedside.on_chart(crisis.classes) if crisis.classes else ()
    if orders:
        names = sorted({_name(one.medicine) for one in orders})
        return _Ground(listed(names), tuple(one.origin for one in orders))
    if not crisis.acts_for:
        return None
    wanted = frozenset(each.value for each in crisis.classes)
    ordered = (
        (one.ends or one.began, one.medicine, one.origin)
        for one in bedside.record.orders
        if one.status is not OrderStatus.DRAFT
    )
    given = ((one.at, one.medicine, one.origin) for one in bedside.record.administrations)
    acting = [
        (at, _name(medicine), origin)
        for at, medicine, origin in (*ordered, *given)
        if at is not None
        and medicine.classes & wanted
        and timedelta(0) <= bedside.as_of - at <= crisis.acts_for
    ]
    if not acting:
        return None
    at, name, origin = max(acting)
    return _Ground(f"{name} of {bedside.clock.day(at)},", (origin,))


def _early_pregnancy(bedside: Bedside) -> _Ground | None:
    """Return a pregnancy of the first weeks; none where somebody has operated since it was found."""
    early = early_pregnancy(bedside.record, bedside.as_of)
    if early is None or (early.since is not None and _was_operated(bedside, early.since)):
        return None
    return _Ground(capital(early.said), early.origins, at=early.since)


def _comes_after(bedside: Bedside, crisis: Crisis) -> bool:
    """Tell whether what it comes after was begun long enough ago, and not too long."""
    wanted = frozenset(each.value for each in crisis.after)
    least, most = criteria.AFTER
    record = bedside.record
    ordered = (
        (one.medicine, one.route, one.began) for one in record.orders if one.status is not OrderStatus.DRAFT
    )
    given = ((one.medicine, one.route, one.at) for one in record.administrations)
    return any(
        at is not None
        and least <= bedside.as_of - at <= most
        and any(not acts_locally(key, route) for key in medicine.classes & wanted)
        for medicine, route, at in (*ordered, *given)
    )


def _with_what_stands_beside(bedside: Bedside, crisis: Crisis, ground: _Ground) -> _Ground | None:
    """Return a ground with the problem that must stand beside it; None where that is missing."""
    beside = bedside.record.told_of(*crisis.beside) if crisis.beside else ()
    within = crisis.beside_within or (crisis.recorded_within if crisis.early_pregnancy else timedelta(0))
    if within:
        oldest = bedside.as_of - within
        beside = tuple(one for one in beside if one.at is None or one.at >= oldest)
    if crisis.operated and ground.at is not None:
        beside = tuple(one for one in beside if one.at is None or one.at >= ground.at)
    if not beside:
        words = f"{ground.words.rstrip(',')} in pregnancy or after it"
        return replace(ground, words=words) if crisis.mother and bedside.is_pregnant_or_recently else None
    named = listed([ground.words.rstrip(","), *dict.fromkeys(inside_a_sentence(one.text) for one in beside)])
    return replace(
        ground,
        words=named,
        origins=(*ground.origins, *(one.origin for one in beside)),
        at=latest((ground.at, earliest(one.at for one in beside))),
    )


def _is_known(bedside: Bedside, crisis: Crisis) -> bool:
    """Tell whether what is asked for was written down of late: then it is no question any more."""
    known = bedside.record.told_of(*crisis.unless) if crisis.unless else ()
    since = bedside.as_of - criteria.ANSWERED_FOR.length
    return any(one.at is not None and one.at >= since for one in known)


def _problems(bedside: Bedside, crisis: Crisis) -> Iterator[_Ground]:
    """Yield the problems and the reasons of an open stay that make it likely, where they still count.

    What is asked itself comes first.
    """
    within = crisis.recorded_within
    told = bedside.record.told_of(*crisis.problems) if crisis.problems else ()
    for one in sorted(told, key=lambda one: one.kinds.isdisjoint(crisis.named)):
        is_settled = crisis.settled_by_operation and _was_operated(bedside, one.at)
        is_settled |= bool(crisis.acts_for) and _has_long_ended(one.text, bedside.as_of)
        if not is_settled and (not within or one.at is None or bedside.as_of - one.at <= within):
            began = one.at + crisis.mind_after if one.at is not None and crisis.mind_after else None
            is_named = not one.kinds.isdisjoint(crisis.named)
            written = earliest(each.at for each in told if not each.kinds.isdisjoint(one.kinds))
            yield _Ground(one.text, (one.origin,), began, one.at, is_named, written)


def _has_long_ended(text: str, as_of: datetime) -> bool:
    """Tell whether words say that a treatment ended in a year before the last: 'completed 2023'."""
    ended = _ENDED.findall(text.casefold())
    return bool(ended) and int(ended[-1]) < as_of.year - 1


def _was_operated(bedside: Bedside, since: datetime | None) -> bool:
    return any(since is None or one.at >= since for one in bedside.record.done(*OPERATIONS))


def _of_dose(bedside: Bedside, crisis: Crisis) -> _Ground | None:
    since = bedside.as_of - (crisis.within_hours or criteria.COUNTS_FOR.length)
    for dose in reversed(bedside.record.administrations):
        is_swallowed = bool(crisis.within_hours) and dose.route is Route.ORAL
        if since <= dose.at and not is_swallowed and not crisis.given.isdisjoint(dose.medicine.classes):
            # What is doubted is what came after it: `at` says from when.
            words = f"{_name(dose.medicine)} given {bedside.clock.at(dose.at)},"
            return _Ground(words, (dose.origin,), at=dose.at if crisis.within_hours else None, began=dose.at)
    # What was given may be written down as what was done.
    for one in reversed(bedside.record.done(*crisis.procedures) if crisis.given else ()):
        if since <= one.until <= bedside.as_of:
            return _Ground(f"{one.text} {bedside.clock.at(one.until)},", (one.origin,), one.until)
    return None


def _of_operation(bedside: Bedside, crisis: Crisis) -> _Ground | None:
    if not crisis.operated:
        return None
    for one in reversed(bedside.record.done(*(crisis.procedures or OPERATIONS))):
        if crisis.operated_after <= bedside.as_of - one.until <= crisis.operated:
            return _Ground(f"{one.text}, {bedside.clock.day(one.at)},", (one.origin,), at=one.until)
    return None


def _of_pair(bedside: Bedside, crisis: Crisis) -> _Ground | None:
    for met in bedside.pairs_met:
        if met.pair.key in crisis.pairs:
            names = sorted({_name(line.medicine) for line in met.lines})
            return _Ground(listed(names), tuple(line.order for line in met.lines))
    return None


def _of_fever(bedside: Bedside, crisis: Crisis) -> _Ground | None:
    """Return a fever that was measured on each of so many days, the last one today or yesterday."""
    if not crisis.fever_days:
        return None
    oldest = bedside.as_of - timedelta(days=crisis.fever_days + 1)
    hot = [
        one
        for one in bedside.record.series(Signal.TEMPERATURE).within(oldest, bedside.as_of)
        if one.is_exact and FEVER.is_met_by(one.value)
    ]
    first_of: dict[date, Measurement] = {}
    for one in hot:
        first_of.setdefault(bedside.local(one.at).date(), one)
    for last in (0, 1):
        until = bedside.local(bedside.as_of).date() - timedelta(days=last)
        days = [until - timedelta(days=each) for each in reversed(range(crisis.fever_days))]
        if all(day in first_of for day in days):
            words = f"Fever on each of {crisis.fever_days} days"
            return _Ground(words, tuple(first_of[day].origin for day in days), at=first_of[days[-1]].at)
    return None


def _name(medicine: Medicine) -> str:
    return capital(medicine.name)


# Its signs


def _signs(bedside: Bedside, crisis: Crisis) -> Iterator[_Sign]:
    for signal, cutoff in crisis.signs:
        if signal is Signal.CREATININE and _is_recovering(bedside):
            continue  # Somebody has acted, or it has gone by itself.
        if signal is Signal.OXYGEN_FLOW and bedside.record.known_of(ConditionKind.HOME_OXYGEN):
            continue
        if signal is Signal.TEMPERATURE and not cutoff.compare.is_upward and bedside.is_cooled_on_purpose:
            continue
        found = bedside.newest_beyond(signal, reaches(cutoff), criteria.COUNTS_FOR.length)
        if found is not None:
            value, since = found
            if signal in crisis.new and are_of_old(bedside.record, signal, value, bedside.as_of):
                continue
            again = _risen_again(bedside, value) if signal is Signal.CREATININE else None
            yield _Sign(signal, value, max(filter(None, (since, again))))


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
