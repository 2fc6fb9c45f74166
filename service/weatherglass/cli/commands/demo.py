"""`weatherglass demo`: the invented ward in one look, then one patient's review."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import click

from weatherglass.cli.errors import UsageError
from weatherglass.cli.printing.screen import MARK, Line, as_wide_as_the_terminal, head, room, show
from weatherglass.cli.printing.text import review_lines, short_lines
from weatherglass.fhir.safe_text import clean
from weatherglass.handover.told import looked_for
from weatherglass.model.findings import Urgency
from weatherglass.model.review import Review
from weatherglass.model.words.brief_words import rank_on_ward
from weatherglass.pipeline import Answer, review
from weatherglass.stamp import stamp


@click.command("demo", help="Review the invented demo ward and show what comes out.")
@click.option("--fixtures", default="fixtures", show_default=True, help="Folder with the demo ward.")
@click.option("--out", default=".demo", show_default=True, help="Where the FHIR output is written.")
@click.option("--full", "is_full", is_flag=True, help="Print the whole review of the sickest.")
def command(fixtures: str, out: str, *, is_full: bool) -> None:
    """Print the ward list and one review; write the FHIR output."""
    folder = Path(fixtures) / "bundles"
    files = sorted(folder.glob("*.json"))
    if not files:
        raise UsageError(f"no demo ward in {folder}; run this in a clone of the repository")
    answers: dict[str, Answer] = {path.stem: review(path.read_bytes()) for path in files}
    reviews = [(name, one) for name, answer in answers.items() for one in answer.reviews]
    show(ward_lines([one for _, one in reviews], room(128)))
    name, worst = max(reviews, key=lambda pair: pair[1].urgency)
    with as_wide_as_the_terminal():
        show(("", *(review_lines(worst, answers[name].issues) if is_full else short_lines(worst))))
    target = Path(out)
    target.mkdir(exist_ok=True)
    for stem, answer in answers.items():
        (target / f"{stem}.json").write_bytes(answer.collection(stamp()) + b"\n")
    if not is_full:
        click.echo(f"\nThe whole review: weatherglass review {folder / name}.json")
    click.echo(f"\nFHIR output of every patient: {target}/*.json")


# A ward on one screen: most urgent first, one line a patient.

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
