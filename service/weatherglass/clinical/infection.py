"""Is infection suspected, since when, and is it being treated?

Suspected means: an active infection or sepsis on the problem list (also one marked as
not yet confirmed), or an antibacterial on the chart that reaches the blood. Nothing else.
"""

from dataclasses import dataclass
from datetime import datetime

from weatherglass.clinical.criteria.medicine_classes import MedicineClass, acts_locally
from weatherglass.clinical.record import (
    Administration,
    Condition,
    ConditionKind,
    MedicineOrder,
    OrderStatus,
    Record,
)

_ANTIBACTERIAL = MedicineClass.ANTIBACTERIAL.value


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectedInfection:
    """Why infection is suspected, and the treatment of it that is recorded.

    Attributes:
        since: The earliest moment that says so; None when nothing is dated.
        conditions: Active infections on the problem list.
        orders: Antibacterials on the chart.
        doses: Antibacterial doses given, oldest first.
    """

    since: datetime | None
    conditions: tuple[Condition, ...]
    orders: tuple[MedicineOrder, ...]
    doses: tuple[Administration, ...]


def suspected_infection(record: Record, as_of: datetime) -> SuspectedInfection | None:
    """Return why infection is suspected at a moment, or None."""
    conditions = record.conditions_of(ConditionKind.INFECTION, ConditionKind.SEPSIS)
    orders = tuple(
        order
        for order in record.orders
        if order.status is OrderStatus.ACTIVE
        and order.in_force_at(as_of)
        and _ANTIBACTERIAL in order.medicine.classes
        and not acts_locally(_ANTIBACTERIAL, order.route)
    )
    if not conditions and not orders:
        return None
    doses = tuple(
        dose
        for dose in record.administrations
        if _ANTIBACTERIAL in dose.medicine.classes and not acts_locally(_ANTIBACTERIAL, dose.route)
    )
    dated = [c.began for c in conditions] + [o.starts or o.written for o in orders]
    return SuspectedInfection(
        since=min((at for at in dated if at is not None), default=None),
        conditions=conditions,
        orders=orders,
        doses=doses,
    )
