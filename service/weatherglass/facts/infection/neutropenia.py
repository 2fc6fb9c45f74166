"""Is this neutropenic sepsis: fever or infection without the cells that fight it?

Six ways say so: the problem by its name; very low neutrophils and fever, or a score as of
sepsis; low neutrophils and fever beside what can stop their making; suspected infection with low
neutrophils, recorded neutropenia or current chemotherapy; and fever under chemotherapy while no
count of a day speaks against it.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.facts.series.runs import began_without_gap, first_of_run
from weatherglass.knowledge.sepsis import neutropenic_sepsis as criteria
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus, Route
from weatherglass.model.record.problems import INFECTED, ConditionKind, Recorded
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.patterns import when_asked

_DAY = timedelta(hours=24)
_WORD = when_asked(r"[a-z]+")


class Unwell(Plain, frozen=True):
    """A score as of sepsis in the newest round, or signs of shock in a child.

    Attributes:
        words: As it is said.
        since: When the run of such scores or signs began.
    """

    words: str
    since: datetime


class NeutropenicSepsis(Plain, frozen=True, kw_only=True):
    """What says so.

    Attributes:
        since: From when all of it held; None when none of it is dated.
        neutrophils: The newest count, where it is low.
        fever: The highest temperature of a day, where it is above the limit.
        unwell: The score as of sepsis now, where the count is very low.
        told: Problems and medicines that say neutropenia or chemotherapy.
        ill_since: When the fever or the score of now began, after a day without; None without either.
    """

    since: datetime | None
    neutrophils: Measurement | None
    fever: Measurement | None
    unwell: Unwell | None
    told: tuple[Recorded, ...]
    ill_since: datetime | None = None


def neutropenic_sepsis(
    record: Record,
    infection: SuspectedInfection | None,
    as_of: datetime,
    *,
    counts_for: timedelta,
    unwell: Unwell | None = None,
) -> NeutropenicSepsis | None:
    """Return what says that this is neutropenic sepsis, or None."""
    counts = record.series(Signal.NEUTROPHILS).items
    newest = counts[-1] if counts and as_of - counts[-1].at <= counts_for else None
    fever = _fever(record, as_of)
    listed = [one for one in record.told_of(ConditionKind.NEUTROPENIA) if not _is_past(one, as_of)]
    is_low = newest is not None and criteria.LOW_NEUTROPHILS.is_met_by(_highest(newest))
    is_very_low = newest is not None and criteria.NEUTROPHILS.is_met_by(_highest(newest))
    is_clear = newest is not None and not is_low and _clears(newest, as_of)
    # What nobody dated is over where the cells are back and nobody is ill.
    is_over = is_clear and fever is None and unwell is None
    named = [one for one in listed if one.kinds & INFECTED and not (is_over and one.at is None)]
    treated = [*_chemotherapy(record, as_of)]
    told = [] if is_clear else [*listed, *treated]
    stoppers = list(_stoppers(record, as_of)) if is_low and fever is not None else []
    if infection is not None and _may_be_prevention(infection):
        infection = None
    ways: list[datetime | None] = []
    if named:
        ways.append(_first(named))
    if is_very_low:
        low = _low_since(counts, criteria.NEUTROPHILS.limit.value)
        if fever is not None:
            ways.append(latest((low, _fever_since(record, fever))))
        if unwell is not None:
            ways.append(latest((low, unwell.since)))
    if is_low:
        low = _low_since(counts, criteria.LOW_NEUTROPHILS.limit.value)
        if stoppers and fever is not None:
            ways.append(latest((low, _fever_since(record, fever))))
        if infection is not None:
            ways.append(latest((low, infection.since)))
    if infection is not None and told:
        ways.append(latest((_first(told), infection.since)))
    if fever is not None and treated and not is_clear:
        ways.append(latest((_first(treated), _fever_since(record, fever))))
    if not ways:
        return None
    return NeutropenicSepsis(
        since=earliest(ways),
        neutrophils=newest if is_low else None,
        fever=fever,
        unwell=unwell if is_very_low else None,
        told=tuple(dict.fromkeys([*named, *stoppers, *told])),
        ill_since=earliest(
            (
                _fever_since(record, fever) if fever is not None else None,
                unwell.since if unwell is not None else None,
            )
        ),
    )


def _may_be_prevention(infection: SuspectedInfection) -> bool:
    """Tell whether nothing says infection but tablets, as those at risk take them for months."""
    return infection.by_orders_alone and all(one.route is Route.ORAL for one in infection.orders)


def _clears(count: Measurement, as_of: datetime) -> bool:
    return as_of - count.at <= criteria.NORMAL_COUNT_CLEARS_FOR.length


def _is_past(one: Recorded, as_of: datetime) -> bool:
    """Tell whether it is neutropenic sepsis by its name, of a time that is over."""
    return (
        bool(one.kinds & INFECTED)
        and one.at is not None
        and as_of - one.at > criteria.NAMED_COUNTS_FOR.length
    )


def is_on_chemotherapy(record: Record, as_of: datetime) -> bool:
    """Tell whether something says that chemotherapy is current, after which counts fall."""
    return next(_chemotherapy(record, as_of), None) is not None


def _chemotherapy(record: Record, as_of: datetime) -> Iterator[Recorded]:
    """Yield what says that chemotherapy is current: problems, the chart, doses of six weeks."""
    earliest = as_of - criteria.CHEMOTHERAPY_ACTS_FOR.length
    yield from record.told_of(ConditionKind.CHEMOTHERAPY)
    for order in record.orders:
        if is_cytotoxic(order.medicine.text) and _was_in_force(order, earliest, as_of):
            yield Recorded(order.medicine.text, order.began, order.origin)
    for one in record.procedures:
        is_done = not one.requested and one.at is not None and one.at >= earliest
        if is_done and "chemotherapy" in one.text.casefold():
            yield Recorded(one.text, one.at, one.origin)
    for dose in record.administrations:
        if dose.at >= earliest and is_cytotoxic(dose.medicine.text):
            yield Recorded(dose.medicine.text, dose.at, dose.origin)


def _stoppers(record: Record, as_of: datetime) -> Iterator[Recorded]:
    """Yield the medicines in use that can stop the making of neutrophils."""
    for order in record.orders:
        names = {*order.medicine.ingredients, *_WORD.findall(order.medicine.text.casefold())}
        if criteria.STOPPERS & names and _was_in_force(order, as_of, as_of):
            yield Recorded(order.medicine.text, order.began, order.origin)


def _was_in_force(order: MedicineOrder, earliest: datetime, as_of: datetime) -> bool:
    if order.status is OrderStatus.DRAFT or (order.starts or as_of) > as_of:
        return False
    if order.ends is not None or order.status is OrderStatus.ACTIVE:
        return (order.ends or as_of) >= earliest
    return (order.began or earliest) >= earliest


def is_cytotoxic(text: str) -> bool:
    """Tell whether a line of the chart names chemotherapy."""
    return not criteria.CYTOTOXIC_WORDS.isdisjoint(_WORD.findall(text.casefold()))


def _highest(count: Measurement) -> Decimal:
    """Return the most that a count can be: '< 0.1' is at most 0.1."""
    return count.highest if count.highest is not None else Decimal("Infinity")


def _low_since(counts: Sequence[Measurement], limit: Decimal) -> datetime:
    """Return when the run of counts at or below a limit began that the newest one belongs to."""
    first = first_of_run(counts, lambda one: _highest(one) <= limit)
    return (first or counts[-1]).at


def _fever(record: Record, as_of: datetime) -> Measurement | None:
    """Return the highest certain temperature of a day, where it is above the limit."""
    day = record.series(Signal.TEMPERATURE).within(as_of - _DAY, as_of)
    hot = [one for one in day if one.is_exact and criteria.TEMPERATURE.is_met_by(one.value)]
    return max(hot, key=lambda one: (one.value, one.at), default=None)


def _fever_since(record: Record, fever: Measurement) -> datetime:
    """Return when the fever began that no gap of more than a day interrupts."""
    before = reversed(record.series(Signal.TEMPERATURE).before(fever.at))
    hot = (one.at for one in before if one.is_exact and criteria.TEMPERATURE.is_met_by(one.value))
    return began_without_gap(fever.at, hot, _DAY)


def _first(told: Sequence[Recorded]) -> datetime | None:
    """Return the first of dated words; what has no date was always there."""
    if any(one.at is None for one in told):
        return None
    return earliest(one.at for one in told)
