"""A ward on one screen: most urgent first, one line a patient."""

from collections.abc import Sequence

from weatherglass.cli.text import MARK
from weatherglass.clinical.findings import Kind, MedicineFinding, Review, ScoreFinding

_WIDTH = 118


def ward_list(reviews: Sequence[Review]) -> str:
    """Return the ward list as text, ranked by urgency, then by score, then by name."""
    ranked = sorted(reviews, key=_rank)
    lines = ["Ward list, most urgent first", "-" * _WIDTH]
    lines.append(f"    {'Urgency':10} {'Patient':22} {'Bed':16} {'NEWS2':>6}  What first")
    lines.extend(_line(one) for one in ranked)
    return "\n".join(lines)


def _rank(review: Review) -> tuple[int, int, str]:
    score = _score(review)
    return (-review.urgency, -(score.lowest if score is not None else -1), review.subject.name)


def _score(review: Review) -> ScoreFinding | None:
    return next((f for f in review.findings if isinstance(f, ScoreFinding) and f.kind is Kind.SCORE), None)


def _line(review: Review) -> str:
    score = _score(review)
    total = "-"
    if score is not None and score.score == "news2":
        total = str(score.total) if score.total is not None else f">={score.lowest}"
    holds = sum(isinstance(f, MedicineFinding) and f.action == "hold" for f in review.findings)
    chart = f" [chart: {holds} to consider holding]" if holds else ""
    ceiling = " [ceiling recorded]" if review.ceiling else ""
    where = review.place.split(", ")[-1] if review.place else "not recorded"
    name = review.subject.name or review.subject.origin
    text = f"{MARK[review.urgency]} {review.urgency.word:10} {name[:22]:22} {where[:16]:16} {total:>6}  "
    rest = _WIDTH - len(text)
    first = review.headline
    if len(first) + len(chart) + len(ceiling) > rest:
        first = first[: max(20, rest - len(chart) - len(ceiling) - 3)].rstrip() + "..."
    return f"{text}{first}{chart}{ceiling}"
