"""When two sets of rules say different things of one patient, by the differences of `compare`."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from weatherglass.batch.ward.ward_row import WardRow, refused_row
from weatherglass.comparison.differences import Difference, difference
from weatherglass.evaluation.beside.said import Look, Said, with_rows
from weatherglass.evaluation.trace import Stretch

#: Said of rules by which nothing in the stay was there to look at.
_NEVER = "by these rules there was nothing to look at in this stay"


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A time in which the same things are said otherwise.

    Attributes:
        starts: The first look at which they are.
        ends: The next look at which they are not, or the end of the time on the ward.
        looks: How many looks.
    """

    starts: datetime
    ends: datetime
    looks: int
    first: Difference

    @property
    def length(self) -> timedelta:
        """How long it lasts."""
        return self.ends - self.starts


def spans_of(old: Said, new: Said, stretches: Sequence[Stretch]) -> list[Span]:
    """Hold two pasts of one patient beside each other.

    At each moment what each side said last stands, within one time on the ward; a moment
    counts from when both have spoken, and from the first look of one where the other never does.

    Args:
        old: What the rules say that are compared with.
        new: What the rules say that are compared.
        stretches: Time on wards.
    """
    before, after = list(with_rows(old.looks)), list(with_rows(new.looks))
    found: list[Span] = []
    for stretch in stretches:
        own, other = _within(before, stretch), _within(after, stretch)
        found += _joined(_compared(old.patient, own, other), stretch.ends)
    return found


def _within(looks: Sequence[Look], stretch: Stretch) -> Sequence[Look]:
    return [look for look in looks if stretch.starts <= look.at <= stretch.ends]


def _compared(
    patient: str, before: Sequence[Look], after: Sequence[Look]
) -> Iterator[tuple[datetime, Difference | None]]:
    never = refused_row(patient, _NEVER)
    times = [look.at for look in before], [look.at for look in after]
    for moment in sorted({*times[0], *times[1]}):
        was, now = _standing(before, times[0], moment, never), _standing(after, times[1], moment, never)
        if was is not None and now is not None:
            yield moment, difference(was, now)


def _standing(
    looks: Sequence[Look], times: Sequence[datetime], moment: datetime, never: WardRow
) -> WardRow | None:
    if not looks:
        return never
    at = bisect_right(times, moment)
    return looks[at - 1].row if at else None


def _joined(compared: Iterable[tuple[datetime, Difference | None]], ends: datetime) -> Iterator[Span]:
    """Join neighbouring looks at which the same findings turned in the same way."""
    same = [list(looks) for _, looks in groupby(compared, key=lambda look: _key(look[1]))]
    begins = [looks[0][0] for looks in same]
    for looks, end in zip(same, [*begins[1:], ends], strict=False):
        start, first = looks[0]
        if first is not None:
            yield Span(starts=start, ends=end, looks=len(looks), first=first)


def _key(one: Difference | None) -> object:
    if one is None:
        return None
    turned = [
        (f.criterion, f.turn, f.before and f.before.urgency, f.after and f.after.urgency)
        for f in one.findings
    ]
    return one.course, one.before.urgency, one.after.urgency, turned
