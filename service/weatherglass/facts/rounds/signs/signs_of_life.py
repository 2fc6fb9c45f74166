"""Is a breathing rate or a pulse of 0 recorded now, and what speaks for life beside it?"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from weatherglass.facts.rounds.consciousness import consciousness_of
from weatherglass.facts.rounds.timeline import ObservationSet, Resolved
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Consciousness, Signal

_RATES = (Signal.RESPIRATION_RATE, Signal.PULSE)
#: What nobody measures where there is no life; a saturation needs a pulse.
_ALIVE = (*_RATES, Signal.SYSTOLIC_PRESSURE, Signal.MEAN_PRESSURE, Signal.SPO2)


class AbsentRate(Plain, frozen=True):
    """A rate of 0 that is the newest of its kind, with what else was seen then or since.

    Attributes:
        zeros: The rates that are 0, breathing before pulse.
        alive: What speaks for life: a rate that is not 0, a pressure, a saturation.
        alertness: The newest answer of that time or later.
    """

    zeros: tuple[tuple[Signal, Measurement], ...]
    alive: tuple[tuple[Signal, Measurement], ...]
    alertness: Resolved | None

    @property
    def at(self) -> datetime:
        """When the newest rate of 0 was taken."""
        return max(measured.at for _, measured in self.zeros)

    @property
    def is_unresponsive(self) -> bool:
        """Whether no response at all is recorded."""
        return self.alertness is not None and self.alertness.value is Consciousness.UNRESPONSIVE

    @property
    def may_be_arrest(self) -> bool:
        """Whether both rates are 0, or one is and nothing, or no response, is recorded beside it."""
        responds = self.alertness is not None and not self.is_unresponsive
        return len(self.zeros) > 1 or self.is_unresponsive or not (self.alive or responds)


def absent_rate(
    record: Record, rounds: Sequence[ObservationSet], *, window: timedelta, not_before: datetime
) -> AbsentRate | None:
    """Return the rates that are 0 now; None where there is none.

    Args:
        record: As it stands at the moment of the review.
        rounds: Its rounds of observations, oldest first.
        window: How far apart the measurements of one round may be.
        not_before: An older rate says nothing about now.
    """
    newest = [(signal, record.series(signal).latest) for signal in _RATES]
    zeros = tuple(
        (signal, one)
        for signal, one in newest
        if one is not None and not one.value and one.is_exact and one.at >= not_before
    )
    if not zeros:
        return None
    since = max(one.at for _, one in zeros) - window
    near = [(signal, record.series(signal).latest) for signal in _ALIVE]
    alive = tuple((signal, one) for signal, one in near if one is not None and one.value and one.at >= since)
    return AbsentRate(zeros, alive, _alertness(rounds, since))


def _alertness(rounds: Sequence[ObservationSet], since: datetime) -> Resolved | None:
    for one in reversed(rounds):
        if one.end < since:
            return None
        found = consciousness_of(one)
        if found is not None and found.at >= since:
            return found
    return None
