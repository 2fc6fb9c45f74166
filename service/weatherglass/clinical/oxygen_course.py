"""How much oxygen was needed, round by round.

The steps between devices follow the order of support; a simple mask and a Venturi mask
are one step. Air is a fraction of 0.21 and no flow. What is not recorded stays unknown.
"""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from weatherglass.clinical.quantities import plain
from weatherglass.clinical.references import Origin
from weatherglass.clinical.signals import CodedSignal, OxygenDelivery, Signal
from weatherglass.clinical.timeline import ObservationSet, oxygen_of

_AIR_FRACTION = Decimal("0.21")
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
    OxygenDelivery.NASAL_CANNULA: "nasal cannulae",
    OxygenDelivery.SIMPLE_MASK: "a simple mask",
    OxygenDelivery.VENTURI_MASK: "a Venturi mask",
    OxygenDelivery.RESERVOIR_MASK: "a reservoir mask",
    OxygenDelivery.HIGH_FLOW: "high-flow oxygen",
    OxygenDelivery.PRESSURE_SUPPORT: "pressure support",
    OxygenDelivery.VENTILATOR: "a ventilator",
}


class OxygenPoint(NamedTuple):
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
        """What was breathed, as it is said: 'nasal cannulae, 4 L/min'."""
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
        resolved = oxygen_of(one)
        if resolved is None or not isinstance(resolved.value, OxygenDelivery):
            continue
        device = resolved.value
        is_air = device is OxygenDelivery.AIR
        fraction = one.number(Signal.FIO2)
        flow = one.number(Signal.OXYGEN_FLOW)
        carried = not any(
            name in one.observed for name in (CodedSignal.OXYGEN_DELIVERY, Signal.OXYGEN_FLOW, Signal.FIO2)
        )
        course.append(
            OxygenPoint(
                one.end,
                device,
                _AIR_FRACTION if is_air else (fraction.value if fraction is not None else None),
                Decimal(0) if is_air else (flow.value if flow is not None else None),
                resolved.origins,
                not carried,
                place,
            )
        )
    return tuple(course)
