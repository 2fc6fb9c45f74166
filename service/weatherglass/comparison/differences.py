"""What would be said differently of one patient, by two rule sets or two versions.

Two rows of two ward lists are compared, as the batch remembers them: the word at the
head, the first sentence, the call, the lines of the chart, and each finding by its
criterion, its urgency and its few words. Scores that are shown beside the one chosen for
the patient are not among them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from weatherglass.batch.ward.ward_row import Mark, WardRow
from weatherglass.model.findings import URGENCY_OF, Urgency

#: Nobody knows how somebody is who was not assessed: to be told "routine" instead is a reassurance.
_NOT_ASSESSED = 0.5
#: Kind and key of a finding.
Criterion = tuple[str, str]


class Turn(StrEnum):
    """How what is said of a finding turned; those that can hurt first."""

    GONE = "no longer said"
    LESS = "less urgent"
    MORE = "more urgent"
    NEW = "newly said"
    WORDS = "in other words"


class Course(StrEnum):
    """How the patient as a whole turned; those that can hurt first."""

    REFUSED = "no longer reviewed"
    LESS = "less urgent"
    MORE = "more urgent"
    SAME = "the same urgency, other words or findings"


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """One finding that is said otherwise.

    Attributes:
        key: Key inside the kind; the two are its criterion.
        before: As it was said; None when it was not.
        after: As it is said; None when it is not.
    """

    kind: str
    key: str
    turn: Turn
    before: Mark | None
    after: Mark | None

    @property
    def criterion(self) -> Criterion:
        """Kind and key."""
        return self.kind, self.key

    @property
    def rank(self) -> int:
        """The more urgent of what was and what is said."""
        return max(
            URGENCY_OF.get(mark.urgency, Urgency.ROUTINE)
            for mark in (self.before, self.after)
            if mark is not None
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One patient of whom something is said otherwise.

    Attributes:
        course: How the patient as a whole turned.
        before: The row by the old.
        after: The row by the new.
        findings: Findings said otherwise, those that can hurt first.
    """

    course: Course
    before: WardRow
    after: WardRow
    findings: tuple[Turned, ...]

    @property
    def order(self) -> tuple[object, ...]:
        """What a list is sorted by: who can be hurt first, the most urgent first."""
        courses = list(Course)
        highest = max(self.before.rank, self.after.rank)
        step = abs(_weight(self.before) - _weight(self.after))
        worst = max((one.rank for one in self.findings), default=0)
        course = courses.index(self.course)
        return course, -highest, -step, -worst, not self.call_differs, self.before.patient

    @property
    def call_differs(self) -> bool:
        """Whether somebody else is called, or by another time."""
        return self.before.call != self.after.call


def difference(before: WardRow, after: WardRow) -> Difference | None:
    """Compare two rows of one patient; return None where nothing is said otherwise."""
    findings = tuple(sorted(_turned(before.marks, after.marks), key=_order))
    if not findings and _said(before) == _said(after):
        return None
    return Difference(course=_course(before, after), before=before, after=after, findings=findings)


def _said(row: WardRow) -> tuple[object, ...]:
    """Return what a reader of the row is told, apart from the findings."""
    heads = (row.urgency, row.why, row.call, row.score, row.why_not, row.resuscitation)
    return *heads, row.is_assessed, row.is_stale, *row.chart, *row.ceiling, *row.left_out


def _course(before: WardRow, after: WardRow) -> Course:
    if after.rank < 0 <= before.rank:
        return Course.REFUSED
    if _weight(after) == _weight(before):
        return Course.SAME
    return Course.LESS if _weight(after) < _weight(before) else Course.MORE


def _weight(row: WardRow) -> float:
    if row.rank < 0:
        return -1
    return row.rank if row.rank > 0 or row.is_assessed else _NOT_ASSESSED


def _turned(before: Sequence[Mark], after: Sequence[Mark]) -> Iterator[Turned]:
    was, now = _by_criterion(before), _by_criterion(after)
    for kind, key in dict.fromkeys([*was, *now]):
        for old, new in _pairs(was.get((kind, key), []), now.get((kind, key), [])):
            turn = _turn(old, new)
            if turn is not None:
                yield Turned(kind=kind, key=key, turn=turn, before=old, after=new)


def _by_criterion(marks: Sequence[Mark]) -> dict[Criterion, list[Mark]]:
    found: dict[Criterion, list[Mark]] = {}
    for mark in marks:
        found.setdefault((mark.kind, mark.key), []).append(mark)
    return found


def _pairs(before: list[Mark], after: list[Mark]) -> Iterator[tuple[Mark | None, Mark | None]]:
    """Pair findings of one criterion, as of several lines of a chart: those of the same words first."""
    left, right = list(before), list(after)
    for mark in before:
        same = next((one for one in right if one.words == mark.words), None)
        if same is not None:
            left.remove(mark)
            right.remove(same)
            yield mark, same
    for place in range(max(len(left), len(right))):
        yield (left[place] if place < len(left) else None), (right[place] if place < len(right) else None)


def _turn(before: Mark | None, after: Mark | None) -> Turn | None:
    if before is None:
        return Turn.NEW
    if after is None:
        return Turn.GONE
    was, now = URGENCY_OF.get(before.urgency, Urgency.ROUTINE), URGENCY_OF.get(after.urgency, Urgency.ROUTINE)
    if was != now:
        return Turn.LESS if now < was else Turn.MORE
    return Turn.WORDS if before.words != after.words else None


def _order(one: Turned) -> tuple[object, ...]:
    return -one.rank, list(Turn).index(one.turn), one.criterion
