"""Which outcomes count, and which of a ladder's steps came before one of them in time."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from weatherglass.evaluation.trace import Outcome, Step, Stretch, Trace

#: Ours: an outcome this soon after one that counts is the same event (an arrest, then intensive care).
SAME_EVENT = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class Watched:
    """One patient with the outcomes that count.

    Attributes:
        trace: The patient.
        events: Outcomes with ward time shortly before, each once, in order of time.
    """

    trace: Trace
    events: tuple[Outcome, ...]

    def followed(self, moment: datetime, horizon: timedelta) -> bool:
        """Tell whether an outcome came after a moment and within the horizon."""
        at = bisect_right(self.events, moment, key=lambda event: event.at)
        return at < len(self.events) and self.events[at].at <= moment + horizon

    def steps(self, ladder: str) -> Sequence[Step]:
        """Return what a ladder said."""
        return self.trace.ladders.get(ladder, ())


@dataclass(slots=True)
class Tallied:
    """What became of all outcomes.

    Attributes:
        counted: Outcomes that count, by kind.
        not_on_ward: Outcomes without ward time within the horizon before them.
        same_again: Outcomes that belong to one before: within `SAME_EVENT`, or with no ward time in between.
        day_only: Outcomes among the counted of which only the day is recorded.
    """

    counted: Counter[str] = field(default_factory=Counter)
    not_on_ward: int = 0
    same_again: int = 0
    day_only: int = 0


def watch(traces: Iterable[Trace], horizon: timedelta) -> tuple[list[Watched], Tallied]:
    """Choose the outcomes that count: with ward time in the horizon before them, and no other since.

    Args:
        traces: The patients.
        horizon: How long before an outcome a warning counts.
    """
    tallied = Tallied()
    watched = [Watched(trace, tuple(_events(trace, horizon, tallied))) for trace in traces]
    return watched, tallied


def _events(trace: Trace, horizon: timedelta, tallied: Tallied) -> Iterable[Outcome]:
    last: Outcome | None = None
    for outcome in trace.outcomes:
        on_ward = _ward_time(trace.stretches, outcome.at - horizon, outcome.at)
        if last is not None and _belong_together(trace, last, outcome):
            tallied.same_again += 1
            continue
        if not on_ward:
            tallied.not_on_ward += 1
            continue
        tallied.counted[outcome.kind] += 1
        tallied.day_only += outcome.day_only
        last = outcome
        yield outcome


def _belong_together(trace: Trace, last: Outcome, outcome: Outcome) -> bool:
    return outcome.at - last.at <= SAME_EVENT or not _ward_time(trace.stretches, last.at, outcome.at)


def _ward_time(stretches: Iterable[Stretch], start: datetime, end: datetime) -> bool:
    return any(each.starts < end and each.ends > start for each in stretches)
