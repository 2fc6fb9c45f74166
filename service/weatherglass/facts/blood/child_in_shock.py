"""What the newest round of a child shows of lost blood, where a shock index means nothing."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from weatherglass.facts.rounds.child_cells import pressure_below, pulse_above
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import named_value


class ChildInShock(NamedTuple):
    """What the newest round of a child shows of lost blood, where a shock index means nothing.

    Attributes:
        signs: A pulse fast for the age, a pressure low for it, a slow capillary refill: any of them.
        is_shock: Whether it is shock: two of them, or a pressure far too low.
        since: Since when every round has shown as much; of shock since when it is shock.
    """

    signs: tuple[tuple[Signal, Measurement], ...]
    is_shock: bool
    since: datetime

    @property
    def words(self) -> str:
        """The signs, as they are said: 'pulse 146 /min and capillary refill time 3 s'."""
        return listed([named_value(*sign) for sign in self.signs])


def child_in_shock(rounds: Sequence[ObservationSet], as_of: datetime, months: int) -> ChildInShock | None:
    """Return what the newest round with any of the three signs shows of lost blood; None where nothing."""
    earliest = as_of - ours.VITAL_SIGNS_COUNT_FOR.length
    seen = [(one, _signs_of_loss(one, months)) for one in rounds if _has_a_sign(one)]
    if not seen or seen[-1][0].end < earliest or not seen[-1][1]:
        return None
    newest, signs = seen[-1]
    is_shock = _is_shock(signs, months)
    since = newest.end
    for one, shown in reversed(seen):
        if not shown or (is_shock and not _is_shock(shown, months)):
            break
        since = one.end
    return ChildInShock(signs, is_shock, since)


_SIGNS_OF_LOSS = (Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.CAPILLARY_REFILL)


def _has_a_sign(one: ObservationSet) -> bool:
    return any(one.number(signal) is not None for signal in _SIGNS_OF_LOSS)


def _signs_of_loss(one: ObservationSet, months: int) -> tuple[tuple[Signal, Measurement], ...]:
    measured = ((signal, one.number(signal)) for signal in _SIGNS_OF_LOSS)
    return tuple(
        (signal, value)
        for signal, value in measured
        if value is not None and value.is_exact and _shows_loss(signal, value.value, months)
    )


def _shows_loss(signal: Signal, value: Decimal, months: int) -> bool:
    if signal is Signal.PULSE:
        return ours.CHILD_PULSE_POINTS.is_met_by(pulse_above(value, months))
    if signal is Signal.SYSTOLIC_PRESSURE:
        return pressure_below(value, months) > 0
    return pews.CAPILLARY_REFILL.points_of(value) > 0


def _is_shock(signs: Sequence[tuple[Signal, Measurement]], months: int) -> bool:
    pressure = next((one.value for signal, one in signs if signal is Signal.SYSTOLIC_PRESSURE), None)
    is_low = pressure is not None and ours.CHILD_PRESSURE_POINTS.is_met_by(pressure_below(pressure, months))
    return len(signs) > 1 or is_low
