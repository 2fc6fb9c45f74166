"""From findings to one review: order, urgency, whom to call, and the words to say.

Findings are put in A-E order and the most urgent first within a letter. The urgency
of the review is that of its most urgent finding that is not settling. A treatment
ceiling re-words the response; it never hides a score.
"""

from collections.abc import Sequence
from functools import cache, partial

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import (
    decisions_in_short,
    has_ceiling,
    is_not_for_resuscitation,
    observations_are_stopped,
    recorded_limits,
)
from weatherglass.facts.whereabouts import place_of
from weatherglass.handover.aloud.spoken import Call
from weatherglass.handover.escalation import escalate, leading_finding
from weatherglass.handover.intensive_care import without_ward_calls
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.left_out import LeftOut, left_unjudged, left_unread
from weatherglass.handover.no_call import closed_because, for_information
from weatherglass.handover.not_assessed import not_assessed
from weatherglass.handover.sbar import compose
from weatherglass.handover.told import rank_of
from weatherglass.handover.until_then import at_bedside
from weatherglass.knowledge.signs.single_signs import CHILD_WEIGHT
from weatherglass.medicines.telling.coverage import NOT_CHECKED, spoken_of
from weatherglass.medicines.telling.one_decision import decisions
from weatherglass.model.findings import (
    NOT_RECORDED_SINCE,
    Finding,
    ScoreFinding,
    State,
    Urgency,
    stands_beside,
)
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.values import Later
from weatherglass.model.review import Escalation, Review, ToldFirst, Unassessed
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.words.brief_words import current_score, driver_of, last_whole, scoring
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital
from weatherglass.model.words.person_words import aged
from weatherglass.review.told_first import as_told_first, worst_first

CAUTIONS = (
    "Decision support, not a cleared medical device: local policy and licensed clinicians decide.",
    "A suggestion is never an order. What is not recorded is not known to be normal.",
    "Not looked at: ECG, imaging, free text, and results that no rule here judges.",
)
_LETTERS = {letter: place for place, letter in enumerate(Letter)}


def synthesise(
    bedside: Bedside, findings: Sequence[Finding], *, is_narrowed: bool = False, ahead: Later | None = None
) -> Review:
    """Put findings in order and say what they come to.

    Args:
        bedside: The patient.
        findings: Of every question that was asked.
        is_narrowed: Only some questions were asked: silence says nothing.
        ahead: What is dated a little after the moment of the review.
    """
    in_order = sorted(without_ward_calls(bedside, for_information(bedside, findings)), key=_order)
    ordered = tuple(one for decision in decisions(in_order) for one in decision)
    leading, lead = leading_finding(ordered), current_score(ordered)
    left_out = left_unread(bedside, ahead) if is_narrowed else left_unjudged(bedside, ordered, ahead)
    missed = not_assessed(bedside, lead, left_out, is_narrowed=is_narrowed, is_called=leading is not None)
    where = place_of(bedside.record, bedside.as_of)
    call = _call(bedside, ordered, leading, lead, left_out, missed, where.said, is_narrowed=is_narrowed)
    told_first = as_told_first(call.worst, lead) if leading is not None else ()
    found = _found(bedside, ordered, leading, lead, told_first, call, left_out, is_narrowed=is_narrowed)
    lines = () if bedside.has_died else bedside.drug_chart.lines  # Nobody is given anything any more.
    told_of = spoken_of(ordered) if lines else set()
    return Review(
        subject=bedside.record.subject,
        as_of=bedside.as_of,
        place=call.place,
        ward=where.ward,
        bed=where.bed,
        hospital=where.hospital,
        urgency=leading.urgency if leading is not None else Urgency.ROUTINE,
        headline=" ".join(
            filter(None, (call.closed or ("" if leading is not None else call.unassessed), found))
        ),
        found=found,
        told_first=told_first,
        findings=ordered,
        escalation=call.escalation,
        compose=cache(partial(compose, bedside, ordered, call)),
        ceiling=call.ceiling,
        decisions=call.decisions,
        at_bedside=call.at_bedside,
        is_limited=has_ceiling(bedside),
        is_not_for_resuscitation=is_not_for_resuscitation(bedside),
        unassessed=missed,
        closed=call.closed,
        left_out=_unsaid(left_out, call.escalation),
        lead=lead,
        last_whole=last_whole(ordered, lead),
        data_age=_data_age(bedside, left_out),
        is_stale=_is_stale(bedside),
        is_narrowed=is_narrowed,
        medicines_reviewed=sum(line.is_recognised for line in lines),
        medicines_spoken_of=sum(line.is_recognised and line.order in told_of for line in lines),
        medicines_not_recognised=sum(not line.is_recognised for line in lines),
        look_up=lambda: bedside.latest_results,
        cautions=(*CAUTIONS, *((NOT_CHECKED,) if lines else ())),
        labels=bedside.record.labels,
        zone=bedside.record.zone,
    )


def _call(
    bedside: Bedside,
    findings: Sequence[Finding],
    leading: Finding | None,
    lead: ScoreFinding | None,
    left_out: LeftOut,
    missed: Unassessed | None,
    place: str,
    *,
    is_narrowed: bool,
) -> Call:
    """Return what the call is about: whom to call, for what, and what is known besides."""
    closed = closed_because(bedside)
    escalation = escalate(bedside, leading, findings) if leading is not None and not closed else None
    is_unwatched = bool(closed) or is_narrowed or observations_are_stopped(bedside)
    wants_a_set = missed is not None and missed.wants_a_set and not is_unwatched
    unsaid = _unsaid(left_out, escalation)
    worst = worst_first(bedside, findings, leading, lead) if leading is not None else (lead,) if lead else ()
    return Call(
        worst=worst,
        lead=lead,
        place=place,
        escalation=escalation,
        decisions=decisions_in_short(bedside),
        ceiling=recorded_limits(bedside),
        unassessed=missed.sentence if missed is not None else "",
        closed=closed,
        not_read=left_out.not_read_in_full,
        left_out=unsaid[len(left_out.not_read) :],
        danger_unread=left_out.dangerous,
        has_unread_signs=left_out.has_signs,
        flagged=left_out.flagged,
        at_bedside=at_bedside(findings, lead, escalation, wants_a_set=wants_a_set),
    )


def _unsaid(left_out: LeftOut, escalation: Escalation | None) -> tuple[str, ...]:
    """Return what was not judged; beside a call only what was not read."""
    return left_out.sentences if escalation is None else left_out.not_read


def _order(finding: Finding) -> tuple[object, ...]:
    settling = finding.state is State.SETTLING
    return (
        _LETTERS[finding.letter],
        settling,
        -finding.urgency,
        stands_beside(finding),
        finding.kind,
        rank_of(finding),
        finding.key,
    )


def _found(
    bedside: Bedside,
    findings: Sequence[Finding],
    leading: Finding | None,
    score: ScoreFinding | None,
    told_first: Sequence[ToldFirst],
    call: Call,
    left_out: LeftOut,
    *,
    is_narrowed: bool,
) -> str:
    """Say what was found: the most important thing first, and the next one of another kind after it."""
    if call.closed:
        told = leading or score
        words = _signs_alone(told) if told is not None else ""
        # What hurts in the last days is relieved, whoever is called for nothing else.
        worry = left_out.dangerous if not bedside.has_died else ""
        said = " ".join(filter(None, (f"{words}." if words else "", worry)))
    elif leading is None:
        quiet = (
            _of_what_was_asked(findings, score, left_out)
            if is_narrowed
            else _without_a_call(bedside, findings, score, call.unassessed, left_out)
        )
        said = " ".join(filter(None, (quiet, left_out.flagged)))
    else:
        said = " ".join(f"{one.words}." for one in told_first)
    # Scores, limits and roles of adults were used; nobody reads on to find that out.
    return " ".join(filter(None, (said, _read_as_an_adult(bedside))))


def _read_as_an_adult(bedside: Bedside) -> str:
    if bedside.age is None:
        weight = bedside.record.series(Signal.WEIGHT).latest
        if weight is not None and weight.is_exact and CHILD_WEIGHT.is_met_by(weight.value):
            return f"Age not recorded, weight {plain(weight.value)} kg: a child? Read as an adult's."
        return "Age not recorded: read as an adult's."
    if bedside.may_be_a_child:
        words = aged(bedside.record.subject, bedside.local(bedside.as_of))
        return f"{capital(words)} by what is recorded of the birth date: read as an adult's."
    return ""


def _signs_alone(told: Finding) -> str:
    """Return what is recorded where nobody is called: of an open total its signs, for it asks for nothing."""
    if isinstance(told, ScoreFinding) and told.total is None:
        return capital(", ".join(map(driver_of, scoring(told))))
    return told.brief


def _without_a_call(
    bedside: Bedside,
    findings: Sequence[Finding],
    score: ScoreFinding | None,
    unassessed: str,
    left_out: LeftOut,
) -> str:
    """Say what was found where nothing asks for a call; what was not assessed stands before it."""
    if score is not None:
        if not unassessed:
            of_what = "" if score.total is not None else " in what was measured"
            quiet = " ".join(left_out.sentences) or f"Nothing urgent found{of_what}."
            return f"{score.brief}. {quiet}"
        whole = last_whole(findings, score)
        then = f"The last complete set, at {whole.when}, gave {whole.total}." if whole is not None else ""
        last = " ".join(f"{f.brief}." for f in findings if f.key == NOT_RECORDED_SINCE)
        beside = " ".join(filter(None, (last, then))) if score.highest_tier else f"{score.brief}."
        return " ".join(filter(None, (beside, *left_out.sentences)))
    found = "Nothing in the record could be assessed."
    told = [f for f in findings if not KINDS[f.kind].never_first]
    if told:
        found = f"{told[0].brief}."
    elif any(graded.is_current for graded in bedside.graded.values()):
        found = "No result that is judged here is beyond its limit."
    elif unassessed:
        found = "Nothing else in the record could be assessed."
    return " ".join(filter(None, (found, *left_out.sentences)))


def _of_what_was_asked(findings: Sequence[Finding], score: ScoreFinding | None, left_out: LeftOut) -> str:
    """Say what a narrowed review found where nothing asks for a call: its silence is no all-clear."""
    told = [score] if score is not None else [f for f in findings if not KINDS[f.kind].never_first]
    found = f"{told[0].brief}." if told else "Nothing was found of what was asked for."
    return " ".join((found, *left_out.sentences, "Nothing else was looked at."))


def _is_stale(bedside: Bedside) -> bool:
    return not bedside.sets or bedside.as_of - bedside.sets[-1].last > bedside.choices.stale_after


def _data_age(bedside: Bedside, left_out: LeftOut) -> str:
    if not bedside.sets and left_out.has_signs:
        return "No vital signs could be used."
    if not bedside.sets:
        return "No vital signs are recorded."
    newest = bedside.sets[-1].last
    said = f"Newest vital signs {bedside.clock.full(newest)}"
    if _is_stale(bedside):
        return f"{said}, {lasting(bedside.as_of - newest)} before this review: too old to rely on."
    return f"{said}."
