"""What counts as one alert, and which alert came before an event."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from itertools import groupby

from weatherglass.evaluation.trace import Step, Stretch

#: Ours: how long an alert silences the next one where alerts are counted re-armed; changeable.
REARMED_AFTER = timedelta(hours=8)


def runs_of(steps: Sequence[Step], threshold: int) -> list[list[Step]]:
    """Return the runs of neighbouring steps at or above a threshold."""
    runs = groupby(steps, key=lambda step: step.level >= threshold)
    return [list(run) for is_above, run in runs if is_above]


def rearmed(steps: Iterable[Step], threshold: int, after: timedelta = REARMED_AFTER) -> list[datetime]:
    """Return the alerts of which each silences the ward for a while.

    Taken from the left these are the most rounds that lie that far apart, and more rounds never
    allow fewer: so a lower threshold never counts fewer alerts.
    """
    found: list[datetime] = []
    for step in steps:
        if step.level >= threshold and (not found or step.at >= found[-1] + after):
            found.append(step.at)
    return found


def time_above(steps: Sequence[Step], threshold: int, stretches: Iterable[Stretch]) -> timedelta:
    """Return how long a patient was at or above a threshold on the ward: a round stands until the next."""
    starts = [step.at for step in steps]
    total = timedelta()
    for stretch in stretches:
        first, last = bisect_left(starts, stretch.starts), bisect_right(starts, stretch.ends)
        ends = [*starts[first + 1 : last], stretch.ends]
        spent = (
            end - step.at
            for step, end in zip(steps[first:last], ends, strict=False)
            if step.level >= threshold
        )
        total += sum(spent, timedelta())
    return total


def first_warning(
    steps: Iterable[Step], threshold: int, event: datetime, horizon: timedelta
) -> datetime | None:
    """Return the first round at or above a threshold within the horizon before an event."""
    return next((s.at for s in steps if s.level >= threshold and event - horizon <= s.at < event), None)
