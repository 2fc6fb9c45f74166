"""The calls of a site's present practice, by the same yardstick, and where they meet the alerts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from weatherglass.evaluation.counting.alerts import first_warning, rearmed
from weatherglass.evaluation.counting.exposure import patient_days
from weatherglass.evaluation.counting.intervals import Share, Spread, share, spread
from weatherglass.evaluation.counting.thresholds import AtThreshold, at_threshold
from weatherglass.evaluation.events import Watched
from weatherglass.evaluation.trace import Step, Trace

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
    """The review at one urgency beside the calls.

    Attributes:
        threshold: At least this urgency.
        calls_preceded: Of calls, those with a moment at or above within the horizon before.
        lead: From the first such moment to the call, in hours.
        alerts_followed: Of re-armed alerts, those with a call within the horizon after.
    """

    threshold: int
    calls_preceded: Share
    lead: Spread | None
    alerts_followed: Share


def practices(watched: Sequence[Watched], horizon: timedelta, rearm: timedelta) -> tuple[Practice, ...]:
    """Measure each kind of call on all patients, also those who never had one."""
    kinds = sorted({call.kind for one in watched for call in one.trace.calls})
    days = patient_days(watched)
    return tuple(
        Practice(
            kind, at_threshold(1, _CALLS, [_as_ladder(one, kind) for one in watched], horizon, days, rearm)
        )
        for kind in kinds
    )


def meetings(
    key: str, watched: Sequence[Watched], thresholds: Iterable[int], horizon: timedelta, rearm: timedelta
) -> tuple[Meeting, ...]:
    """Hold the alerts of a ladder beside the calls."""
    return tuple(_meeting(key, watched, threshold, horizon, rearm) for threshold in thresholds)


def _meeting(
    key: str, watched: Sequence[Watched], threshold: int, horizon: timedelta, rearm: timedelta
) -> Meeting:
    lead: list[float] = []
    calls = alerts = followed = 0
    for one in watched:
        steps, own = one.steps(key), one.trace.calls
        calls += len(own)
        early = ((call.at, first_warning(steps, threshold, call.at, horizon)) for call in own)
        lead += [(at - first) / timedelta(hours=1) for at, first in early if first is not None]
        for alert in rearmed(steps, threshold, rearm):
            alerts += 1
            followed += any(alert < call.at <= alert + horizon for call in own)
    return Meeting(
        threshold,
        share(len(lead), calls, outcomes=calls),
        spread(lead),
        share(followed, alerts, outcomes=calls),
    )


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
