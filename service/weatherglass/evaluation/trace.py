"""One patient's past as the evaluation needs it: time on the ward, what was said when, what came.

Values only, small and without identity, so that workers can hand them on.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from msgspec import Struct

#: The ladder of the review as a whole; its rungs are the urgencies.
REVIEW = "review"


class Stretch(Struct, frozen=True, array_like=True):
    """Time on a ward, where the service would have watched."""

    starts: datetime
    ends: datetime

    @property
    def length(self) -> timedelta:
        """How long it lasted."""
        return self.ends - self.starts


class Spell(Struct, frozen=True, array_like=True):
    """Part of a stretch, on one ward and at one age; the ward is empty where none is recorded."""

    starts: datetime
    ends: datetime
    ward: str = ""
    age: int | None = None


class Onset(Struct, frozen=True, array_like=True):
    """A finding that newly reached an urgency.

    Attributes:
        urgency: The urgency reached; above routine.
        is_new: Whether it was not there before, at any urgency above routine.
        key: Its limit, where its kind has limits of ours; empty otherwise.
    """

    at: datetime
    kind: str
    urgency: int
    is_new: bool
    key: str = ""

    @property
    def name(self) -> str:
        """Its kind, with its limit."""
        return f"{self.kind}: {self.key}" if self.key else self.kind


class Missed(Struct, frozen=True, array_like=True):
    """An input that a score lacked, and why."""

    key: str
    reason: str


class Points(Struct, frozen=True, array_like=True):
    """One parameter of a score in one round."""

    key: str
    label: str
    points: int | None
    lowest: int
    highest: int
    shown: str
    missing: str = ""


class Step(Struct, frozen=True, array_like=True):
    """What one ladder said at one moment.

    Attributes:
        level: The rung: the lowest possible total of a score, or the urgency of a review.
        highest: The highest possible total; the same as `level` when nothing was missing.
        missed: What was missing.
        parts: The points of each parameter, where somebody asked for the tables.
    """

    at: datetime
    level: int
    highest: int
    missed: tuple[Missed, ...] = ()
    parts: tuple[Points, ...] = ()

    @property
    def is_complete(self) -> bool:
        """Tell whether nothing was missing."""
        return not self.missed


class Outcome(Struct, frozen=True, array_like=True):
    """Something that should have been foreseen.

    Attributes:
        kind: What, in one word or the list's own.
        day_only: Whether only the day is recorded; `at` is then the end of it.
    """

    at: datetime
    kind: str
    day_only: bool = False


class Trace(Struct, kw_only=True):
    """One patient.

    Attributes:
        patient: How the data name the patient: to join a list of outcomes with, and for tables where a site
            asks for them; in no report.
        stretches: Time on wards, in order, apart from each other.
        spells: The same time, cut where the ward or the age changes.
        ladders: What each score, and the review, said, in order of time.
        onsets: When findings newly reached an urgency, in order of time.
        outcomes: What came, in order of time.
        calls: The calls of the present practice, in order of time, where a site listed them.
        sex: Administrative sex, in the word of FHIR.
        zone_minutes: How far the record's own clock is before UTC.
        has_stay: Whether the time on wards is recorded; otherwise it is first to last observation.
        is_test_data: Whether the data say of themselves that they are no real record.
    """

    patient: str
    stretches: list[Stretch]
    spells: list[Spell]
    ladders: dict[str, list[Step]]
    onsets: list[Onset]
    outcomes: list[Outcome]
    calls: list[Outcome] = []
    sex: str = "unknown"
    zone_minutes: int = 0
    has_stay: bool = True
    is_test_data: bool = False


# Which outcomes count, and which of a ladder's steps came before one of them in time.

#: Ours: an outcome this soon after one that counts is the same event (an arrest, then intensive care).
SAME_EVENT = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class Watched:
    """One patient with the outcomes that count.

    Attributes:
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
