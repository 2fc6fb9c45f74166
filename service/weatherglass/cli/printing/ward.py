"""A ward on one screen: most urgent first, one line a patient."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from weatherglass.cli.printing.screen import MARK, Line, head
from weatherglass.fhir.safe_text import clean
from weatherglass.handover.told import looked_for
from weatherglass.model.findings import Urgency
from weatherglass.model.review import Review
from weatherglass.model.words.brief_words import rank_on_ward

_WIDTH = 128
_INDENT = 15
_NARROW = f"    {'Urgency':10} {'Patient':21} {'Number':10} {'Bed':8} {'NEWS2':>9} {'Chart':>5} {'Limit':5}"
_HEAD = f"{_NARROW}  What first"
#: A score that is not NEWS2 names itself in the column.
_SHORT = {"bedside-pews": "PEWS", "maternal-criteria": "MEWC", "mews": "MEWS"}


def ward_list(reviews: Sequence[Review], width: int = _WIDTH) -> str:
    """Return the ward list as text."""
    return "\n".join(ward_lines(reviews, width))


def ward_lines(reviews: Sequence[Review], width: int = _WIDTH) -> Iterator[str]:
    """Yield the lines of the ward list, ranked by urgency, then by score, then by name.

    Where a line has no room for it, what is first stands on a line of its own.

    The score is the one that leads the review; in brackets the last complete total.

    'Chart' counts the medicines that somebody is asked to look at; 'Limit' says
    that a treatment ceiling is recorded, or no more than a refusal of resuscitation.
    """
    is_narrow = width < _WIDTH
    yield from (head("Ward list, most urgent first"), "-" * width, _NARROW if is_narrow else _HEAD)
    for one in sorted(reviews, key=rank_on_ward):
        yield from _lines(one, width, is_narrow=is_narrow)


def _limit(review: Review) -> str:
    if review.is_limited:
        return "yes"
    return "noCPR" if review.is_not_for_resuscitation else "-"


def _total(review: Review) -> str:
    """Return the leading score; of another kind than NEWS2 with its short name, open or old with its mark."""
    score = review.lead
    if score is None:
        return "-"
    total = str(score.total) if score.total is not None else f">={score.lowest}"
    if review.last_whole is not None:
        total += f" ({review.last_whole.total})"
    return total if score.key == "news2" else f"{_SHORT.get(score.key, score.name)} {total}"


def _lines(review: Review, width: int, *, is_narrow: bool) -> Iterable[str]:
    total = _total(review)
    suggested = looked_for(review.findings)
    bed = review.bed or review.ward or "-"
    name = review.subject.name or review.subject.origin
    mark, word = MARK[review.urgency], review.urgency.word
    if review.is_unassessed:
        mark, word = "?  ", "unassessed"
    text = (
        f"{mark} {word:10} {name[:21]:21} "
        f"{review.subject.number or '-':10} {bed[:8]:8} {total:>9} "
        f"{len(suggested) or '-':>5} {_limit(review):5}  "
    )
    lead = " " * _INDENT if is_narrow else text
    headline = textwrap.shorten(review.headline, width - len(lead), placeholder=" ...")
    is_red = review.urgency is Urgency.EMERGENCY and not review.is_unassessed
    yield Line(clean(text.rstrip() if is_narrow else text + headline), mark if is_red else "", is_red=is_red)
    if is_narrow:
        yield clean(lead + headline)
