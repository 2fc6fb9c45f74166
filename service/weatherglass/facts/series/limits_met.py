"""Does a value meet a limit, wherever in its interval it lies?"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from enum import IntEnum
from typing import NamedTuple, Protocol, TypeVar

from weatherglass.facts.series.runs import first_of_run
from weatherglass.model.record.values import Measurement
from weatherglass.model.tables.bands import Cutoff


class Met(IntEnum):
    """Whether a value meets a limit; `MAYBE` where only an interval is known."""

    NO = 0
    MAYBE = 1
    YES = 2


def meets(cutoff: Cutoff, measured: Measurement) -> Met:
    """Tell whether a value meets a limit, wherever in its interval it lies.

    Examples:
        >>> from datetime import UTC, datetime
        >>> from decimal import Decimal
        >>> from weatherglass.knowledge.medicines.rules import triggers
        >>> from weatherglass.model.record.values import Spread
        >>> from weatherglass.model.sources import Origin
        >>> def value(number: str, low: str | None = None, high: str | None = None) -> Measurement:
        ...     spread = Spread(low and Decimal(low), high and Decimal(high)) if low or high else None
        ...     return Measurement(Decimal(number), datetime.now(UTC), Origin("Observation/x"), spread)
        >>> meets(triggers.LOW_MAGNESIUM, value("0.3", high="0.3")).name  # Reported as below 0.3.
        'YES'
        >>> meets(triggers.INR_ABOVE_EVERY_TARGET, value("4", low="4")).name
        'YES'
        >>> meets(triggers.LOW_MAGNESIUM, value("0.7", "0.6", "0.8")).name
        'MAYBE'
    """
    if measured.is_exact:
        return Met.YES if cutoff.is_met_by(measured.value) else Met.NO
    low, high = measured.lowest, measured.highest
    best, worst = (low, high) if cutoff.compare.is_upward else (high, low)
    # "More than 8" is beyond a limit of 8 although 8 itself is not.
    if best is not None and (cutoff.is_met_by(best) or (worst is None and best == cutoff.limit.value)):
        return Met.YES
    return Met.MAYBE if worst is None or cutoff.is_met_by(worst) else Met.NO


def surely(cutoff: Cutoff, measured: Measurement) -> bool:
    """Tell whether every value that a result allows is beyond a limit: "> 6.0" is 3.0 or more."""
    return meets(cutoff, measured) is Met.YES


# The newest value of a series where it still counts: exact, beyond a limit, and since when.


class _HasTime(Protocol):
    @property
    def at(self) -> datetime: ...


_Timed = TypeVar("_Timed", bound=_HasTime)


class Beyond(NamedTuple):
    """A newest value that meets a condition, and the moment of the first of the run it ends."""

    newest: Measurement
    since: datetime


def exact(items: Iterable[Measurement]) -> tuple[Measurement, ...]:
    """Return the values that are known as a number and not as a limit alone."""
    return tuple(one for one in items if one.is_exact)


def counting(items: Sequence[_Timed], as_of: datetime, counts_for: timedelta) -> tuple[_Timed, ...]:
    """Return what has a time, oldest first, none of it where the newest no longer counts."""
    return tuple(items) if items and as_of - items[-1].at <= counts_for else ()


def current(items: Iterable[Measurement], as_of: datetime, counts_for: timedelta) -> tuple[Measurement, ...]:
    """Return the exact values, none where the newest of them no longer counts."""
    return counting(exact(items), as_of, counts_for)


def reaches(*limits: Cutoff) -> Callable[[Measurement], bool]:
    """Return what tells whether an exact value meets one of these limits."""
    return lambda one: one.is_exact and any(limit.is_met_by(one.value) for limit in limits)


def beyond(
    items: Sequence[Measurement],
    is_met: Callable[[Measurement], bool],
    as_of: datetime,
    counts_for: timedelta,
) -> Beyond | None:
    """Return the newest value with since when; None where it does not meet the condition or no longer counts.

    Args:
        items: Oldest first; those that say nothing for or against are left out by the caller.
        is_met: What is asked of each.
        as_of: The moment of the review.
        counts_for: How old the newest may be.
    """
    first = first_of_run(counting(items, as_of, counts_for), is_met)
    return Beyond(items[-1], first.at) if first is not None else None
