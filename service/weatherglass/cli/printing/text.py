"""A review as text for a terminal: what to do first, then A to E, then the chart."""

import re
import textwrap
from collections.abc import Iterable, Sequence

from weatherglass.facts.ceiling import NOT_RECORDED
from weatherglass.fhir.issues import Issue, IssueKey, Severity, grouped
from weatherglass.fhir.safe_text import clean
from weatherglass.medicines.telling.coverage import NOT_CHECKED, counted
from weatherglass.medicines.telling.one_decision import decision_sentence, decisions
from weatherglass.model.findings import (
    AkiFinding,
    Finding,
    InteractionFinding,
    Kind,
    Letter,
    MedicineFinding,
    Review,
    ScoreFinding,
    Urgency,
    stands_beside,
)
from weatherglass.model.sources import Source
from weatherglass.model.words.brief_words import in_brief
from weatherglass.model.words.call_words import call_line, look_again
from weatherglass.model.words.clock_words import Clock
from weatherglass.model.words.person_words import birth, numbered
from weatherglass.model.words.result_words import against_words

_WIDTH = 100
_ON_CHART = (MedicineFinding, InteractionFinding)
#: Urgency is told by the word and by its place; the mark repeats it for the eye.
MARK = {
    Urgency.EMERGENCY: "!!!",
    Urgency.URGENT: "!! ",
    Urgency.PROMPT: "!  ",
    Urgency.ROUTINE: ".  ",
}
_LETTERS = {
    Letter.OVERALL: "Overall",
    Letter.AIRWAY: "A  Airway",
    Letter.BREATHING: "B  Breathing",
    Letter.CIRCULATION: "C  Circulation",
    Letter.DISABILITY: "D  Disability",
    Letter.EXPOSURE: "E  Exposure",
}
_ORDER = (
    Letter.OVERALL,
    Letter.AIRWAY,
    Letter.BREATHING,
    Letter.CIRCULATION,
    Letter.DISABILITY,
    Letter.EXPOSURE,
)


def review_text(review: Review, issues: Sequence[Issue]) -> str:
    """Return one review as lines of at most 100 characters."""
    lines: list[str] = []
    lines.extend(_head(review))
    medicines = [f for f in review.findings if isinstance(f, MedicineFinding)]
    together = [f for f in review.findings if isinstance(f, InteractionFinding)]
    for letter in _ORDER:
        found = [f for f in review.findings if f.letter is letter and not isinstance(f, _ON_CHART)]
        if found:
            lines += ["", _LETTERS[letter]]
            told = [f for f in found if not _is_aside(f)]
            lines.extend(line for f in told for line in _finding(f, review.clock))
            aside = [in_brief(f) for f in found if _is_aside(f)]
            if aside:
                lines.append(_wrapped(f"Also: {'; '.join(aside)}.", "      "))
    lines.extend(_results(review))
    if medicines or together or review.medicines_reviewed or review.medicines_not_recognised:
        lines += [
            "",
            "Drug chart: suggestions for a prescriber, never orders (evidence for pausing is limited)",
        ]
        lines.append(f"  {counted(review)}")
        lines.append(_wrapped(NOT_CHECKED, "  "))
        allergies = [f for f in medicines if f.kind is Kind.ALLERGY]
        lines.extend(line for f in allergies for line in _medicine(f, review.clock))
        lines.extend(line for f in together for line in _finding(f, review.clock))
        others = decisions(f for f in medicines if f.kind is not Kind.ALLERGY)
        lines.extend(line for group in others for line in _decision(group, review.clock))
    lines += ["", "The call in a minute"]
    lines.extend(_wrapped(sentence, "    ") for sentence in review.handover.spoken)
    lines += ["", "Handover"]
    for title, sentences in (
        ("Situation", review.handover.situation),
        ("Background", review.handover.background),
        ("Assessment", review.handover.assessment),
        ("Recommendation", review.handover.recommendation),
    ):
        lines.append(f"  {title}")
        lines.extend(_wrapped(s, "    ") for s in sentences if s)
    lines.extend(_not_used(issues))
    lines += ["", *(_wrapped(c, "") for c in review.cautions if c != NOT_CHECKED)]
    return clean("\n".join(lines))


def _head(review: Review) -> Iterable[str]:
    subject = review.subject
    when = review.clock.dated(review.as_of) if review.as_of is not None else "time not known"
    yield "=" * _WIDTH
    yield f"{subject.name or subject.origin}   {review.place or 'place not recorded'}   as of {when}"
    yield f"{_sentence(birth(subject))}, {numbered(subject)}"
    word, said = review.standing, review.headline
    if review.is_unassessed:
        said = said.partition(": ")[2]
    yield f"{word.upper()}: {said}" if len(said) < 80 else f"{word.upper()}\n{_wrapped(said, '  ')}"
    for line in review.ceiling or (NOT_RECORDED,):
        yield _wrapped(line, "")
    if review.escalation is not None:
        call = review.escalation
        # What a refusal of resuscitation leaves open stands in its own line above.
        besides = f" {call.besides}" if review.is_limited else ""
        yield _wrapped(f"{call_line(call, review.clock)}{besides}", "")
        yield from (_wrapped(said, "") for said in review.left_out)
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
        yield ""
        yield "Latest results"
    widths = [max((len(row[place]) for row in rows), default=0) for place in range(4)]
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        yield "  ".join(("", *cells, row[4])).rstrip()
    if review.latest.not_read:
        yield _wrapped(f"Sent and not read: {'; '.join(review.latest.not_read)}.", "  ", "    ")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _finding(finding: Finding, clock: Clock) -> Iterable[str]:
    since = ""
    if finding.state is not None:
        since = f" [{finding.state.value}"
        since += f" since {clock.full(finding.since)}" if finding.since is not None else ""
        if finding.asked_since is not None and finding.asked_since != finding.since:
            since += f", so urgent since {clock.full(finding.asked_since)}"
        since += "]"
    yield _wrapped(f"{finding.sentence}{since}", f"  {MARK[finding.urgency]} ", "      ")
    if isinstance(finding, ScoreFinding) and _asks_for_something(finding):
        yield _wrapped(f"{finding.response_by}: {finding.response}.", "      ")
    if isinstance(finding, AkiFinding) and finding.response:
        yield _wrapped(f"Asked for: {finding.response}.", "      ")
    if finding.urgency is Urgency.ROUTINE and finding.kind is not Kind.SCORE:
        return  # What needs nothing done is one line; its cautions are in the FHIR answer.
    for step in finding.steps:
        yield _wrapped(f"{step.said}.", "      ")
    for caution in finding.cautions:
        yield _wrapped(f"Caution: {caution}", "      ")


#: Looked at, nothing pressing: named in a few words. Everything is in the FHIR answer and the page.
_ASIDE = frozenset(
    {
        Kind.SCORE_NOT_APPLICABLE,
        Kind.KIDNEY_FUNCTION,
        Kind.LABORATORY_TREND,
        Kind.VITAL_SIGN_TREND,
    }
)


def _is_aside(finding: Finding) -> bool:
    if finding.urgency is not Urgency.ROUTINE:
        return False
    if isinstance(finding, AkiFinding) and not finding.stage and finding.kind is Kind.AKI_STAGE:
        return True
    return finding.kind in _ASIDE or stands_beside(finding)


def _asks_for_something(finding: ScoreFinding) -> bool:
    """Tell whether the response is printed: not where all is routine and known to be."""
    return bool(finding.response) and (finding.urgency is not Urgency.ROUTINE or bool(finding.highest_tier))


#: Actions whose deadline is said; what goes on as it is has none.
_LOOKED_AT_AGAIN = frozenset({"hold", "avoid", "reduce", "review", "measure level"})


def _decision(group: Sequence[MedicineFinding], clock: Clock) -> Iterable[str]:
    """Write several medicines that are one decision: the decision once, then what is of each."""
    first = group[0]
    if len(group) == 1:
        yield from _medicine(first, clock)
        return
    yield _wrapped(decision_sentence(group), f"  {MARK[first.urgency]} ", "      ")
    for finding in group:
        own = [caution for caution in finding.cautions if not caution.startswith("Evidence grade")]
        told = (*dict.fromkeys(reason.why for reason in finding.reasons), finding.risk_if_stopped, *own[:1])
        marks = "; ".join(dict.fromkeys(_cited(reason.source) for reason in finding.reasons))
        said = " ".join(part for part in told if part)
        yield _wrapped(f"{finding.medicine}: {said} [{marks}]", "      - ", "        ")
    if first.review_by is not None:
        yield _wrapped(f"{_sentence(look_again(first.review_by, clock))}.", "      ")


def _medicine(finding: MedicineFinding, clock: Clock) -> Iterable[str]:
    """Write one line of the chart for a glance; the whole of it is in the FHIR answer and the page."""
    yield _wrapped(finding.sentence, f"  {MARK[finding.urgency]} ", "      ")
    yield from _whys(finding)
    if finding.risk_if_stopped:
        yield _wrapped(finding.risk_if_stopped, "      ")
    if finding.review_by is not None and finding.action in _LOOKED_AT_AGAIN:
        yield _wrapped(f"{_sentence(look_again(finding.review_by, clock))}.", "      ")
    if finding.restart is not None:
        by = f" by {clock.full(finding.restart.by)}" if finding.restart.by is not None else ""
        yield _wrapped(f"Restart: {finding.restart.condition}; {finding.restart.who}{by}.", "      ")
    own = [caution for caution in finding.cautions if not caution.startswith("Evidence grade")]
    if own:
        yield _wrapped(f"Caution: {own[0]}", "      ")


def _whys(finding: MedicineFinding) -> Iterable[str]:
    """Give the reasons that the sentence does not give itself, and who says all of them."""
    if not finding.reasons:
        return
    whys = dict.fromkeys(r.why for r in finding.reasons if r.why.rstrip(".") not in finding.sentence)
    marks = "; ".join(dict.fromkeys(_cited(r.source) for r in finding.reasons))
    yield _wrapped(f"Why: {' '.join(whys)} [{marks}]" if whys else f"Source: {marks}", "      ")


def _cited(source: Source) -> str:
    """Name a source with its mark, once where the one is the other."""
    if source.citation.casefold() == source.mark.value:
        return source.mark.value
    return f"{_who_says(source.citation)}, {source.mark.value}"


def _who_says(citation: str) -> str:
    """Return who published it, for where the title has no room.

    Examples:
        >>> _who_says("NICE NG28, Type 2 diabetes in adults: management")
        'NICE NG28'
        >>> _who_says("Royal College of Physicians. NEWS2 and deterioration in COVID-19. 2020")
        'Royal College of Physicians'
        >>> _who_says("Keeling D et al., Guidelines on oral anticoagulation with warfarin")
        'Keeling D et al.'
    """
    return re.split(r"[,.] ", citation, maxsplit=1)[0]


def _not_used(issues: Sequence[Issue]) -> Iterable[str]:
    serious = [
        i for i in issues if i.severity is not Severity.INFORMATION or i.key is IssueKey.LATER_THAN_AS_OF
    ]
    if not serious:
        return
    yield ""
    yield "Not used, or used with a reservation"
    for same in grouped(serious):
        yield _wrapped(same.line, "  - ", "    ")


_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:mmHg|\u00b5mol|mmol|g/L|L/min|mL|kPa|mg|years|hours|minutes)\b|%|\u00b0C|/min)"
)


def _wrapped(text: str, first: str, rest: str | None = None) -> str:
    # A number and its unit stay on one line.
    filled = textwrap.fill(
        _BEFORE_UNIT.sub("\u00a0", text),
        width=_WIDTH,
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace("\u00a0", " ")
