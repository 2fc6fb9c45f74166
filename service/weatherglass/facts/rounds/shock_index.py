"""Pulse over systolic pressure of one round."""

from collections.abc import Callable, Sequence
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.scores import shock_index
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal

_HUNDREDTH: Final = Decimal("0.01")


class ShockIndex(Plain, frozen=True):
    """Pulse over systolic pressure of one round, exact."""

    at: datetime
    value: Decimal
    pulse: Measurement
    systolic: Measurement

    @property
    def shown(self) -> Decimal:
        """The index as it is said."""
        return self.value.quantize(_HUNDREDTH, rounding=ROUND_HALF_UP)

    @property
    def is_raised(self) -> bool:
        """Whether the traditional cut-off is reached."""
        return shock_index.RAISED.is_met_by(self.value)

    @property
    def is_high(self) -> bool:
        """Whether the higher cut-off is reached."""
        return shock_index.HIGH.is_met_by(self.value)


def shock_index_of(one: ObservationSet) -> ShockIndex | None:
    """Return the index of a round; None where a value is missing, an interval or no pressure."""
    pulse, systolic = one.number(Signal.PULSE), one.number(Signal.SYSTOLIC_PRESSURE)
    if pulse is None or systolic is None or systolic.value <= 0:
        return None
    if not pulse.is_exact or not systolic.is_exact:
        return None
    return ShockIndex(one.end, pulse.value / systolic.value, pulse, systolic)


def index_since(rounds: Sequence[ObservationSet], is_so: Callable[[ShockIndex], bool]) -> datetime | None:
    """Return since when the index of every round has been so; None where the newest is not."""
    indices = [index for one in rounds if (index := shock_index_of(one)) is not None]
    first = first_of_run(indices, is_so)
    return first.at if first is not None else None
