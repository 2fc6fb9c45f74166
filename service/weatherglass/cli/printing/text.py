"""A review as text for a terminal: what to do first, then A to E, then the chart."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from weatherglass.cli.printing.screen import Line, head, marked, width, wrapped
from weatherglass.facts.ceiling import NOT_RECORDED
from weatherglass.fhir.issues import Issue, IssueKey, Severity, grouped
from weatherglass.fhir.safe_text import clean
from weatherglass.handover.lines import Role, decided_for_all, plan_words, standing_words
from weatherglass.handover.told import (
    Told,
    asks_for_a_look,
    chart_place,
    is_settled,
    named_together,
    told,
    under_letters,
    with_their_course,
)
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.medicines.telling.coverage import NOT_CHECKED, NOT_CHECKED_IN_SHORT, counted
from weatherglass.medicines.telling.one_decision import (
    cautions_for_all,
    decision_sentence,
    decisions,
    not_recognised,
    not_recognised_sentence,
)
from weatherglass.model.findings import Finding, Kind, ScoreFinding, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding, MedicineReason
from weatherglass.model.review import Review
from weatherglass.model.sources import Source
from weatherglass.model.words.call_words import call_line, look_again
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.lists import capital, listed
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
    for letter, found in under_letters(review, every):
        shown = tuple(with_their_course(one for one in found if not one.in_passing))
        passing = named_together(one for one in found if one.in_passing and not one.in_results)
        if shown or passing:
            yield from ("", head("  ".join(filter(None, (letter.sign, letter.heading)))))
        yield from (line for one in shown for line in finding_text(one, said))
        if passing:
            yield wrapped(f"Also: {'; '.join(passing)}.", "      ")
    yield from _results(review)
    yield from chart_text(review)
    yield from _spoken(review)
    yield from ("", head("Handover"))
    for title, sentences in review.handover.parts_below(_above(review)):
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
    whole = f"{word}: {said}" if len(said) < 80 else f"{word}\n{wrapped(capital(said), '  ')}"
    yield Line(whole, word, is_red=review.urgency is Urgency.EMERGENCY and not review.is_unassessed)
    yield from (wrapped(line, "") for line in _limits(review))
    if review.escalation is not None:
        call = review.escalation
        # What a refusal of resuscitation leaves open stands in its own line above.
        besides = f" {call.besides}" if review.is_limited else ""
        yield wrapped(f"{call_line(call, review.clock)}{besides}", "")
    yield from (wrapped(said, "") for said in review.unread)
    if review.until_then:
        yield wrapped(review.until_then, "")
    yield review.data_age


def _limits(review: Review) -> Sequence[str]:
    return review.ceiling or (NOT_RECORDED,)


def _above(review: Review) -> Sequence[str]:
    """Return what of the handover the head says already."""
    return tuple(filter(None, (*_limits(review), review.until_then)))


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


# One finding as lines of a terminal.


def finding_text(told: Told, said: set[str]) -> Iterable[str]:
    """Yield one finding: its sentence, what is asked for, and its cautions where it is not routine.

    Args:
        told: The finding.
        said: The cautions that stand above already, each of which is said once; those of this one are added.
    """
    finding = told.finding
    standing = standing_words(finding, told.clock.spoken)
    since = f" [{'preliminary, ' if finding.provisional else ''}{standing}]" if standing else ""
    course = told.course
    if is_settled(finding):
        yield marked(told.urgency, f"{told.title}.{since}")
        return
    yield marked(told.urgency, f"{finding.sentence}{since}")
    if course is not None:
        began = standing_words(course, told.clock.spoken)
        yield wrapped(
            f"{capital(course.course)}.{f' [{began}]' if began not in ('', standing) else ''}", "      "
        )
    if _asks(told):
        yield from (wrapped(words, "      ") for words in told.words((Role.ASKED,)))
    if told.urgency is Urgency.ROUTINE and finding.kind is not Kind.SCORE:
        return  # What needs nothing done is one line; its cautions are in the FHIR answer.
    yield from (wrapped(words, "      ") for words in told.words((Role.STEP,)))
    cautions = {line.said: line.label for line in told.of(Role.CAUTION) if line.said not in said}
    said.update(cautions)
    yield from (wrapped(f"{label}: {caution}", "      ") for caution, label in cautions.items())


def _asks(told: Told) -> bool:
    """Tell whether what is asked is more than to go on, where all is routine, or than the call."""
    finding = told.finding
    if not isinstance(finding, ScoreFinding) or finding.urgency is not Urgency.ROUTINE:
        return not told.is_called
    return bool(finding.highest_tier)


# The drug chart as lines of a terminal: what was looked at, then each decision once, by urgency.

_Group = Sequence[MedicineFinding | InteractionFinding]
_BELOW = frozenset({Role.RISK, Role.LOOK_AGAIN, Role.RESTART})
_HEAD = "Drug chart"
_WHAT_IT_IS = ": suggestions (evidence for pausing is limited)"


def chart_text(review: Review) -> Iterator[str]:
    """Return the lines about the drug chart; none where there is no chart."""
    told = [f for f in review.findings if isinstance(f, MedicineFinding | InteractionFinding)]
    if not (told or review.medicines_reviewed or review.medicines_not_recognised):
        return
    yield from ("", head(_HEAD, _WHAT_IT_IS), wrapped(f"{counted(review)}. {NOT_CHECKED_IN_SHORT}", "  "))
    asked = [one for one in told if one.urgency is not Urgency.ROUTINE or _is_held(one)]
    decided = decided_for_all(asked, review.clock)
    for_all = _ForAll(cautions_for_all(told), decided, set())
    said = " ".join(filter(None, (*for_all.above, decided)))
    if said:
        yield wrapped(f"For all that follows: {said}", "  ")
    unknown = not_recognised(told)
    apart = {id(one) for one in unknown}
    known = [one for one in told if id(one) not in apart]
    for group in sorted(decisions(known), key=lambda one: chart_place(one[0])):
        yield from _decision(group, review.clock, for_all)
    if unknown:
        yield marked(Urgency.ROUTINE, not_recognised_sentence(unknown))


class _ForAll(NamedTuple):
    """What stands above every line: the cautions of all, who decides about every restart, what is said."""

    above: Sequence[str]
    decided: str
    heard: set[str]


def _is_held(one: Finding) -> bool:
    return isinstance(one, MedicineFinding) and one.action == Action.HOLD


def _decision(group: _Group, clock: Clock, for_all: _ForAll) -> Iterable[str]:
    medicines = [one for one in group if isinstance(one, MedicineFinding)]
    if not medicines:
        return (line for one in group for line in finding_text(Told(one, clock), set()))
    return _together(medicines, clock, for_all) if len(medicines) > 1 else _one(medicines[0], clock, for_all)


def _together(group: Sequence[MedicineFinding], clock: Clock, for_all: _ForAll) -> Iterable[str]:
    """Write several medicines that are one decision: the decision once, then what is of each."""
    yield marked(group[0].urgency, decision_sentence(group))
    cautions = _by_words((one, [c for c in one.cautions if c not in for_all.above]) for one in group)
    own = {said: named[0] for said, named in cautions.items() if len(named) == 1}
    first_of = {name: next(said for said, of in own.items() if of == name) for name in own.values()}
    for why, named in _by_words((one, [_of_each(one)]) for one in group).items():
        inline = first_of.pop(named[0], "") if len(named) == 1 else ""
        marks = _marks(next(one for one in group if one.named == named[0]))
        said = " ".join(filter(None, (why, inline, f"[{marks}]")))
        if _of(named, group):
            yield wrapped(f"{listed(named)}: {said}", "      - ", "        ")
        else:
            yield wrapped(f"{Role.WHY}: {said}", "      ")
    for said, named in cautions.items():
        if len(named) > 1 or first_of.get(named[0]) == said:
            yield wrapped(f"{Role.CAUTION}{_of(named, group)}: {said}", "      ")
    yield from _until(group, clock, for_all)


def _of_each(finding: MedicineFinding) -> str:
    """Say what is one medicine's own: why, and what stopping risks."""
    return " ".join(filter(None, (_whys(finding.reasons), finding.risk_if_stopped)))


def _until(group: Sequence[MedicineFinding], clock: Clock, for_all: _ForAll) -> Iterable[str]:
    """Say by when all of them are looked at, and when what is held comes back."""
    deadlines = [one.review_by for one in group if one.review_by is not None]
    if deadlines:
        yield wrapped(f"{capital(look_again(min(deadlines), clock))}.", "      ")
    back = [(one, one.restart) for one in group if one.restart is not None and _is_held(one)]
    for said, named in _by_words(
        (one, [r.condition if for_all.decided else plan_words(r)]) for one, r in back
    ).items():
        yield wrapped(f"{Role.RESTART}{_of(named, group)}: {said}.", "      ")


def _by_words(said: Iterable[tuple[MedicineFinding, Sequence[str]]]) -> dict[str, list[str]]:
    """Return of which medicines each sentence is said."""
    found: dict[str, list[str]] = {}
    for finding, sentences in said:
        for each in sentences:
            names = found.setdefault(each, [])
            names += [] if finding.named in names else [finding.named]
    return found


def _of(named: Sequence[str], group: Sequence[MedicineFinding]) -> str:
    return f" of {listed(named)}" if len(named) < len({one.named for one in group}) else ""


def _one(finding: MedicineFinding, clock: Clock, for_all: _ForAll) -> Iterable[str]:
    """Write one line of the chart for a glance; the whole of it is in the FHIR answer and the page."""
    yield marked(finding.urgency, finding.sentence)
    if finding.reasons:
        whys = _whys(reason for reason in finding.reasons if not reason.why_is_said)
        marks = _marks(finding)
        yield wrapped(f"{Role.WHY}: {whys} [{marks}]" if whys else f"Source: {marks}", "      ")
    for line in Told(finding, clock).of(*_below(finding)):
        is_short = line.role is Role.RESTART and for_all.decided
        yield wrapped(line.short if is_short else line.words, "      ")
    own = [each for each in finding.cautions if each not in for_all.above][:1]
    yield from (wrapped(f"{Role.CAUTION}: {each}", "      ") for each in own if each not in for_all.heard)
    for_all.heard.update(own)


def _below(finding: MedicineFinding) -> frozenset[Role]:
    """Return what stands below a suggestion: how a line that goes on comes back is asked when it is held."""
    roles = _BELOW if asks_for_a_look(finding) else _BELOW - {Role.LOOK_AGAIN}
    return roles if finding.urgency is not Urgency.ROUTINE or _is_held(finding) else roles - {Role.RESTART}


def _whys(reasons: Iterable[MedicineReason]) -> str:
    """Give the reasons, each once."""
    return " ".join(dict.fromkeys(one.why for one in reasons if one.why))


def _marks(finding: MedicineFinding) -> str:
    return "; ".join(dict.fromkeys(_cited(reason.source) for reason in finding.reasons))


def _cited(source: Source) -> str:
    """Name a source with its mark, once where the one is the other."""
    if source.citation.casefold() == source.mark.value:
        return source.mark.value
    return f"{source.publisher}, {source.mark.value}"
