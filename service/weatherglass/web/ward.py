"""Several patients on one page: most urgent first, the score of each to one scale."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.model.words.brief_words import rank_on_ward
from weatherglass.web.drawing.small_multiple import HEIGHT, WIDTH, small_multiple, ward_scale
from weatherglass.web.ward_line import WardLine, ward_line


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
