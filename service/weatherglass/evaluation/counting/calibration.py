"""How often an outcome followed, at each level between the thresholds in use, and after each kind of finding.

A published score states no risk that could be held beside the data. What can be said is
what followed at each level, and whether more points meant more outcomes here.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

from weatherglass.evaluation.counting.intervals import Part, Proportion, proportion
from weatherglass.evaluation.counting.thresholds import per_100_days
from weatherglass.evaluation.trace import Watched


@dataclass(frozen=True, slots=True)
class Band:
    """Levels from one threshold in use to below the next.

    Attributes:
        from_level: The lowest level.
        below: The next threshold; None for the highest band.
        followed: Of its rounds, those before an outcome.
    """

    from_level: int
    below: int | None
    followed: Proportion


@dataclass(frozen=True, slots=True)
class After:
    """What followed when one kind of finding newly reached an urgency.

    Attributes:
        name: The kind, with the limit where it has limits of its own.
        per_100_days: How often, for each 100 patient-days.
        followed: How many, and how many of them before an outcome.
    """

    name: str
    urgency: int
    per_100_days: float | None
    followed: Proportion


def bands(
    key: str, held: Sequence[Watched], thresholds: Sequence[int], horizon: timedelta
) -> tuple[Band, ...]:
    """Count what followed between the thresholds in use.

    Args:
        key: Which ladder.
        held: The patients that have it.
        thresholds: Those in use, in order.
        horizon: How long before an outcome a round counts.
    """
    if not thresholds:
        return ()
    counted = [
        Counter(
            (bisect_right(thresholds, step.level), one.followed(step.at, horizon)) for step in one.steps(key)
        )
        for one in held
    ]
    outcomes = sum(len(one.events) for one in held)
    edges: list[int | None] = [0, *thresholds, None]
    return tuple(
        Band(
            start or 0,
            below,
            proportion(((n[at, True], n[at, True] + n[at, False]) for n in counted), outcomes=outcomes),
        )
        for at, (start, below) in enumerate(pairwise(edges))
    )


def rises(found: Iterable[Band]) -> bool:
    """Tell whether a higher band was followed by an outcome at least as often as each lower one."""
    values = [band.followed.value for band in found if band.followed.value is not None]
    return all(low <= high for low, high in pairwise(values))


def after_findings(watched: Sequence[Watched], horizon: timedelta, days: float) -> tuple[After, ...]:
    """Count what followed when a finding newly appeared or became more urgent, the most frequent first."""
    found: dict[tuple[str, int], list[Part]] = {}
    for one in watched:
        counted = Counter((o.name, o.urgency, one.followed(o.at, horizon)) for o in one.trace.onsets)
        for name, urgency in dict.fromkeys((name, urgency) for name, urgency, _ in counted):
            before = counted[name, urgency, True]
            found.setdefault((name, urgency), []).append((before, before + counted[name, urgency, False]))
    outcomes = sum(len(one.events) for one in watched)
    rows = [
        After(
            name, urgency, per_100_days(sum(n for _, n in parts), days), proportion(parts, outcomes=outcomes)
        )
        for (name, urgency), parts in found.items()
    ]
    return tuple(sorted(rows, key=lambda row: (-row.followed.of, row.name, row.urgency)))
