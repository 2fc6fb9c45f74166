"""A ward on one screen: most urgent first, one line a patient."""

import textwrap
from collections.abc import Sequence

from weatherglass.cli.text import MARK
from weatherglass.clinical.findings import Kind, MedicineFinding, Review, ScoreFinding
from weatherglass.fhir.safe_text import clean

_WIDTH = 128
_HEAD = (
    f"    {'Urgency':10} {'Patient':21} {'Number':10} {'Bed':8} "
    f"{'NEWS2':>5} {'Chart':>5} {'Limit':5}  What first"
)
_COUNTED = frozenset({"hold", "reduce", "review", "avoid", "measure level"})


def ward_list(reviews: Sequence[Review]) -> str:
    """Return the ward list as text, ranked by urgency, then by score, then by name.

    'Chart' counts the medicines to consider holding, reducing or reviewing; 'Limit' says
    that a treatment ceiling is recorded, or no more than a refusal of resuscitation.
    """
    lines = ["Ward list, most urgent first", "-" * _WIDTH, _HEAD]
    lines.extend(_line(one) for one in sorted(reviews, key=_rank))
    return "\n".join(lines)


def _limit(review: Review) -> str:
    if review.is_limited:
        return "yes"
    return "noCPR" if review.is_not_for_resuscitation else "-"


def _rank(review: Review) -> tuple[int, bool, int, str]:
    score = _score(review)
    # Nobody knows how a patient is who was not assessed: before those who are known to be well.
    return (
        -review.urgency,
        not review.is_unassessed,
        -(score.lowest if score is not None else -1),
        review.subject.name,
    )


def _score(review: Review) -> ScoreFinding | None:
    scores = (f for f in review.findings if isinstance(f, ScoreFinding) and f.kind is Kind.SCORE)
    return next((f for f in scores if f.score == "news2"), None)


def _line(review: Review) -> str:
    score = _score(review)
    total = "-"
    if score is not None:
        total = str(score.total) if score.total is not None else f">={score.lowest}"
    suggested = {f.order for f in review.findings if isinstance(f, MedicineFinding) and f.action in _COUNTED}
    bed = review.place.rpartition(", ")[2] or "-"
    name = review.subject.name or review.subject.origin
    mark, word = MARK[review.urgency], review.urgency.word
    if review.is_unassessed:
        mark, word = "?  ", "unassessed"
    text = (
        f"{mark} {word:10} {name[:21]:21} "
        f"{review.subject.number or '-':10} {bed[:8]:8} {total:>5} "
        f"{len(suggested) or '-':>5} {_limit(review):5}  "
    )
    return clean(text + textwrap.shorten(review.headline, _WIDTH - len(text), placeholder=" ..."))
