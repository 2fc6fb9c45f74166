"""Cards of `deterioration-review`: who is getting worse and why, and the chart beside it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from weatherglass.cds_hooks.cards import (
    MOST_CARDS,
    SUMMARY_LENGTH,
    Frame,
    card_of,
    group_card,
    remark_card,
    short,
    without_a_name,
)
from weatherglass.cds_hooks.suggestions import Order, suggestions_for
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.told import asks_for_a_look
from weatherglass.handover.told import told as told_of
from weatherglass.model.findings import AkiFinding, Finding, Kind, ScoreFinding, State, Urgency, stands_beside
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import DecisionShape, Review
from weatherglass.model.words.call_words import call_line


def deterioration_cards(frame: Frame, review: Review, orders: Mapping[str, Order]) -> list[Json]:
    """Return the cards of one review, most urgent first."""
    groups: dict[str, list[Finding]] = {}
    agreeing = {id(one.finding) for one in told_of(review) if one.speaks_by is not None}
    speaking = [f for f in review.findings if _speaks(f) and id(f) not in agreeing]
    for finding in sorted(speaking, key=_rank):
        groups.setdefault(_group(finding), []).append(finding)
    # What the call is about leads, as it does everywhere else.
    because = review.escalation.because if review.escalation is not None else None
    told = sorted(
        groups.values(), key=lambda group: (-group[0].urgency, because not in group, _rank(group[0]))
    )
    # What was not sent is said once, on the first card.
    after = replace(frame, remarks=())
    nameless = list(_nameless(after if told else frame, review))
    room = MOST_CARDS - len(nameless)
    shown = told if len(told) <= room else told[: room - 1]
    cards = [
        *(_told(frame if findings is told[0] else after, review, findings, orders) for findings in shown),
        *nameless,
    ]
    rest = [finding for findings in told[len(shown) :] for finding in findings]
    if rest:
        cards.append(_rest_card(after, rest, orders))
    return cards or list(_remarks(frame, review))


def _nameless(frame: Frame, review: Review) -> Iterable[Json]:
    yield from _closed(frame, review)
    yield from without_a_name(frame, review)


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
    is_allergy = findings[0].kind is Kind.ALLERGY
    sentence = _about_chart(chart) if len(chart) > 1 and not is_allergy else ""
    if sentence:
        also = [*_why_first(review, findings), *also]
    return group_card(frame, findings, sentence, also=also, suggestions=suggestions)


def _suggestions(frame: Frame, chart: Sequence[MedicineFinding], orders: Mapping[str, Order]) -> list[Json]:
    return [s for f in chart for s in suggestions_for(f, orders, frame.context, frame.instance)]


def _why_first(review: Review, findings: Sequence[Finding]) -> Iterable[str]:
    """Say what presses more than the other lines of the chart, and why, in the words of the head."""
    lead, *others = findings
    if any(one.urgency >= lead.urgency for one in others):
        return ()
    return [f"{one.words}." for one in review.told_first if one.finding is lead]


def _about_chart(chart: Sequence[MedicineFinding]) -> str:
    names = list(dict.fromkeys(f.ingredients[0] if f.ingredients else f.medicine for f in chart))
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
    at_once = f"{finding.at_once}." if finding.at_once else ""
    return tuple(filter(None, (call_line(escalation, review.clock), at_once, recorded)))


def _rest_card(frame: Frame, rest: Sequence[Finding], orders: Mapping[str, Order]) -> Json:
    chart = [f for f in rest if isinstance(f, MedicineFinding)]
    count = "1 further finding" if len(rest) == 1 else f"{len(rest)} further findings"
    sentence = f"{count}: {short(rest[0])}" if len(rest) == 1 else f"{count}."
    return group_card(frame, rest, sentence, suggestions=_suggestions(frame, chart, orders))


def _closed(frame: Frame, review: Review) -> Iterable[Json]:
    """Say why nobody is called, where that is so."""
    if review.closed:
        yield remark_card(frame, review.closed, review.ceiling, Urgency.ROUTINE)


def _remarks(frame: Frame, review: Review) -> Iterable[Json]:
    """Say why there is nothing to say, where silence could be taken for an all-clear."""
    if review.is_stale:
        # What was sent and not read first: a headline that does not fit is left out.
        details = (*review.left_out, review.headline)
        yield remark_card(frame, f"Not reviewed: {review.data_age}", details, Urgency.ROUTINE)
        return
    incomplete = next((f for f in review.findings if isinstance(f, ScoreFinding) and _is_incomplete(f)), None)
    if incomplete is not None:
        yield card_of(frame, incomplete, also=review.left_out)
    elif review.left_out:
        yield remark_card(frame, review.left_out[0], review.left_out[1:], Urgency.ROUTINE)
    elif not review.findings:
        words = review.not_assessed or f"Not reviewed: {review.headline}"
        yield remark_card(frame, words, (review.data_age,), Urgency.ROUTINE)


def _is_incomplete(score: ScoreFinding) -> bool:
    if stands_beside(score) or not score.is_current or score.not_applicable:
        return False
    return any(part.points is None for part in score.parts)
