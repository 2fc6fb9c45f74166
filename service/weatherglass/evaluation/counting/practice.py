"""The calls of a site's present practice, by the same yardstick, and where they meet the alerts."""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from weatherglass.evaluation.counting.alerts import first_warning, rearmed
from weatherglass.evaluation.counting.intervals import Part, Proportion, Quartiles, proportion, quartiles
from weatherglass.evaluation.counting.thresholds import AtThreshold, at_threshold
from weatherglass.evaluation.counting.ward_time import patient_days
from weatherglass.evaluation.trace import Step, Trace, Watched

_CALLS = "calls"


@dataclass(frozen=True, slots=True)
class Practice:
    """One kind of call.

    Attributes:
        kind: As the list names it.
        counted: The calls as if they were a ladder of one rung: calls, outcomes, lead.
    """

    kind: str
    counted: AtThreshold


@dataclass(frozen=True, slots=True)
class Meeting:
    """The review at one urgency beside one kind of call.

    Attributes:
        kind: As the list names it.
        threshold: At least this urgency.
        calls_preceded: Of calls, those with a moment at or above within the horizon before.
        lead: From the first such moment to the call, in hours.
        alerts_followed: Of re-armed alerts, those with a call within the horizon after.
    """

    kind: str
    threshold: int
    calls_preceded: Proportion
    lead: Quartiles | None
    alerts_followed: Proportion


def practices(watched: Sequence[Watched], horizon: timedelta, rearm: timedelta) -> tuple[Practice, ...]:
    """Measure each kind of call on all patients, also those who never had one."""
    days = patient_days(watched)
    return tuple(
        Practice(
            kind, at_threshold(1, _CALLS, [_as_ladder(one, kind) for one in watched], horizon, days, rearm)
        )
        for kind in _kinds(watched)
    )


def meetings(
    key: str, watched: Sequence[Watched], thresholds: Sequence[int], horizon: timedelta, rearm: timedelta
) -> tuple[Meeting, ...]:
    """Hold the alerts of a ladder beside each kind of call."""
    return tuple(
        _meeting(kind, key, watched, threshold, horizon, rearm)
        for kind in _kinds(watched)
        for threshold in thresholds
    )


def _kinds(watched: Iterable[Watched]) -> list[str]:
    return sorted({call.kind for one in watched for call in one.trace.calls})


def _meeting(
    kind: str, key: str, watched: Sequence[Watched], threshold: int, horizon: timedelta, rearm: timedelta
) -> Meeting:
    lead: list[float] = []
    preceded: list[Part] = []
    followed: list[Part] = []
    for one in watched:
        steps, own = one.steps(key), [call.at for call in one.trace.calls if call.kind == kind]
        early = ((at, first_warning(steps, threshold, at, horizon)) for at in own)
        found = [(at - first) / timedelta(hours=1) for at, first in early if first is not None]
        lead += found
        preceded.append((len(found), len(own)))
        alerts = rearmed(steps, threshold, rearm)
        followed.append((sum(_is_followed(alert, own, horizon) for alert in alerts), len(alerts)))
    calls = sum(number for _, number in preceded)
    return Meeting(
        kind,
        threshold,
        proportion(preceded, outcomes=calls),
        quartiles(lead),
        proportion(followed, outcomes=calls),
    )


def _is_followed(alert: datetime, calls: Sequence[datetime], horizon: timedelta) -> bool:
    after = bisect_right(calls, alert)
    return after < len(calls) and calls[after] <= alert + horizon


def _as_ladder(one: Watched, kind: str) -> Watched:
    steps = [Step(call.at, 1, 1) for call in one.trace.calls if call.kind == kind]
    trace = one.trace
    alone = Trace(
        patient="",
        stretches=trace.stretches,
        spells=trace.spells,
        ladders={_CALLS: steps},
        onsets=[],
        outcomes=[],
    )
    return replace(one, trace=alone)
