"""What would have been said differently of each patient: for people, and as a line of JSON for programs."""

import json
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from weatherglass.comparison.differences import Course, Difference
from weatherglass.comparison.telling import heading, plain, told_of
from weatherglass.evaluation.beside.counting import Beside
from weatherglass.evaluation.beside.said import About, Said
from weatherglass.evaluation.beside.spans import Span
from weatherglass.evaluation.counting.alerts import first_warning
from weatherglass.evaluation.counting.ward_time import local
from weatherglass.evaluation.trace import Outcome, Trace, Watched

#: In the folder of an evaluation; the two name patients.
TEXT, LINES = "differences.txt", "differences.ndjson"
_HOUR = timedelta(hours=1)
#: The urgency at which an outcome is said to have been warned of in the list.
_URGENT = 2
_WIDTH = 100


@dataclass(frozen=True, slots=True)
class DiscordantCase:
    """One patient.

    Attributes:
        order: What the list is sorted by: who can be hurt first; of those, whose outcome the old rules
            alone were urgent before.
        course: How the worst span turned.
        text: Lines for people.
        values: The same for programs.
    """

    order: tuple[object, ...]
    course: Course
    text: tuple[str, ...]
    values: dict[str, Any]

    @classmethod
    def of(
        cls, one: Watched, spans: Sequence[Span], old: Said, new: Said, horizon: timedelta
    ) -> "DiscordantCase":
        """Write a patient.

        Args:
            one: The patient with the outcomes that count.
            spans: Where something is said otherwise; at least one.
            old: What the old rules say.
            new: What the new rules say.
            horizon: How long before an outcome a warning counts.
        """
        worst = min((span.first for span in spans), key=lambda each: each.order)
        hours = sum((span.length for span in spans), timedelta()) / _HOUR
        outcomes = [(event, _early(old, event, horizon), _early(new, event, horizon)) for event in one.events]
        is_lost = any(was is not None and now is None for _, was, now in outcomes)
        course, *rest = worst.order[:-1]
        return cls(
            order=(course, not is_lost, *rest, -hours, one.trace.patient),
            course=worst.course,
            text=tuple(_lines(one.trace, spans, outcomes, hours)),
            values=_values(one.trace, worst, spans, outcomes),
        )


_Met = tuple[Outcome, float | None, float | None]


def _early(said: Said, event: Outcome, horizon: timedelta) -> float | None:
    first = first_warning(said.steps, _URGENT, event.at, horizon)
    return None if first is None else (event.at - first) / _HOUR


def _lines(trace: Trace, spans: Sequence[Span], outcomes: Iterable[_Met], hours: float) -> Iterator[str]:
    yield f"{trace.patient}: said otherwise {_number(len(spans), 'time')}, {hours:.1f} h in all"
    for event, old, new in outcomes:
        said = f"urgent before it: {_hours(old)} by OLD, {_hours(new)} by NEW"
        yield f"   THEN {event.kind} {_clock(trace, event.at)}; {said}"
    for span in spans:
        row = span.first.after if span.first.after.rank >= 0 else span.first.before
        where = ", ".join(filter(None, (row.ward, row.bed)))
        yield (
            f"   {_clock(trace, span.starts)} to {_clock(trace, span.ends)}"
            f" ({span.length / _HOUR:.1f} h, {_number(span.looks, 'look')}){f'  {where}' if where else ''}"
        )
        yield from (f"   {line}" for line in told_of(span.first))


def _number(many: int, of: str) -> str:
    return f"{many} {of}{'' if many == 1 else 's'}"


def _hours(early: float | None) -> str:
    return "not" if early is None else f"{early:.1f} h"


def _clock(trace: Trace, at: datetime) -> str:
    return local(trace, at).strftime("%Y-%m-%d %H:%M")


def _values(
    trace: Trace, worst: Difference, spans: Iterable[Span], outcomes: Iterable[_Met]
) -> dict[str, Any]:
    return {
        "patient": trace.patient,
        "course": worst.course.value,
        "outcomes": [
            {"kind": event.kind, "at": event.at.isoformat(), "hoursUrgentBefore": {"old": old, "new": new}}
            for event, old, new in outcomes
        ],
        "spans": [
            {
                "from": span.starts.isoformat(),
                "to": span.ends.isoformat(),
                "looks": span.looks,
                **plain(span.first),
            }
            for span in spans
        ],
    }


def text_of(beside: Beside, told: Sequence[DiscordantCase]) -> str:
    """Return the list for people, who can be hurt first."""
    return "\n".join(_text(beside, told)) + "\n"


def _text(beside: Beside, told: Sequence[DiscordantCase]) -> Iterator[str]:
    yield f"OLD  {_about(beside.old)}"
    yield f"NEW  {_about(beside.new)}"
    if beside.rule_sets:
        yield from textwrap.wrap(f"Rule sets that differ: {', '.join(beside.rule_sets)}.", _WIDTH)
    yield from (f"Warning: {warning}" for warning in beside.warnings)
    yield ""
    yield (
        f"{beside.compared:,} patients reviewed at every moment of their past by both. Something is said "
        f"otherwise of {beside.different:,}."
    )
    urgent = next(one for one in beside.urgencies if one.threshold == _URGENT)
    if urgent.only_old.of:
        outcomes = _number(urgent.only_old.of, "outcome")
        yield (
            f"Of {outcomes}, urgent in time by both: {urgent.both}; by OLD alone: {urgent.only_old.number}; "
            f"by NEW alone: {urgent.only_new.number}; by neither: {urgent.neither}."
        )
    for course in Course:
        those = [one for one in told if one.course is course]
        if those:
            yield from ("", f"{heading(course)} ({len(those)})")
        for one in those:
            yield from ("", *one.text)
    yield ""
    yield from textwrap.wrap(_LIMITS, _WIDTH)


_LIMITS = (
    "Times are those of the record's own clock. What a side said last stands until it says something else, "
    "within one stay. Of findings that turned, the words are those of the first look of a time. "
    "A difference that none of these patients meets is not seen here."
)


def _about(one: About) -> str:
    return f"{one.policy} ({one.software})"


def lines_of(told: Iterable[DiscordantCase]) -> bytes:
    """Return a line of JSON a patient."""
    return b"".join(json.dumps(one.values, ensure_ascii=False).encode() + b"\n" for one in told)
