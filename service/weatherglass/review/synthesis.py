"""From findings to one review: order, urgency, whom to call, and the words to say.

Findings are put in A-E order and the most urgent first within a letter. The urgency
of the review is that of its most urgent finding that is not settling. A treatment
ceiling re-words the response; it never hides a score.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from typing import TypeGuard

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import (
    decisions_in_short,
    has_ceiling,
    is_not_for_resuscitation,
    observations_are_stopped,
    recorded_limits,
)
from weatherglass.facts.infection.stratum import named_infections
from weatherglass.facts.whereabouts import place_of
from weatherglass.handover.escalation import LACTATE, cannot_wait, escalate, leading_finding
from weatherglass.handover.intensive_care import without_ward_calls
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.left_out import LeftOut, left_unjudged, left_unread
from weatherglass.handover.no_call import closed_because, for_information
from weatherglass.handover.not_assessed import not_assessed
from weatherglass.handover.sbar import compose
from weatherglass.handover.spoken import Call
from weatherglass.handover.told import rank_of
from weatherglass.handover.until_then import at_bedside
from weatherglass.knowledge.signs.single_signs import CHILD_WEIGHT
from weatherglass.medicines.telling.coverage import NOT_CHECKED, spoken_of
from weatherglass.medicines.telling.one_decision import decisions
from weatherglass.model.findings import (
    MOST_CATASTROPHIC,
    NOT_RECORDED_SINCE,
    RECORDED_AS_SUCH,
    Finding,
    Kind,
    ScoreFinding,
    State,
    Urgency,
    is_named_emergency,
    stands_beside,
)
from weatherglass.model.quantities import plain
from weatherglass.model.record.values import Later
from weatherglass.model.review import Escalation, Review, ToldFirst, Unassessed
from weatherglass.model.signals import CodedSignal, Letter, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.words.brief_words import (
    current_score,
    driver_of,
    last_whole,
    reason_behind,
    scoring,
    unknown_of,
    words_behind,
)
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import capital
from weatherglass.model.words.person_words import aged

CAUTIONS = (
    "Decision support, not a cleared medical device: local policy and licensed clinicians decide.",
    "A suggestion is never an order. What is not recorded is not known to be normal.",
    "Not looked at: ECG, imaging, free text, and results that no rule here judges.",
)
#: What a blood gas says of acid that is not carbon dioxide.
_OF_ACID = frozenset({"venous-gas", "metabolic-acidosis", "acidaemia"})
#: What needs no place of its own, by key or kind, where something as urgent that rests on the same says it.
_TOLD_BY: Mapping[str, str] = {
    "steroid-adrenal-risk": "adrenal-crisis",  # The crisis is asked about by its name.
    "creatinine-high": Kind.AKI_STAGE,  # The stage names the creatinine.
    "allergy-suspected-cause": "anaphylaxis",
    Kind.ALLERGY: Kind.SEPSIS_RISK,  # The antimicrobial that is due names what the chart may not give.
}
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
    missed = not_assessed(bedside, lead, left_out, is_narrowed=is_narrowed)
    where = place_of(bedside.record, bedside.as_of)
    call = _call(bedside, ordered, leading, lead, left_out, missed, where.said, is_narrowed=is_narrowed)
    told_first = _told_first(call.worst, lead) if leading is not None else ()
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
        latest=bedside.latest_results,
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
    worst = _worst_first(bedside, findings, leading, lead) if leading is not None else (lead,) if lead else ()
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


def _told_first(told: Sequence[Finding], score: ScoreFinding | None) -> tuple[ToldFirst, ...]:
    leading = told[0]
    if leading.key == MOST_CATASTROPHIC:
        return (ToldFirst(leading, leading.brief),)  # Nothing stands beside it.
    newest = score if isinstance(leading, ScoreFinding) and not leading.is_current else None
    told = [one for one in told if one is not newest]  # It is said right behind the older one.
    # One more where it is as urgent as the first and restates nothing, or may be the cause of all.
    shown = (*told[:2], *(f for f in told[2:3] if _takes_third_place(f, *told[:2])))
    said = [
        ToldFirst(
            one, f"{_not_known(one) or words_behind(one, shown[:place])}{reason_behind(one, shown[:place])}"
        )
        for place, one in enumerate(shown)
    ]
    if newest is not None:
        said.insert(1, ToldFirst(newest, _since_then(newest)))
    return tuple(one for place, one in enumerate(said) if one.words not in {e.words for e in said[:place]})


def _signs_alone(told: Finding) -> str:
    """Return what is recorded where nobody is called: of an open total its signs, for it asks for nothing."""
    if isinstance(told, ScoreFinding) and told.total is None:
        return capital(", ".join(map(driver_of, scoring(told))))
    return told.brief


def _not_known(finding: Finding) -> str:
    """Return what an open total without a point leaves unknown; empty for every other finding."""
    if not isinstance(finding, ScoreFinding) or not finding.is_current or finding.lowest:
        return ""
    return f"Not known: {unknown_of(finding)}" if finding.unknown else ""


def _since_then(score: ScoreFinding) -> str:
    """Say the newest round beside the older one that leads: little and normal in a few words."""
    known = [part for part in score.parts if part.points is not None]
    if score.lowest or len(known) > len(score.unknown):
        return f"Now {score.brief}"
    return f"Since then only {', '.join(driver_of(part) for part in known)}"


def _takes_third_place(finding: Finding, leading: Finding, second: Finding) -> bool:
    if KINDS[finding.kind].is_cause or _could_ask_more(finding, leading):
        return True
    # A line of the chart keeps nobody from what the patient has besides.
    is_as_urgent = finding.urgency is leading.urgency or (
        KINDS[second.kind].of_chart and not KINDS[finding.kind].of_chart and finding.urgency is Urgency.URGENT
    )
    # What had to stand behind what cannot wait keeps its place in the head.
    return is_as_urgent and (not KINDS[finding.kind].restates or cannot_wait(second))


def _worst_first(
    bedside: Bedside, findings: Sequence[Finding], leading: Finding, score: ScoreFinding | None
) -> tuple[Finding, ...]:
    """Return what leads, and behind it what adds something as pressing, the most important first."""
    if leading.key == MOST_CATASTROPHIC:
        return (leading,)  # Nothing stands beside it.
    restated = set(_restated(bedside, findings))
    # Behind a line of the chart stands what the patient has, though it is less pressing.
    least = Urgency.PROMPT if KINDS[leading.kind].of_chart else min(leading.urgency, Urgency.URGENT)
    others = [
        f
        for f in findings
        if _says_more(f, leading)
        and f.key not in restated
        and not KINDS[f.kind].never_first
        and not stands_beside(f)
        and f.urgency >= least
        and f.state is not State.SETTLING
    ]
    # What somebody named by what it is comes next, then what kills before an infection, an infection named so
    # or an antimicrobial that nobody has given, then a result beyond its limit, which comes before what it
    # shows in a blood gas.
    others.sort(
        key=lambda f: (
            not (is_named_emergency(f) and f.urgency >= leading.urgency),
            not cannot_wait(f),
            not _is_infection_first(bedside, f),
            -f.urgency,
            not is_named_emergency(f),
            f.key == LACTATE,  # It shows what something else does.
            f.kind is Kind.OBSERVATIONS_OVERDUE,  # What is wrong comes before when it is measured again.
            # Neutropenic sepsis is more than the score that it stands beside.
            KINDS[f.kind].adds_less and f.key != "neutropenic-sepsis",
            f.key != "neutropenic-sepsis",
            not KINDS[f.kind].is_cause,
            f.kind is not Kind.CRITICAL_RESULT,
            f.kind,
            f.key == "hypoxaemia",  # Behind what the same sample says of carbon dioxide and acid.
            rank_of(f),
            f.key,
        )
    )
    if _could_ask_more(score, leading) and all(f.key != NOT_RECORDED_SINCE for f in findings):
        # Nobody knows that the patient is not far sicker than what leads: that comes right behind what is
        # known to be as urgent.
        rest = [f for f in others if f.kind not in (Kind.SCORE, Kind.SCORE_TREND)]
        behind = 1 if rest and rest[0].urgency is leading.urgency else 0
        others = [*rest[:behind], score, *rest[behind:]]
    scores = [f.urgency for f in (leading, *others) if f.kind is Kind.SCORE]
    if scores:
        # The score names its change and its signs; of them only what leads or is more urgent is said apart.
        others = [
            f
            for f in others
            if f.kind not in (Kind.SINGLE_SIGN, Kind.SCORE_TREND)
            or is_named_emergency(f)
            or f.urgency > max(scores)
        ]
    return (leading, *_one_of_each(others))


def _could_ask_more(score: Finding | None, leading: Finding) -> TypeGuard[ScoreFinding]:
    """Tell whether what is missing in a round could ask for more than what leads does."""
    return (
        isinstance(score, ScoreFinding)
        and score is not leading
        and bool(score.highest_tier)
        and score.could_ask > leading.urgency
    )


def _restated(bedside: Bedside, findings: Sequence[Finding]) -> Iterator[str]:
    """Return the keys of results that a finding already holds together, which need no place of their own."""
    recorded = _resting(
        [f for f in findings if f.kind is Kind.SINGLE_SIGN and f.key.endswith(RECORDED_AS_SUCH)]
    )
    grounds = _resting([f for f in findings if KINDS[f.kind].says_problem])
    acid = _resting([f for f in findings if f.key == "ketoacidosis"])
    names = {f"{f.key}{RECORDED_AS_SUCH}": f.urgency for f in findings}
    by = {what: _resting([f for f in findings if what in (f.key, f.kind)]) for what in _TOLD_BY.values()}
    held = {one.key for f in findings if f.kind is Kind.METABOLIC for one in f.measures}
    # What a problem has turned into says its name once more.
    keeps_carbon_dioxide = any(one.is_surely_high for one in bedside.venous_gases[-1:])
    of_acid = _OF_ACID if not keeps_carbon_dioxide else frozenset()
    for finding in findings:
        is_result = finding.kind in (Kind.CRITICAL_RESULT, Kind.CARDIAC)
        if is_result and finding.measures and finding.measures[0].key in held:
            yield finding.key
        if finding.key in of_acid and _is_told(finding, acid):
            yield finding.key  # Ketoacidosis names the acid with what makes it.
        says = [by[_TOLD_BY[what]] for what in (finding.key, finding.kind) if what in _TOLD_BY]
        if any(_is_told(finding, one) for one in says):
            yield finding.key
        if finding.kind is Kind.POSSIBLE_BLEEDING and _is_told(finding, recorded):
            yield finding.key
        if finding.key.endswith(RECORDED_AS_SUCH) and (
            _is_told(finding, grounds) or names.get(finding.key, Urgency.ROUTINE) >= finding.urgency
        ):
            yield finding.key  # What it has come to says its name.
        if finding.kind is Kind.SINGLE_SIGN and finding.key == Signal.PULSE.value:
            yield from (one.key for one in finding.measures[1:])  # It says the pressure beside it.
        if finding.key == "neutropenic-sepsis":  # Which says the count with what it means.
            yield "neutrophils-low"
        if finding.key == "rising-pressure":  # Which says the pressure with what it may mean.
            yield "high-pressure"
        if finding.kind is Kind.HEAD_INJURY and Signal.GCS_TOTAL.value in {m.key for m in finding.measures}:
            yield CodedSignal.CONSCIOUSNESS.value


def _resting(findings: Sequence[Finding]) -> dict[Origin, Urgency]:
    """Return how urgent is what rests on each input."""
    return {origin: f.urgency for f in sorted(findings, key=lambda f: f.urgency) for origin in f.evidence}


def _is_told(finding: Finding, by: Mapping[Origin, Urgency]) -> bool:
    """Tell whether other findings, as urgent as this one, rest on one of its inputs."""
    return any(by.get(origin, Urgency.ROUTINE) >= finding.urgency for origin in finding.evidence)


def _is_infection_first(bedside: Bedside, finding: Finding) -> bool:
    """Tell whether a first dose is due and none is recorded, or the infection is grave by its name.

    A question alone outranks nothing.
    """
    if finding.kind is not Kind.SEPSIS_RISK:
        return False
    if named_infections(bedside):
        return True
    due = bedside.first_antimicrobial
    if due is None:  # Without a date nobody can say by when: it is due at once.
        return bedside.neutropenic_sepsis is not None and not bedside.antibacterial_doses
    return due.deadline is not None


def _one_of_each(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Leave out what says the same in another way: a second criterion for the same injury."""
    seen: set[str] = set()
    for finding in findings:
        what = _analyte(finding) if KINDS[finding.kind].several else finding.kind.value
        if what not in seen:
            seen.add(what)
            yield finding


def _says_more(finding: Finding, leading: Finding) -> bool:
    """Tell whether a finding adds to the one that leads: of another kind, or about something else."""
    if leading.kind is Kind.SCORE and finding.kind is Kind.SCORE_TREND:
        return False  # Already in its words.
    if leading.key == NOT_RECORDED_SINCE and finding.kind is Kind.SCORE_TREND:
        return False  # What rose is what is named.
    if finding.kind is not leading.kind:
        return True
    return KINDS[finding.kind].several and _analyte(finding) != _analyte(leading)


def _analyte(finding: Finding) -> str:
    """Return what was measured, whatever the specimen and the side: "potassium"."""
    return finding.key.partition("-")[0]


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
