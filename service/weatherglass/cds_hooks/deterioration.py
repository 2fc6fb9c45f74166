"""Cards of `deterioration-review`: who is getting worse and why, and the chart beside it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from weatherglass.cds_hooks.cards import (
    MOST_CARDS,
    SUMMARY_LENGTH,
    Frame,
    card_of,
    group_card,
    names_of,
    remark_card,
    short,
    without_a_name,
)
from weatherglass.cds_hooks.suggestions import Order, suggestions_for
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.told import asks_for_a_look
from weatherglass.handover.told import told as told_of
from weatherglass.handover.until_then import done_at_once
from weatherglass.model.findings import AkiFinding, Finding, Kind, ScoreFinding, State, Urgency, stands_beside
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import DecisionShape, Review
from weatherglass.model.words.call_words import call_line


def deterioration_cards(frame: Frame, review: Review, orders: Mapping[str, Order]) -> list[Json]:
    """Return the cards of one review: why nobody is called, then what was found, most urgent first."""
    told = _groups(review)
    # What was not sent is said once, on the first card.
    after = replace(frame, remarks=())
    head = list(_closed(frame, review, is_alone=not told) or (() if told else _remarks(frame, review)))
    nameless = list(without_a_name(after if head or told else frame, review))
    room = MOST_CARDS - len(head) - len(nameless)
    shown = told if len(told) <= room else told[: room - 1]
    found = [
        _told(after if head or place else frame, review, findings, orders)
        for place, findings in enumerate(shown)
    ]
    rest = [finding for findings in told[len(shown) :] for finding in findings]
    return [*head, *found, *nameless, *([_rest_card(after, rest, orders)] if rest else [])]


def _groups(review: Review) -> list[list[Finding]]:
    """Return what asks for somebody, one group a card, in the order of urgency."""
    agreeing = {id(one.finding) for one in told_of(review) if one.speaks_by is not None}
    # What leads does so in the order of the head, as everywhere else.
    first = {id(one.finding): place for place, one in enumerate(review.told_first)}

    def rank(finding: Finding) -> tuple[int, int, tuple[int, int, bool]]:
        return -finding.urgency, first.get(id(finding), len(first)), _rank(finding)

    groups: dict[str, list[Finding]] = {}
    speaking = (one for one in review.findings if _speaks(one) and id(one) not in agreeing)
    for finding in sorted(speaking, key=rank):
        groups.setdefault(_group(finding), []).append(finding)
    return list(groups.values())


def _speaks(finding: Finding) -> bool:
    if finding.urgency is Urgency.ROUTINE or finding.state is State.SETTLING:
        return False
    return not isinstance(finding, MedicineFinding) or asks_for_a_look(finding)


def _group(finding: Finding) -> str:
    """Return what shares a card: the signs, the scores, the kidneys, the chart; the rest stand alone."""
    if finding.kind is Kind.SINGLE_SIGN:
        return "signs"
    if isinstance(finding, ScoreFinding):
        return "scores"
    if isinstance(finding, AkiFinding):
        return "kidneys"
    if finding.kind is Kind.ALLERGY:
        return "allergies"
    if isinstance(finding, MedicineFinding | InteractionFinding):
        return "chart"
    return f"{finding.kind.value} {finding.key}"


def _rank(finding: Finding) -> tuple[int, int, bool]:
    """Order by urgency; among equals the signs, critical results, the score, the kidneys, the chart."""
    places = {"signs": 0, "results": 1, "scores": 2, "kidneys": 4, "chart": 5}
    after = stands_beside(finding) or isinstance(finding, InteractionFinding)
    return (-finding.urgency, places.get(_place(finding), 3), after)


def _place(finding: Finding) -> str:
    return "results" if KINDS[finding.kind].is_result else _group(finding)


def _told(frame: Frame, review: Review, findings: Sequence[Finding], orders: Mapping[str, Order]) -> Json:
    also = [line for finding in findings for line in _beside(review, finding)]
    chart = [f for f in findings if isinstance(f, MedicineFinding)]
    suggestions = _suggestions(frame, chart, orders)
    if len(findings) == 1:
        return card_of(frame, findings[0], also=also, suggestions=suggestions)
    sentence = _about_chart(review, chart, findings[0]) if len(chart) > 1 else ""
    return group_card(frame, findings, sentence, also=also, suggestions=suggestions)


def _suggestions(frame: Frame, chart: Sequence[MedicineFinding], orders: Mapping[str, Order]) -> list[Json]:
    return [s for f in chart for s in suggestions_for(f, orders, frame.context, frame.instance)]


def _about_chart(review: Review, chart: Sequence[MedicineFinding], lead: Finding) -> str:
    """Say what leads in the words of the head, or which orders they are; of an allergy its own sentence."""
    if lead.kind is Kind.ALLERGY:
        return ""
    for one in review.told_first:
        if one.finding is lead:
            return f"{one.words}."
    names = names_of(chart)
    for many in range(len(names), 0, -1):
        more = f" and {len(names) - many} more" if many < len(names) else ""
        said = f"{len(chart)} orders on the drug chart need a second look: {', '.join(names[:many])}{more}."
        if len(said) <= SUMMARY_LENGTH:
            break
    return said


def _beside(review: Review, finding: Finding) -> Sequence[str]:
    escalation = review.escalation
    if escalation is None or escalation.because is not finding:
        return ()
    limits = [one.words for one in review.decisions if one.shape is not DecisionShape.FOR]
    recorded = f"Recorded: {'; '.join(limits)}." if limits else ""
    # Staying and measuring go without saying for who reads a card.
    at_once = () if escalation.is_arrest else done_at_once(review.findings, escalation)
    said = (call_line(escalation, review.clock), *review.unread, *at_once, recorded)
    return tuple(filter(None, said))


def _rest_card(frame: Frame, rest: Sequence[Finding], orders: Mapping[str, Order]) -> Json:
    chart = [f for f in rest if isinstance(f, MedicineFinding)]
    count = "1 further finding" if len(rest) == 1 else f"{len(rest)} further findings"
    sentence = f"{count}: {short(rest[0])}" if len(rest) == 1 else f"{count}."
    return group_card(frame, rest, sentence, suggestions=_suggestions(frame, chart, orders))


def _closed(frame: Frame, review: Review, *, is_alone: bool) -> Sequence[Json]:
    """Say why nobody is called, where that is so; alone with what is known beside it."""
    if not review.closed:
        return ()
    found = review.found if is_alone else ""
    return (remark_card(frame, review.closed, review.ceiling, pressing=(found,)),)


def _remarks(frame: Frame, review: Review) -> Iterable[Json]:
    """Say why there is nothing to say, where silence could be taken for an all-clear."""
    incomplete = next((f for f in review.findings if isinstance(f, ScoreFinding) and _is_incomplete(f)), None)
    unread = review.left_out
    if review.unassessed is not None:
        # What was found names all that was not read.
        pressing = (review.found, review.at_bedside)
        yield remark_card(frame, review.not_assessed, (review.data_age,), pressing=pressing)
    elif incomplete is not None:
        yield card_of(frame, incomplete, also=unread)
    elif unread:
        yield remark_card(frame, unread[0], pressing=unread[1:])
    elif any(one.shape is DecisionShape.CONFLICT for one in review.decisions):
        yield remark_card(frame, review.ceiling[0], review.ceiling[1:])
    elif not review.findings:
        yield remark_card(frame, f"Not reviewed: {review.headline}", (review.data_age,))


def _is_incomplete(score: ScoreFinding) -> bool:
    if stands_beside(score) or not score.is_current or score.not_applicable:
        return False
    return any(part.points is None for part in score.parts)
