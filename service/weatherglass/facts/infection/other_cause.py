"""Is every infection on record of a cause that antibacterials do not treat, and what treats it?"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from weatherglass.knowledge.medicines.medicine_classes import acts_locally
from weatherglass.knowledge.sepsis.other_causes import CAUSES, OtherCause
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration, MedicineOrder, OrderStatus
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record

#: What says that bacteria are there, or may be.
_BACTERIA = frozenset({ConditionKind.BACTERIAL_INFECTION, ConditionKind.BACTERIAL_MENINGITIS})
_DAY = timedelta(days=1)


class Told(Plain, frozen=True):
    """One infection as it is recorded: what it is, since when, and whether somebody is sure."""

    kinds: frozenset[ConditionKind]
    at: datetime | None
    confirmed: bool


def cause_of(record: Record, told: Sequence[Told], as_of: datetime) -> OtherCause | None:
    """Return the other cause of all that is recorded, the most pressing one; None where one is not."""
    named = [_named_by(one) for one in told]
    if not named or None in named:
        return None
    treated = {cause for cause in CAUSES if cause in named and _is_treated(record, cause, as_of)}
    for one, cause in zip(told, named, strict=True):
        if cause is not None and cause not in treated and not _is_of_now(cause, one, as_of):
            return None
    return next(cause for cause in CAUSES if cause in named)


def _named_by(one: Told) -> OtherCause | None:
    """Return the cause that one record names; sepsis, and a virus only suspected, ask as ever."""
    found = next((cause for cause in CAUSES if cause.kind in one.kinds), None)
    if found is None or not one.kinds.isdisjoint(_BACTERIA):
        return None
    is_sure = found.due or (one.confirmed and ConditionKind.SEPSIS not in one.kinds)
    return found if is_sure else None


def _is_of_now(cause: OtherCause, one: Told, as_of: datetime) -> bool:
    if cause.counts_for is None:
        return True
    return one.at is not None and as_of - one.at <= cause.counts_for


def is_of_a_lasting_cause(kinds: frozenset[ConditionKind], at: datetime, as_of: datetime) -> bool:
    """Tell whether an infection is of another cause whose record still speaks: tuberculosis, malaria."""
    cause = next((one for one in CAUSES if one.kind in kinds), None)
    return cause is not None and (cause.counts_for is None or as_of - at <= cause.counts_for)


def _is_treated(record: Record, cause: OtherCause, as_of: datetime) -> bool:
    """Tell whether its own treatment is on the chart or was given in the last day."""
    if any(as_of - dose.at <= _DAY for dose in doses_against(record, cause)):
        return True
    return bool(with_treatment(record, (), cause, as_of))


def with_treatment(
    record: Record, orders: tuple[MedicineOrder, ...], cause: OtherCause, as_of: datetime
) -> tuple[MedicineOrder, ...]:
    """Return the orders that say so, and those that treat the cause."""
    treating = (
        order
        for order in record.orders
        if order.status is OrderStatus.ACTIVE and order.in_force_at(as_of) and _treats(order, cause)
    )
    return tuple({order.origin: order for order in (*orders, *treating)}.values())


def _treats(given: MedicineOrder | Administration, cause: OtherCause) -> bool:
    return any(not acts_locally(key, given.route) for key in given.medicine.classes & cause.classes)


def doses_against(record: Record, cause: OtherCause) -> tuple[Administration, ...]:
    """Return the doses given against a cause, oldest first."""
    return tuple(dose for dose in record.administrations if _treats(dose, cause))
