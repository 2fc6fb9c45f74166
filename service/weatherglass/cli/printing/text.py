"""A review as text for a terminal: what to do first, then A to E, then the chart."""

from collections.abc import Iterable, Iterator, Sequence

from weatherglass.cli.printing.chart_text import chart_text
from weatherglass.cli.printing.finding_text import finding_text
from weatherglass.cli.printing.screen import Line, head, width, wrapped
from weatherglass.facts.ceiling import NOT_RECORDED
from weatherglass.fhir.issues import Issue, IssueKey, Severity, grouped
from weatherglass.fhir.safe_text import clean
from weatherglass.handover.told import named_together, told
from weatherglass.medicines.telling.coverage import NOT_CHECKED
from weatherglass.model.findings import Urgency
from weatherglass.model.review import Review
from weatherglass.model.signals import AS_TOLD
from weatherglass.model.words.call_words import call_line
from weatherglass.model.words.lists import capital
from weatherglass.model.words.person_words import birth, numbered
from weatherglass.model.words.result_words import against_words


def review_text(review: Review, issues: Sequence[Issue]) -> str:
    """Return one review as lines that are as wide as `screen` says, 100 characters at most."""
    return clean("\n".join(review_lines(review, issues)))


def review_lines(review: Review, issues: Sequence[Issue]) -> Iterator[str]:
    """Yield the same line by line, with what stands out on a terminal."""
    yield from _head(review)
    every = [one for one in told(review) if not one.orders]
    said = set[str]()
    for letter in AS_TOLD:
        found = [one for one in every if one.finding.letter is letter]
        if found:
            yield from ("", head("  ".join(filter(None, (letter.sign, letter.heading)))))
            yield from (line for one in found if not one.in_passing for line in finding_text(one, said))
            passing = named_together(one for one in found if one.in_passing)
            if passing:
                yield wrapped(f"Also: {'; '.join(passing)}.", "      ")
    yield from _results(review)
    yield from chart_text(review)
    yield from _spoken(review)
    yield from ("", head("Handover"))
    for title, sentences in review.handover.parts_below:
        yield f"  {title}"
        yield from (wrapped(s, "    ") for s in sentences if s)
    yield from _not_used(issues)
    yield from ("", *(wrapped(c, "") for c in review.cautions if c != NOT_CHECKED))


def short_lines(review: Review) -> Iterator[str]:
    """Yield what of a review is needed first: who, how bad, whom to call, the call in a minute."""
    yield from _head(review)
    yield from _spoken(review)


def _spoken(review: Review) -> Iterator[str]:
    spoken = review.handover.spoken
    yield from ("", head("The call in a minute")) if spoken else ()
    yield from (wrapped(sentence, "    ") for sentence in spoken)


def _head(review: Review) -> Iterator[str]:
    subject = review.subject
    when = review.clock.dated(review.as_of) if review.as_of is not None else "time not known"
    yield "=" * width()
    yield f"{subject.name or subject.origin}   {review.place or 'place not recorded'}   as of {when}"
    yield f"{capital(birth(subject))}, {numbered(subject)}"
    word, said = review.standing.upper(), review.headline
    if review.unassessed is not None and review.is_unassessed:  # The word at the head says how.
        said = " ".join(filter(None, (f"{review.unassessed.why}.", review.found)))
    whole = f"{word}: {said}" if len(said) < 80 else f"{word}\n{wrapped(said, '  ')}"
    yield Line(whole, word, is_red=review.urgency is Urgency.EMERGENCY and not review.is_unassessed)
    for line in review.ceiling or (NOT_RECORDED,):
        yield wrapped(line, "")
    if review.escalation is not None:
        call = review.escalation
        # What a refusal of resuscitation leaves open stands in its own line above.
        besides = f" {call.besides}" if review.is_limited else ""
        yield wrapped(f"{call_line(call, review.clock)}{besides}", "")
        yield from (wrapped(said, "") for said in review.left_out)
    if review.at_bedside:
        yield wrapped(f"Until then: {review.at_bedside}" if review.escalation else review.at_bedside, "")
    yield review.data_age


def _results(review: Review) -> Iterable[str]:
    """Write the newest results as columns: name, value, when, the one before it, the ranges."""
    rows = [
        (
            row.name,
            f"{row.said}{f' {row.mark.upper()}' if row.mark else ''}",
            review.clock.short(row.newest.at),
            f"before {row.previous.shown}, {review.clock.short(row.previous.at)}" if row.previous else "",
            against_words(row),
        )
        for row in review.latest.rows
    ]
    if rows or review.latest.not_read:
        yield from ("", head("Latest results"))
    wide = [max((len(row[place]) for row in rows), default=0) for place in range(4)]
    for row in rows:
        cells = [cell.ljust(size) for cell, size in zip(row, wide, strict=False)]
        line = "  ".join(("", *cells, row[4])).rstrip()
        yield line if len(line) <= width() else wrapped(line.strip(), "  ", "      ")
    if review.latest.not_read:
        yield wrapped(f"Sent and not read: {'; '.join(review.latest.not_read)}.", "  ", "    ")


def _not_used(issues: Sequence[Issue]) -> Iterable[str]:
    serious = [
        i for i in issues if i.severity is not Severity.INFORMATION or i.key is IssueKey.LATER_THAN_AS_OF
    ]
    if not serious:
        return
    yield from ("", head("Not used, or used with a reservation"))
    for same in grouped(serious):
        yield wrapped(same.line, "  - ", "    ")
