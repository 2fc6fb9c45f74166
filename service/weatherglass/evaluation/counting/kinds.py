"""Outcomes warned of by kind: intensive care may be called because of a score, an arrest is not."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta

from weatherglass.evaluation.counting.alerts import first_warning
from weatherglass.evaluation.counting.intervals import Part, Share, share
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
    every = Counter(event.kind for one in held for event in one.events)
    return tuple(
        OfKind(kind, threshold, share(_parts(kind, key, held, threshold, horizon), outcomes=number))
        for kind, number in sorted(every.items())
        for threshold in thresholds
    )


def _parts(
    kind: str, key: str, held: Sequence[Watched], threshold: int, horizon: timedelta
) -> Iterator[Part]:
    for one in held:
        own = [event.at for event in one.events if event.kind == kind]
        early = (first_warning(one.steps(key), threshold, at, horizon) for at in own)
        yield sum(first is not None for first in early), len(own)
