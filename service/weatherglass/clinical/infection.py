"""Is infection suspected, since when, and is it being treated?

Suspected means: an active infection or sepsis on the problem list (also one marked as
not yet confirmed), or an antibacterial on the chart that reaches the blood. Nothing else.
What raises the risk whatever the score is gathered here too.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from weatherglass.clinical.criteria import sepsis_strata as sepsis
from weatherglass.clinical.criteria.medicine_classes import MedicineClass, acts_locally
from weatherglass.clinical.quantities import plain
from weatherglass.clinical.record import (
    Administration,
    CodedObservation,
    Condition,
    ConditionKind,
    Measurement,
    MedicineOrder,
    OrderStatus,
    Record,
)
from weatherglass.clinical.signals import CodedSignal, Signal

_DAY = timedelta(hours=24)
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


@dataclass(frozen=True, slots=True)
class RiskFeatures:
    """What raises the risk whatever the score."""

    lactate: Measurement | None
    skin: CodedObservation | None

    @property
    def since(self) -> datetime | None:
        """When the first of them was seen."""
        return min((one.at for one in (self.lactate, self.skin) if one is not None), default=None)

    @property
    def words(self) -> list[str]:
        """As they are said."""
        said = []
        if self.lactate is not None:
            said.append(f"lactate {plain(self.lactate.value)} mmol/L")
        if self.skin is not None:
            said.append(f"skin: {str(self.skin.value).replace('-', ' ')}")
        return said


def risk_features(record: Record, as_of: datetime) -> RiskFeatures:
    """Return the newest lactate and skin sign that raise the risk; each counts for 24 hours."""
    lactate = record.series(Signal.LACTATE).latest
    if lactate is not None and (
        lactate.spread is not None
        or as_of - lactate.at > _DAY
        or not sepsis.LACTATE_RAISES_RISK.is_met_by(lactate.value)
    ):
        lactate = None
    skin = record.coded(CodedSignal.SKIN).latest
    if skin is not None and (as_of - skin.at > _DAY or skin.value not in sepsis.SKIN_RAISES_RISK):
        skin = None
    return RiskFeatures(lactate, skin)
