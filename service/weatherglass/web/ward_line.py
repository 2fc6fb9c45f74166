"""One patient on one line: what the page, its paper and the list of a batch run all show.

Nothing is judged and no sentence is cut: what does not fit on a line stands on the patient's page.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from weatherglass.handover.told import looked_for
from weatherglass.model.record.record import Record
from weatherglass.model.review import DecisionShape, Review
from weatherglass.model.words.brief_words import rank_on_ward, total_in_signs
from weatherglass.model.words.clock_words import exactly
from weatherglass.model.words.person_words import numbered
from weatherglass.web.drawing.small_multiple import HEIGHT, WIDTH, SmallMultiple, small_multiple, ward_scale
from weatherglass.web.finding_view import short_name
from weatherglass.web.view import person_of

#: Ours: so many of the things that lead stand on a line, where they are together of so many letters;
#: the rest are on the patient's page.
_MOST: Final = 2
_LETTERS: Final = 210


# Several patients on one page: most urgent first, the score of each to one scale.


@dataclass(frozen=True, slots=True, kw_only=True)
class WardLine:
    """One line.

    Attributes:
        index: Which patient of the file; None where the line leads nowhere.
        about: Age and sex.
        shape: Which shape goes with the urgency: the level, or "open" where nobody could assess.
        level: The urgency as a number.
        due: The deadline, the day only where it is another one; empty where nobody is called.
        late: How long ago it passed; empty where it has not.
        roles: Whom to call.
        score: The total that leads; in brackets the last complete one.
        score_at: When its round was.
        score_moment: The same for a program.
        line: The score of the last days, drawn.
        why: What leads, each in few words.
        flags: A shape and words: recorded decisions that limit, conflict or are not known, then the chart.
        data_age: How old the vital signs are, where they are too old or missing.
        moment: The moment of the review for a program.
        due_at: The deadline for a program; empty where it is now or nobody is called.
    """

    index: int | None = None
    ward: str
    bed: str
    name: str
    about: str = ""
    number: str
    urgency: str
    shape: str
    level: int
    due: str = ""
    late: str = ""
    roles: tuple[str, ...] = ()
    score: str = ""
    score_name: str = ""
    score_at: str = ""
    score_moment: str = ""
    line: SmallMultiple | None = None
    why: tuple[str, ...]
    flags: tuple[tuple[str, str], ...] = ()
    data_age: str = ""
    moment: str = ""
    due_at: str = ""


def ward_line(review: Review, *, index: int | None = None, line: SmallMultiple | None = None) -> WardLine:
    """Return the line of a reviewed patient.

    Args:
        review: The review.
        index: Which patient of the file.
        line: The drawn score.
    """
    call, lead = review.escalation, review.lead
    person = person_of(review, review.as_of)
    return WardLine(
        index=index,
        ward=review.ward or "place not recorded",
        bed=review.bed,
        name=person.name,
        about=f"{person.age}, {person.sex}",
        number=review.subject.number or numbered(review.subject),
        urgency=review.standing,
        shape="open" if review.is_unassessed else str(int(review.urgency)),
        level=int(review.urgency),
        due=_due(review),
        late=exactly(call.late) if call is not None and call.late is not None else "",
        roles=call.roles if call is not None else (),
        score=_newest(review),
        score_name=short_name(lead) if lead is not None else "",
        score_at=_at(review),
        score_moment=lead.at.isoformat() if lead is not None and lead.at is not None else "",
        line=line,
        why=_why(review),
        flags=tuple(_flags(review)),
        data_age=review.data_age if review.is_stale else "",
        moment=review.as_of.isoformat() if review.as_of is not None else "",
        due_at=call.due.isoformat() if call is not None and not call.is_now else "",
    )


def _due(review: Review) -> str:
    call, clock = review.escalation, review.clock
    if call is None:
        return ""
    if call.is_now:
        return "now"
    day = "" if clock.is_today(call.due) else f", {clock.day_in_short(call.due)}"
    return f"by {clock.time(call.due)}{day}"


def _why(review: Review) -> tuple[str, ...]:
    if review.escalation is not None and review.told_first and not review.closed:
        first = tuple(one.words for one in review.told_first[:_MOST])
        return first if sum(map(len, first)) <= _LETTERS else first[:1]
    return (review.headline,)


def _newest(review: Review) -> str:
    """Return the newest total; of an open one its least, with the last complete total in brackets."""
    if review.lead is None:
        return ""
    whole = review.last_whole
    total = total_in_signs(review.lead)
    return f"{total} ({whole.total})" if whole is not None else total


def _at(review: Review) -> str:
    at = review.lead.at if review.lead is not None else None
    if at is None:
        return ""
    return review.clock.time(at) if review.clock.is_today(at) else review.clock.full(at)


def _flags(review: Review) -> list[tuple[str, str]]:
    limits = [one for one in review.decisions if one.shape is not DecisionShape.FOR]
    said = [(one.shape.value, one.words) for one in limits]
    orders = looked_for(review.findings)
    if orders:
        said.append(("", f"drug chart: {len(orders)} to look at"))
    return said


@dataclass(frozen=True, slots=True, kw_only=True)
class WardView:
    """The ward page.

    Attributes:
        title: Which wards, at what moment: stands on every sheet of paper.
        as_of: The moment of all reviews; empty when they are of several.
    """

    title: str
    rows: tuple[WardLine, ...]
    wards: tuple[str, ...]
    counts: tuple[tuple[str, str, int], ...]
    as_of: str
    width: int = WIDTH
    height: int = HEIGHT
    hours: int = 72


def ward_view(reviewed: Sequence[tuple[int, Review, Record]]) -> WardView:
    """Return every patient: most urgent first, then by deadline, score and name."""
    leads = [review.lead for _, review, _ in reviewed]
    scale = ward_scale([lead.history for lead in leads if lead is not None])
    rows = []
    for index, review, _ in sorted(reviewed, key=lambda one: rank_on_ward(one[1])):
        lead = review.lead
        drawn = small_multiple(lead.history, scale) if lead is not None and scale else None
        rows.append(ward_line(review, index=index, line=drawn))
    wards = tuple(sorted({row.ward for row in rows}))
    moments = {review.clock.dated(review.as_of) for _, review, _ in reviewed if review.as_of is not None}
    as_of = moments.pop() if len(moments) == 1 else ""
    return WardView(
        title=f"{', '.join(wards)}. As of {as_of or 'the newest entry of each'}. {len(rows)} patients",
        rows=tuple(rows),
        wards=wards,
        counts=tuple(_counts(rows)),
        as_of=as_of,
    )


def _counts(rows: Sequence[WardLine]) -> Iterable[tuple[str, str, int]]:
    # The rows are in order of urgency already.
    seen = Counter((row.urgency, row.shape) for row in rows)
    for (word, shape), count in seen.items():
        yield word, shape, count
