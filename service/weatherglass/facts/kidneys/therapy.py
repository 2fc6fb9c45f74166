"""Renal replacement therapy: when it was given, and whether it was begun in an acute illness.

Creatinine taken on it reflects the therapy and not the kidneys: such a result is never
a reference and is not staged. Ours: a result counts as taken on therapy until 72 hours
after a session, the longest gap of a three-times-a-week schedule.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Final

from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline as baseline
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin

_AFTER: Final = baseline.ON_THERAPY_AFTER_SESSION.length


class Session(Plain, frozen=True):
    """Time on therapy, or dialysis on the problem list; None is an open end."""

    start: datetime | None
    end: datetime | None
    origin: Origin


class Therapy:
    """What the record says about renal replacement therapy.

    Attributes:
        sessions: Recorded therapy, oldest first; long-term dialysis without a date first.
        requested: Orders for it; no proof that it was given.
    """

    def __init__(self, record: Record) -> None:
        """Gather procedures, orders and problems."""
        found = list(_sessions(record))
        found.sort(key=lambda one: (one.start is not None, one.start or _NEVER, one.origin))
        self.sessions: tuple[Session, ...] = tuple(found)
        self._starts = [one.start or _NEVER for one in found]
        #: For each session: the latest end of it and all before it, and where its course begins.
        self._reach: list[datetime] = []
        self._first: list[int] = []
        self._follow()
        self.requested = tuple(
            one for one in record.procedures if one.requested and ProcedureKind.RENAL_REPLACEMENT in one.kinds
        )

    def on(self, moment: datetime) -> bool:
        """Tell whether a sample of this moment reflects the therapy."""
        return self.within(moment, moment)

    def within(self, start: datetime, end: datetime) -> bool:
        """Tell whether any therapy touches a stretch of time."""
        begun = bisect_right(self._starts, end)
        return bool(begun) and self._reach[begun - 1] + _AFTER >= start

    def course_at(self, moment: datetime) -> Sequence[Session]:
        """Return the sessions of the course that a moment belongs to, oldest first.

        Sessions belong to one course while no more than 90 days lie between them.
        """
        begun = bisect_right(self._starts, moment)
        return self.sessions[self._first[begun - 1] : begun] if self.on(moment) else ()

    def is_long_term_at(self, moment: datetime) -> bool:
        """Tell whether the course at a moment has lasted beyond 90 days or has no known beginning."""
        if not self.on(moment):
            return False
        first = self.sessions[self._first[bisect_right(self._starts, moment) - 1]].start
        return first is None or moment - first > kdigo.DISEASE_LASTS.length

    def _follow(self) -> None:
        """Go through the sessions once, oldest first."""
        latest = _NEVER
        first = 0
        for position, one in enumerate(self.sessions):
            if one.start is not None and position and one.start - latest > kdigo.DISEASE_LASTS.length:
                first = position
            latest = max(latest, one.end or _OPEN)
            self._reach.append(latest)
            self._first.append(first)


_NEVER: Final = datetime.min.replace(tzinfo=UTC)
#: The end of a session without one: later than any record reaches.
_OPEN: Final = datetime(9000, 1, 1, tzinfo=UTC)


def _sessions(record: Record) -> Iterator[Session]:
    failed = _failed_kidneys(record)
    for one in record.done(ProcedureKind.RENAL_REPLACEMENT):
        end = None if one.ongoing else one.until
        yield Session(one.at, end, one.origin)
        if failed is not None:
            yield Session(None, end, failed.origin)
    for condition in record.conditions:
        if ConditionKind.DIALYSIS not in condition.kinds or not condition.confirmed:
            continue
        if condition.active or condition.ended is not None:
            began = None if _is_long_term(condition) else condition.began
            yield Session(began, condition.ended, condition.origin)
    for came in record.admitted_with(ConditionKind.DIALYSIS):
        if came.confirmed and _is_long_term(came):
            yield Session(None, None, came.origin)


_WORDS: Final = word_patterns("record-patterns.toml")
_LONG_TERM: Final = _WORDS["dialysis-of-long"]
_ACUTE: Final = _WORDS["acute-kidneys"]
_END_STAGE: Final = _WORDS["end-stage"]


def _failed_kidneys(record: Record) -> Condition | None:
    """Return the known problem that says that the kidneys failed long ago; None with a graft."""
    if record.has(ConditionKind.TRANSPLANT) or record.done(ProcedureKind.TRANSPLANT):
        return None
    known = (*record.conditions, *record.admitted_with(ConditionKind.CHRONIC_KIDNEY_DISEASE))
    return next(
        (
            one
            for one in known
            if one.active
            and one.confirmed
            and ConditionKind.CHRONIC_KIDNEY_DISEASE in one.kinds
            and _END_STAGE.search(one.text.casefold())
        ),
        None,
    )


def _is_long_term(dialysis: Condition) -> bool:
    words = dialysis.text.casefold()
    is_chronic = (
        ConditionKind.CHRONIC_KIDNEY_DISEASE in dialysis.kinds or _LONG_TERM.search(words) is not None
    )
    return is_chronic and _ACUTE.search(words) is None
