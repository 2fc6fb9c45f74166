"""What speaks of infection where nobody has recorded one: a fever, or two other signs together."""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.facts.series.limits_met import Beyond, beyond, reaches
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff


class SignsOfInfection(Plain, frozen=True):
    """The newest values of a day that speak of infection.

    Attributes:
        values: With what they were measured as, the most telling first.
        since: Since when enough of them have.
    """

    values: tuple[tuple[Signal, Measurement], ...]
    since: datetime


def signs_of_infection(record: Record, as_of: datetime, *, is_starved: bool) -> SignsOfInfection | None:
    """Return what speaks of infection, None where it is not enough to ask aloud.

    Args:
        record: The patient's.
        as_of: The moment of the review.
        is_starved: Whether a low temperature and few white cells are of starvation.
    """
    found = {
        signal: one
        for signal, one in _met(record, as_of)
        if not (is_starved and _is_of_starvation(signal, one))
    }
    enough = 1 if is_starved else 2  # Starvation hides fever too.
    heat = found.get(Signal.TEMPERATURE)
    if heat is not None and sepsis.FEVER.is_met_by(heat.newest.value):
        since = heat.since
    elif len(found) >= enough:
        since = sorted(one.since for one in found.values())[enough - 1]
    else:
        return None
    return SignsOfInfection(tuple((signal, one.newest) for signal, one in found.items()), since)


_LIMITS: dict[Signal, tuple[Cutoff, ...]] = {
    Signal.TEMPERATURE: (sepsis.FEVER, sepsis.COLD),
    Signal.WHITE_CELLS: (sepsis.WHITE_CELLS_HIGH, sepsis.WHITE_CELLS_LOW),
    Signal.CRP: (sepsis.CRP_HIGH,),
}


def _is_of_starvation(signal: Signal, one: Beyond) -> bool:
    """Tell whether it is a low temperature or few white cells."""
    low = {Signal.TEMPERATURE: sepsis.COLD, Signal.WHITE_CELLS: sepsis.WHITE_CELLS_LOW}.get(signal)
    return low is not None and low.is_met_by(one.newest.value)


def _met(record: Record, as_of: datetime) -> Iterator[tuple[Signal, Beyond]]:
    """Yield each newest value that is beyond a limit, and since when its series has been."""
    for signal, limits in _LIMITS.items():
        items = record.series(signal).items
        found = beyond(items, reaches(*limits), as_of, sepsis.SIGNS_COUNT_FOR.length)
        if found is not None:
            yield signal, found
