"""From findings to one review: order, urgency, whom to call, and the words to say.

Findings are put in A-E order and the most urgent first within a letter. The urgency
of the review is that of its most urgent finding that is not settling. A treatment
ceiling re-words the response; it never hides a score.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta, tzinfo

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.clock_words import clock, lasting
from weatherglass.clinical.findings import (
    Escalation,
    Finding,
    Handover,
    Kind,
    Letter,
    MedicineFinding,
    Review,
    ScoreFinding,
    State,
    Urgency,
)
from weatherglass.clinical.record import DirectiveKind, OrderStatus, Resuscitation
from weatherglass.clinical.subject import Sex

_LETTERS = tuple(Letter)
#: Ours where the publication gives no time: how soon somebody should have looked.
_WITHIN = {
    Urgency.EMERGENCY: timedelta(minutes=30),
    Urgency.URGENT: timedelta(hours=1),
    Urgency.PROMPT: timedelta(hours=4),
}
CAUTIONS = (
    "Decision support, not a cleared medical device: local policy and licensed clinicians decide.",
    "A suggestion is never an order. What is not recorded is not known to be normal.",
)
_NOT_RECORDED = "not recorded"


def synthesise(bedside: Bedside, findings: Sequence[Finding]) -> Review:
    """Put findings in order and say what they come to."""
    ordered = tuple(sorted(findings, key=_order))
    urgency = max((f.urgency for f in ordered if f.state is not State.SETTLING), default=Urgency.ROUTINE)
    leading = _leading(ordered, urgency)
    escalation = _escalation(bedside, leading, urgency) if leading is not None else None
    headline = _headline(ordered, leading)
    ceiling = tuple(_ceiling(bedside))
    return Review(
        subject=bedside.record.subject,
        as_of=bedside.as_of,
        place=_place(bedside),
        urgency=urgency,
        headline=headline,
        findings=ordered,
        escalation=escalation,
        handover=_handover(bedside, ordered, headline, escalation, ceiling),
        ceiling=ceiling,
        data_age=_data_age(bedside),
        is_stale=_is_stale(bedside),
        cautions=CAUTIONS,
        editions={f.edition: f.name for f in ordered if isinstance(f, ScoreFinding)},
        zone=bedside.record.zone,
    )


def _order(finding: Finding) -> tuple[object, ...]:
    settling = finding.state is State.SETTLING
    return (_LETTERS.index(finding.letter), settling, -finding.urgency, finding.kind, finding.key)


def _leading(findings: Sequence[Finding], urgency: Urgency) -> Finding | None:
    if urgency is Urgency.ROUTINE:
        return None
    most = [f for f in findings if f.urgency is urgency and f.state is not State.SETTLING]
    # A score speaks for the whole patient, so it leads among equals.
    most.sort(key=lambda f: (f.kind is not Kind.SCORE, _order(f)))
    return most[0]


def _headline(findings: Sequence[Finding], leading: Finding | None) -> str:
    if leading is not None:
        return leading.sentence
    if not findings:
        return "Nothing in the record could be assessed."
    score = next((f for f in findings if isinstance(f, ScoreFinding) and f.kind is Kind.SCORE), None)
    return score.sentence if score is not None else findings[0].sentence


def _escalation(bedside: Bedside, leading: Finding, urgency: Urgency) -> Escalation:
    roles = bedside.choices.roles
    called = {
        Urgency.EMERGENCY: (roles.senior, roles.critical_care),
        Urgency.URGENT: (roles.ward_doctor, roles.senior),
        Urgency.PROMPT: (roles.ward_doctor,),
    }[urgency]
    within = _WITHIN[urgency]
    return Escalation(
        urgency=urgency,
        roles=called,
        within=within,
        due=bedside.as_of + within,
        reason=leading.sentence,
        decided_by=leading.decided_by,
        because=leading,
    )


def _ceiling(bedside: Bedside) -> Iterable[str]:
    zone = bedside.record.zone
    decisions = bedside.directives(DirectiveKind.RESUSCITATION)
    said = {d.resuscitation for d in decisions if d.resuscitation is not None}
    if len(said) > 1:
        yield "Conflicting resuscitation records: ask the team. " + "; ".join(
            f"{d.resuscitation.value} ({_dated(d.at, zone)})" for d in decisions if d.resuscitation
        )
    elif decisions and decisions[0].resuscitation is not None:
        newest = decisions[0]
        status = newest.resuscitation
        if status is Resuscitation.NOT_FOR:
            yield (
                f"Recorded: not for attempted resuscitation ({_dated(newest.at, zone)}). This is not a "
                "decision about any other treatment."
            )
        elif status is not None:
            yield f"Recorded: {status.value} ({_dated(newest.at, zone)})."
    for directive in bedside.directives(DirectiveKind.CEILING):
        yield f"Recorded treatment ceiling: {directive.text} ({_dated(directive.at, zone)})."
    for directive in bedside.directives(DirectiveKind.END_OF_LIFE):
        plan = directive.text or "plan in place"
        yield f"Recorded end-of-life care: {plan} ({_dated(directive.at, zone)})."


def _dated(at: datetime | None, zone: tzinfo) -> str:
    return clock(at, zone) if at is not None else "date not recorded"


def _place(bedside: Bedside) -> str:
    current = [s for s in bedside.record.stays if s.place and (s.ends is None or s.ends >= bedside.as_of)]
    if not current:
        return ""
    current.sort(key=lambda s: (s.starts is not None, s.starts or bedside.as_of, s.origin))
    newest = current[-1]
    return f"{newest.place}, {newest.bed}" if newest.bed else newest.place


def _is_stale(bedside: Bedside) -> bool:
    return not bedside.sets or bedside.as_of - bedside.sets[-1].end > bedside.choices.stale_after


def _data_age(bedside: Bedside) -> str:
    if not bedside.sets:
        return "No vital signs are recorded."
    newest = bedside.sets[-1].end
    said = f"Newest vital signs {clock(newest, bedside.record.zone)}"
    if _is_stale(bedside):
        return f"{said}, {lasting(bedside.as_of - newest)} before this review: too old to rely on."
    return f"{said}."


# The handover


def _handover(
    bedside: Bedside,
    findings: Sequence[Finding],
    headline: str,
    escalation: Escalation | None,
    ceiling: Sequence[str],
) -> Handover:
    return Handover(
        situation=tuple(_situation(bedside, headline)),
        background=tuple(_background(bedside)),
        assessment=tuple(_assessment(bedside, findings)),
        recommendation=tuple(_recommendation(findings, escalation, ceiling)),
    )


def _situation(bedside: Bedside, headline: str) -> Iterable[str]:
    subject = bedside.record.subject
    who = subject.name or "a patient whose name is not recorded"
    age = f"{bedside.age} years" if bedside.age is not None else "age not recorded"
    sex = subject.sex.value if subject.sex in (Sex.FEMALE, Sex.MALE) else "sex not recorded"
    yield f"I am calling about {who}, {age}, {sex}, on {_place(bedside) or 'a ward that is not recorded'}."
    yield headline


def _background(bedside: Bedside) -> Iterable[str]:
    record = bedside.record
    reasons = [s.reason for s in record.stays if s.reason]
    yield f"Admitted with: {reasons[-1] if reasons else _NOT_RECORDED}."
    active = [c.text for c in record.conditions if c.active and c.text]
    yield f"Known conditions: {', '.join(dict.fromkeys(active)) or _NOT_RECORDED}."
    chart = [o.medicine.text for o in record.orders if o.status is OrderStatus.ACTIVE]
    yield f"On the drug chart: {', '.join(dict.fromkeys(chart)) or _NOT_RECORDED}."
    yield f"Allergies: {', '.join(a.text for a in record.allergies if a.text) or _NOT_RECORDED}."


def _assessment(bedside: Bedside, findings: Sequence[Finding]) -> Iterable[str]:
    newest = bedside.sets[-1] if bedside.sets else None
    yield _data_age(bedside)
    score = next((f for f in findings if isinstance(f, ScoreFinding) and f.parts), None)
    if score is not None and newest is not None:
        yield "; ".join(f"{part.label} {part.shown}" for part in score.parts) + "."
    for finding in findings:
        if isinstance(finding, MedicineFinding) or finding.urgency is Urgency.ROUTINE:
            continue
        since = ""
        if finding.since is not None and finding.state is not None:
            since = f" ({finding.state.value} since {clock(finding.since, bedside.record.zone)})"
        yield f"{finding.sentence.rstrip('.')}{since}."


def _recommendation(
    findings: Sequence[Finding],
    escalation: Escalation | None,
    ceiling: Sequence[str],
) -> Iterable[str]:
    yield from ceiling or ("Resuscitation status and treatment ceiling: not recorded, so not known.",)
    if escalation is not None:
        yield (f"Please review within {lasting(escalation.within)} ({' and '.join(escalation.roles)}).")
    for finding in findings:
        if isinstance(finding, MedicineFinding) and finding.action in ("hold", "reduce", "review", "avoid"):
            yield finding.sentence
    scored = next((f for f in findings if isinstance(f, ScoreFinding) and f.monitoring), None)
    if scored is not None:
        yield f"Observations: {scored.monitoring}; then look again."
    yield "Read back what was agreed: not recorded."
