"""Several patients on one page: most urgent first, the score of each to one scale."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from weatherglass.model.findings import DecisionInShort, MedicineFinding, Review
from weatherglass.model.record import Record
from weatherglass.model.words.brief_words import rank_on_ward
from weatherglass.web.drawing.small_multiple import HEIGHT, WIDTH, SmallMultiple, small_multiple, ward_scale
from weatherglass.web.finding_view import short_name
from weatherglass.web.medicine_view import ASKING
from weatherglass.web.view import First, Person, first_of, person_of


@dataclass(frozen=True, slots=True, kw_only=True)
class WardRow:
    """One patient on the ward page.

    Attributes:
        index: Which patient of the file; how the page asks for the whole review.
    """

    index: int
    person: Person
    ward: str
    first: First
    score: str
    score_name: str
    line: SmallMultiple | None
    medicines: int
    decisions: tuple[DecisionInShort, ...]
    data_age: str
    as_of: str
    moment: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WardView:
    """The ward page.

    Attributes:
        as_of: The moment of all reviews; empty when they are of several.
    """

    rows: tuple[WardRow, ...]
    wards: tuple[str, ...]
    counts: tuple[tuple[str, str, int], ...]
    as_of: str
    width: int = WIDTH
    height: int = HEIGHT
    hours: int = 72


def ward_view(reviewed: Sequence[tuple[int, Review, Record]]) -> WardView:
    """Return every patient: most urgent first, of the rest who was not assessed, then by score and name."""
    scores = {index: review.lead for index, review, _ in reviewed}
    scale = ward_scale([score.history for score in scores.values() if score is not None])
    ordered = sorted(reviewed, key=lambda one: rank_on_ward(one[1]))
    rows = []
    for index, review, record in ordered:
        score = scores[index]
        rows.append(
            WardRow(
                index=index,
                person=person_of(review.subject, review.as_of, review.place),
                ward=_ward(review.place, record),
                first=first_of(review),
                score=_newest(review),
                score_name=short_name(score) if score is not None else "",
                line=small_multiple(score.history, scale) if score is not None and scale else None,
                medicines=sum(isinstance(f, MedicineFinding) and f.action in ASKING for f in review.findings),
                decisions=review.decisions,
                data_age=review.data_age,
                as_of=review.clock.dated(review.as_of) if review.as_of is not None else "",
                moment=review.as_of.isoformat() if review.as_of is not None else "",
            )
        )
    return WardView(
        rows=tuple(rows),
        wards=tuple(sorted({row.ward for row in rows})),
        counts=tuple(_counts(rows)),
        as_of=rows[0].as_of if len({row.as_of for row in rows}) == 1 else "",
    )


def _newest(review: Review) -> str:
    """Return the newest total; of an open one its span, with the last complete total in brackets."""
    score, whole = review.lead, review.last_whole
    if score is None:
        return ""
    total = str(score.total) if score.total is not None else f"{score.lowest} to {score.highest}"
    return f"{total} ({whole.total})" if whole is not None else total


def _ward(place: str, record: Record) -> str:
    names = [stay.place for stay in record.stays if stay.place and place.startswith(stay.place)]
    return max(names, key=len) if names else "place not recorded"


def _counts(rows: Sequence[WardRow]) -> Iterable[tuple[str, str, int]]:
    # The rows are in order of urgency already.
    seen = Counter((row.first.urgency, row.first.shape) for row in rows)
    for (word, shape), count in seen.items():
        yield word, shape, count
