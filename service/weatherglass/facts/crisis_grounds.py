"""What makes a crisis likely: a problem, a medicine, a pair of them, a dose, an operation, days of fever."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.thinned import beyond_prevention
from weatherglass.facts.pregnancy import early_pregnancy
from weatherglass.knowledge.emergencies import crises as criteria
from weatherglass.knowledge.emergencies.crises import Crisis
from weatherglass.knowledge.medicines.medicine_classes import acts_locally
from weatherglass.knowledge.sepsis.sepsis_strata import FEVER
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import OPERATIONS, Done, ProcedureKind
from weatherglass.model.record.medicines import Medicine, OrderStatus, Route
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.lists import capital, inside_a_sentence, listed

_WORDS: Final = word_patterns("record-patterns.toml")
_ONE_DAY: Final = timedelta(days=1)
_ENDED: Final = _WORDS["treatment-ended"]


class Ground(Plain, frozen=True):
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


def ground_of(bedside: Bedside, crisis: Crisis) -> Ground | None:
    """Return what makes it likely, with what must stand beside it; None where nothing does."""
    ground = _ground(bedside, crisis)
    needs_more = bool(crisis.beside) or crisis.mother
    return _with_what_stands_beside(bedside, crisis, ground) if ground is not None and needs_more else ground


def _ground(bedside: Bedside, crisis: Crisis) -> Ground | None:
    is_for_others = (crisis.unless_mother and bedside.is_pregnant_or_recently) or (
        crisis.may_be_pregnant and not bedside.may_be_pregnant
    )
    # What only prevents answers no question.
    if is_for_others or beyond_prevention(bedside, crisis.but_not):
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
        return Ground(crisis.whoever, ())
    return found or _of_fever(bedside, crisis)


def _of_classes(bedside: Bedside, crisis: Crisis) -> Ground | None:
    """Return what is on the chart, or was given last so lately that it still acts.

    Of an order that is over and has no end its beginning counts.
    """
    orders = bedside.on_chart(crisis.classes) if crisis.classes else ()
    if orders:
        names = sorted({_name(one.medicine) for one in orders})
        return Ground(listed(names), tuple(one.origin for one in orders))
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
    return Ground(f"{name} of {bedside.clock.day(at)},", (origin,))


def _early_pregnancy(bedside: Bedside) -> Ground | None:
    """Return a pregnancy of the first weeks; none where somebody has operated since it was found."""
    early = early_pregnancy(bedside.record, bedside.as_of)
    if early is None or (early.since is not None and _was_operated(bedside, early.since)):
        return None
    return Ground(capital(early.said), early.origins, at=early.since)


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


def _with_what_stands_beside(bedside: Bedside, crisis: Crisis, ground: Ground) -> Ground | None:
    """Return a ground with the problem that must stand beside it; None where that is missing."""
    beside = bedside.record.told_of(*crisis.beside) if crisis.beside else ()
    within = crisis.beside_within or (crisis.recorded_within if crisis.early_pregnancy else timedelta(0))
    if within:
        oldest = bedside.as_of - within
        beside = tuple(one for one in beside if one.at is None or one.at >= oldest)
    if crisis.operated and ground.at is not None:
        beside = tuple(one for one in beside if one.at is None or one.at >= ground.at)
    if not beside:
        words = crisis.whoever or f"{ground.words.rstrip(',')} in pregnancy or after it"
        return replace(ground, words=words) if crisis.mother and bedside.is_pregnant_or_recently else None
    named = listed([ground.words.rstrip(","), *dict.fromkeys(inside_a_sentence(one.text) for one in beside)])
    since = earliest(one.at for one in beside)
    return replace(
        ground,
        words=named,
        origins=(*ground.origins, *(one.origin for one in beside)),
        at=latest((ground.at, since)),
        written=latest((ground.written, since)),
    )


def _is_known(bedside: Bedside, crisis: Crisis) -> bool:
    """Tell whether what is asked for was written down of late: then it is no question any more.

    What was written down before an operation is what was operated on, and not what comes of it.
    """
    known = bedside.record.told_of(*crisis.unless) if crisis.unless else ()
    since = bedside.as_of - criteria.ANSWERED_FOR.length
    if known and crisis.operated and not crisis.problems:
        found_by_then = min(crisis.operated_after, criteria.FOUND_IN_THEATRE.length)
        since = max([since, *(one.until + found_by_then for one in _operations(bedside, crisis))])
    return any(one.at is not None and one.at >= since for one in known)


def _problems(bedside: Bedside, crisis: Crisis) -> Iterator[Ground]:
    """Yield the problems and the reasons of an open stay that make it likely, where they still count.

    What is asked itself comes first.
    """
    within = crisis.recorded_within
    told = bedside.record.told_of(*crisis.problems) if crisis.problems else ()
    oldest = bedside.as_of - within
    if crisis.times > 1 and len({one.at for one in told if one.at and one.at >= oldest}) < crisis.times:
        return
    for one in sorted(told, key=lambda one: one.kinds.isdisjoint(crisis.named)):
        is_settled = crisis.settled_by_operation and _was_operated(bedside, one.at)
        is_settled |= bool(crisis.settled_by) and _was_done(bedside, crisis.settled_by, one.at)
        is_settled |= bool(crisis.acts_for) and _has_long_ended(one.text, bedside.as_of)
        if not is_settled and (not within or one.at is None or bedside.as_of - one.at <= within):
            began = one.at + crisis.mind_after if one.at is not None and crisis.mind_after else None
            is_named = not one.kinds.isdisjoint(crisis.named)
            written = earliest(each.at for each in told if not each.kinds.isdisjoint(one.kinds))
            yield Ground(one.text, (one.origin,), began, one.at, is_named, written)


def _has_long_ended(text: str, as_of: datetime) -> bool:
    """Tell whether words say that a treatment ended in a year before the last: 'completed 2023'."""
    ended = _ENDED.findall(text.casefold())
    return bool(ended) and int(ended[-1]) < as_of.year - 1


def _was_operated(bedside: Bedside, since: datetime | None) -> bool:
    return _was_done(bedside, OPERATIONS, since)


def _was_done(bedside: Bedside, kinds: frozenset[ProcedureKind], since: datetime | None) -> bool:
    return any(since is None or one.at >= since for one in bedside.record.done(*kinds))


def _of_dose(bedside: Bedside, crisis: Crisis) -> Ground | None:
    since = bedside.as_of - (crisis.within_hours or criteria.COUNTS_FOR.length)
    for dose in reversed(bedside.record.administrations):
        is_swallowed = bool(crisis.within_hours) and dose.route is Route.ORAL
        if since <= dose.at and not is_swallowed and not crisis.given.isdisjoint(dose.medicine.classes):
            # What is doubted is what came after it: `at` says from when.
            words = f"{_name(dose.medicine)} given {bedside.clock.at(dose.at)},"
            return Ground(words, (dose.origin,), at=dose.at if crisis.within_hours else None, began=dose.at)
    # What was given may be written down as what was done.
    for one in reversed(bedside.record.done(*crisis.procedures) if crisis.given else ()):
        if since <= one.until <= bedside.as_of:
            return Ground(f"{one.text} {bedside.clock.at(one.until)},", (one.origin,), one.until)
    return None


def _of_operation(bedside: Bedside, crisis: Crisis) -> Ground | None:
    done = _operations(bedside, crisis) if crisis.operated else ()
    if not done:
        return None
    one = done[-1]
    return Ground(f"{one.text}, {bedside.clock.day(one.at)},", (one.origin,), at=one.until)


def _operations(bedside: Bedside, crisis: Crisis) -> tuple[Done, ...]:
    """Return the operations that it comes after, the last one last."""
    return tuple(
        one
        for one in bedside.record.done(*(crisis.procedures or OPERATIONS))
        if crisis.operated_after <= bedside.as_of - one.until <= crisis.operated
    )


def _of_pair(bedside: Bedside, crisis: Crisis) -> Ground | None:
    for met in bedside.pairs_met:
        if met.pair.key in crisis.pairs:
            names = sorted({_name(line.medicine) for line in met.lines})
            return Ground(listed(names), tuple(line.order for line in met.lines))
    return None


def _of_fever(bedside: Bedside, crisis: Crisis) -> Ground | None:
    """Return a fever that was measured on each of so many days, the last one today or yesterday."""
    if not crisis.fever_days:
        return None
    oldest = bedside.as_of - criteria.FEVER_LOOKED_FOR.length
    hot = [
        one
        for one in bedside.record.series(Signal.TEMPERATURE).within(oldest, bedside.as_of)
        if one.is_exact and FEVER.is_met_by(one.value)
    ]
    first_of: dict[date, Measurement] = {}
    for one in hot:
        first_of.setdefault(bedside.local(one.at).date(), one)
    today = bedside.local(bedside.as_of).date()
    last = next((day for day in (today, today - _ONE_DAY) if day in first_of), None)
    days: list[date] = []
    while last is not None and last in first_of:
        days.insert(0, last)
        last -= _ONE_DAY
    if len(days) < crisis.fever_days:
        return None
    enough = first_of[days[crisis.fever_days - 1]].at
    return Ground(
        f"Fever on each of {len(days)} days", tuple(first_of[day].origin for day in days), at=enough
    )


def _name(medicine: Medicine) -> str:
    return capital(medicine.name)
