"""Reviews as a few lines of HTML for a notebook, without names: notebooks are saved and sent on."""

from collections.abc import Iterator, Sequence
from html import escape

from weatherglass.fhir.issues import Issue, Severity, grouped
from weatherglass.fhir.safe_text import clean
from weatherglass.model.findings import Finding, is_pressing, stands_beside
from weatherglass.model.review import Review
from weatherglass.model.words.call_words import call_line


def reviews_html(reviews: Sequence[Review], issues: Sequence[Issue]) -> str:
    """Return reviews as HTML: the head, what asks for something, the rest folded, what was not used."""
    if not reviews:
        return f"<p><strong>Nothing could be reviewed.</strong></p>{''.join(_issues(issues))}"
    return "".join([*(piece for one in reviews for piece in _review(one)), *_issues(issues)])


def _review(review: Review) -> Iterator[str]:
    pressing = [one for one in review.findings if is_pressing(one) and not stands_beside(one)]
    rest = [one for one in review.findings if stands_beside(one) or not is_pressing(one)]
    when = f", as of {review.clock.dated(review.as_of)}" if review.as_of is not None else ""
    yield f"<h4>{_text(f'{review.standing.upper()}: {review.subject.origin}{when}')}</h4>"
    yield f"<p>{_text(review.headline)}</p>"
    if review.escalation is not None:
        yield f"<p><strong>{_text(call_line(review.escalation, review.clock))}</strong></p>"
    yield from _list(pressing)
    if rest:
        yield f"<details><summary>{len(rest)} further findings</summary>"
        yield from _list(rest)
        yield "</details>"
    yield f"<p><small>{_text(' '.join(review.cautions))}</small></p>"


def _list(findings: Sequence[Finding]) -> Iterator[str]:
    if findings:
        yield "<ul>"
        for finding in findings:
            yield f"<li>{_text(finding.urgency.word)}: {_text(finding.sentence)}</li>"
        yield "</ul>"


def _issues(issues: Sequence[Issue]) -> Iterator[str]:
    told = grouped(one for one in issues if one.severity is not Severity.INFORMATION)
    if told:
        yield f"<details><summary>{len(told)} kinds of input not used, or with a reservation</summary><ul>"
        for same in told:
            yield f"<li>{_text(same.line)}</li>"
        yield "</ul></details>"


def _text(text: str) -> str:
    return escape(clean(text))
