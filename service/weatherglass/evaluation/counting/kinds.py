"""Outcomes warned of by kind: intensive care may be called because of a score, an arrest is not."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from weatherglass.evaluation.counting.alerts import first_warning
from weatherglass.evaluation.counting.intervals import Share, share
from weatherglass.evaluation.events import Watched


@dataclass(frozen=True, slots=True)
class OfKind:
    """One kind of outcome at one threshold; an interval from its own number of outcomes."""

    kind: str
    threshold: int
    warned: Share


def warned_by_kind(
    key: str, held: Sequence[Watched], thresholds: Sequence[int], horizon: timedelta
) -> tuple[OfKind, ...]:
    """Count the outcomes of each kind, and those with a round at or above within the horizon.

    Args:
        key: Which ladder.
        held: The patients that have it.
        thresholds: Those in use.
        horizon: How long before an outcome a warning counts.
    """
    events = [(one, event) for one in held for event in one.events]
    every = Counter(event.kind for _, event in events)
    warned = Counter(
        (event.kind, threshold)
        for one, event in events
        for threshold in thresholds
        if first_warning(one.steps(key), threshold, event.at, horizon) is not None
    )
    return tuple(
        OfKind(kind, threshold, share(warned[kind, threshold], number, outcomes=number))
        for kind, number in sorted(every.items())
        for threshold in thresholds
    )
