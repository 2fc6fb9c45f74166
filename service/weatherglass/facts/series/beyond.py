"""The newest value of a series where it still counts: exact, beyond a limit, and since when."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple, Protocol, TypeVar

from weatherglass.facts.series.runs import first_of_run
from weatherglass.model.record.values import Measurement
from weatherglass.model.tables.bands import Cutoff


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
