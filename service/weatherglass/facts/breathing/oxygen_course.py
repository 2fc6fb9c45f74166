"""How much oxygen was needed, round by round.

The steps between devices follow the order of support; a simple mask and a Venturi mask
are one step. Air is a fraction of 0.21 and no flow. What is not recorded stays unknown.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.rounds.timeline import AIR_FRACTION, ObservationSet, oxygen_of
from weatherglass.knowledge.sepsis.maternal_sepsis import OXYGEN_FLOW, OXYGEN_FRACTION
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

_NO_FLOW = Decimal(0)
_STEP = {
    OxygenDelivery.AIR: 0,
    OxygenDelivery.OXYGEN: 1,
    OxygenDelivery.NASAL_CANNULA: 1,
    OxygenDelivery.SIMPLE_MASK: 2,
    OxygenDelivery.VENTURI_MASK: 2,
    OxygenDelivery.RESERVOIR_MASK: 3,
    OxygenDelivery.HIGH_FLOW: 4,
    OxygenDelivery.PRESSURE_SUPPORT: 5,
    OxygenDelivery.VENTILATOR: 6,
}
_WORDS = {
    OxygenDelivery.AIR: "air",
    OxygenDelivery.OXYGEN: "oxygen",
    OxygenDelivery.NASAL_CANNULA: "a nasal cannula",
    OxygenDelivery.SIMPLE_MASK: "a simple mask",
    OxygenDelivery.VENTURI_MASK: "a Venturi mask",
    OxygenDelivery.RESERVOIR_MASK: "a reservoir mask",
    OxygenDelivery.HIGH_FLOW: "high-flow oxygen",
    OxygenDelivery.PRESSURE_SUPPORT: "pressure support",
    OxygenDelivery.VENTILATOR: "a ventilator",
}


class OxygenPoint(Plain, frozen=True):
    """What was breathed in one round.

    Attributes:
        fraction: Inspired fraction, None where it is not recorded.
        flow: Litres a minute, None where it is not recorded.
        is_fresh: False when it was carried into the round from before it.
        place: Place of the round in the timeline.
    """

    at: datetime
    device: OxygenDelivery
    fraction: Decimal | None
    flow: Decimal | None
    origins: tuple[Origin, ...]
    is_fresh: bool
    place: int

    @property
    def is_oxygen(self) -> bool:
        """Whether more than air was breathed."""
        return self.device is not OxygenDelivery.AIR

    @property
    def step(self) -> int:
        """The step of support, 0 for air."""
        return _STEP[self.device]

    @property
    def words(self) -> str:
        """What was breathed, as it is said: 'a nasal cannula, 4 L/min'."""
        parts = [_WORDS[self.device]]
        if self.is_oxygen and self.flow is not None:
            parts.append(f"{plain(self.flow)} L/min")
        if self.is_oxygen and self.fraction is not None:
            parts.append(f"FiO2 {plain(self.fraction)}")
        return ", ".join(parts)


def oxygen_course(rounds: Sequence[ObservationSet]) -> tuple[OxygenPoint, ...]:
    """Return what was breathed in every round where that is known, oldest first."""
    course = []
    for place, one in enumerate(rounds):
        observed = one.observed
        device = observed.get(CodedSignal.OXYGEN_DELIVERY)
        has_amount = Signal.OXYGEN_FLOW in observed or Signal.FIO2 in observed
        if device is not None and not has_amount and isinstance(device.value, OxygenDelivery):
            # The usual round: a device and nothing else, which then says it all.
            course.append(_point(one, place, device.value, (device.origin,), is_fresh=True))
            continue
        resolved = oxygen_of(one)
        if resolved is not None and isinstance(resolved.value, OxygenDelivery):
            fresh = device is not None or has_amount
            course.append(_point(one, place, resolved.value, resolved.origins, is_fresh=fresh))
    return tuple(course)


def is_more_oxygen(now: OxygenPoint | None, then: OxygenPoint | None) -> bool:
    """Tell whether more oxygen is given than was: by its fraction, else by the device, else by the flow."""
    if now is None or then is None or not now.is_oxygen:
        return False
    if now.fraction is not None and then.fraction is not None:
        return now.fraction > then.fraction
    if now.step != then.step:
        return now.step > then.step
    return now.flow is not None and then.flow is not None and now.flow > then.flow


def is_much(point: OxygenPoint) -> bool:
    """Tell whether a point is a need of 40 % oxygen or more; a reservoir mask or more ranks as that."""
    if point.fraction is not None:
        return OXYGEN_FRACTION.is_met_by(point.fraction)
    if point.flow is not None and OXYGEN_FLOW.is_met_by(point.flow):
        return True
    return point.step >= _STEP[OxygenDelivery.RESERVOIR_MASK]


def breathed_at(course: Sequence[OxygenPoint], moment: datetime, within: timedelta) -> OxygenPoint | None:
    """Return what was breathed in the round nearest to a moment, None where no round is near."""
    near = [point for point in course if abs(point.at - moment) <= within]
    return min(near, key=lambda point: abs(point.at - moment), default=None)


def _point(
    one: ObservationSet,
    place: int,
    device: OxygenDelivery,
    origins: tuple[Origin, ...],
    *,
    is_fresh: bool,
) -> OxygenPoint:
    if device is OxygenDelivery.AIR:
        return OxygenPoint(one.end, device, AIR_FRACTION, _NO_FLOW, origins, is_fresh, place)
    fraction, flow = one.number(Signal.FIO2), one.number(Signal.OXYGEN_FLOW)
    return OxygenPoint(
        one.end,
        device,
        fraction.value if fraction is not None else None,
        flow.value if flow is not None else None,
        origins,
        is_fresh,
        place,
    )
