"""The newest value of a series where it still counts: exact, beyond a limit, and since when."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.facts.series.runs import first_of_run
from weatherglass.model.record import Measurement
from weatherglass.model.tables.bands import Cutoff


class Beyond(NamedTuple):
    """A newest value that meets a condition, and the moment of the first of the run it ends."""

    newest: Measurement
    since: datetime


def exact(items: Iterable[Measurement]) -> tuple[Measurement, ...]:
    """Return the values that are known as a number and not as a limit alone."""
    return tuple(one for one in items if one.spread is None)


def current(items: Iterable[Measurement], as_of: datetime, counts_for: timedelta) -> tuple[Measurement, ...]:
    """Return the exact values, none where the newest of them no longer counts."""
    found = exact(items)
    return found if found and as_of - found[-1].at <= counts_for else ()


def reaches(*limits: Cutoff) -> Callable[[Measurement], bool]:
    """Return what tells whether an exact value meets one of these limits."""
    return lambda one: one.spread is None and any(limit.is_met_by(one.value) for limit in limits)


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
    if not items or as_of - items[-1].at > counts_for:
        return None
    first = first_of_run(items, is_met)
    return Beyond(items[-1], first.at) if first is not None else None
