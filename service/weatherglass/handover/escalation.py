"""Whom to call and by when: roles of the site's policy, deadlines of the publications.

A deadline counts from when its reason began. Of several equally urgent reasons the one
that began first sets it, so that neither a repeat of a value nor a further reason moves it. Where
its time was not recorded it is due when it may be due at the earliest, and never called late.
"""

from collections.abc import Sequence
from datetime import timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.ceiling import has_ceiling, is_not_for_resuscitation, is_wish_alone
from weatherglass.facts.whereabouts import Due, Whereabouts, due_here, is_surgical
from weatherglass.handover.answered import answer_to, unanswered
from weatherglass.handover.kinds import KINDS
from weatherglass.handover.told import rank_of
from weatherglass.model.findings import (
    MOST_CATASTROPHIC,
    NOT_RECORDED_SINCE,
    SLOW_DECLINE,
    Finding,
    Kind,
    State,
    Urgency,
    is_named_emergency,
    is_pressing,
    stands_beside,
)
from weatherglass.model.local_choices import Deadlines
from weatherglass.model.review import Escalation
from weatherglass.model.signals import POTASSIUM_OF_EITHER, Letter


def leading_finding(findings: Sequence[Finding]) -> Finding | None:
    """Return the finding that sets the urgency; None when everything is routine.

    A single catastrophic sign outranks every total. Else a score, which speaks for the whole
    patient, leads among equals; what is wrong comes before what to do about the chart; a
    settling finding does not lead.
    """
    return min(filter(is_pressing, findings), key=_precedence, default=None)


#: A lactate shows what something else does: of equals the other one leads.
LACTATE = "lactate-high"
_POTASSIUM = frozenset({"potassium-high", "potassium-gas-high"})
_OF_POTASSIUM = frozenset(one.value for one in POTASSIUM_OF_EITHER)


def _precedence(finding: Finding) -> tuple[object, ...]:
    return (
        -finding.urgency,
        stands_beside(finding) or KINDS[finding.kind].of_chart,
        not is_catastrophic(finding),
        finding.key != MOST_CATASTROPHIC,
        not is_named_emergency(finding),
        finding.kind is not Kind.SCORE,
        KINDS[finding.kind].of_chart,  # After a score that stands beside another, too.
        finding.kind is Kind.OBSERVATIONS_OVERDUE,  # What is wrong comes before that nobody has looked again.
        finding.key != NOT_RECORDED_SINCE,
        # What signs or results come to together comes before each of them.
        finding.key != SLOW_DECLINE,
        finding.kind is not Kind.METABOLIC,
        not stops_the_heart(finding),
        finding.key == LACTATE,
        finding.kind,
        rank_of(finding),
        finding.key,
    )


def stops_the_heart(finding: Finding) -> bool:
    """Tell whether it is a potassium so high that it kills before anything else that a result shows."""
    return finding.key in _POTASSIUM and finding.urgency is Urgency.EMERGENCY


def cannot_wait(finding: Finding) -> bool:
    """Tell whether it kills before an infection does: such a potassium, an airway, a breath to be saved."""
    if finding.kind is not Kind.METABOLIC or finding.urgency is not Urgency.EMERGENCY:
        return stops_the_heart(finding)
    is_saved = finding.letter in (Letter.AIRWAY, Letter.BREATHING) and bool(finding.at_once)
    # What a potassium comes of says it in its place: a poisoning, a kidney, cells that fall apart.
    return is_saved or any(one.key in _OF_POTASSIUM for one in finding.measures)


def is_catastrophic(finding: Finding) -> bool:
    """Tell whether a finding is a single sign that calls at once."""
    is_a_sign = finding.kind is Kind.SINGLE_SIGN and finding.key != NOT_RECORDED_SINCE
    return is_a_sign and finding.urgency is Urgency.EMERGENCY


def escalate(bedside: Bedside, leading: Finding, findings: Sequence[Finding]) -> Escalation:
    """Say whom to call, by when, and which rule decided.

    Args:
        bedside: The patient.
        leading: The finding that sets the urgency.
        findings: All of them: the first of those as urgent sets the deadline.
    """
    urgency = leading.urgency
    is_arrest = leading.key == MOST_CATASTROPHIC and not is_not_for_resuscitation(bedside)
    most = timedelta(0) if is_arrest else _within(bedside.choices.deadlines, urgency)
    equals = unanswered(
        bedside,
        [leading, *(f for f in findings if _counts_with(f, leading))],
        lambda one: _asked(bedside, one, most)[0].began,
    )
    due, within = min((_asked(bedside, one, most) for one in equals), key=lambda one: one[0].at)
    besides = _besides(bedside, urgency)
    answered = answer_to(bedside, equals, due.began) if not is_arrest else ""
    return Escalation(
        urgency=urgency,
        roles=(bedside.choices.roles.arrest,) if is_arrest else _roles(bedside, leading, urgency),
        within=within,
        began=due.began,
        due=due.at,
        overdue=bedside.as_of - due.at if due.at < bedside.as_of and not is_arrest and not answered else None,
        answered=answered if due.at < bedside.as_of else "",
        is_undated=due.is_undated,
        reason=f"{leading.sentence} {besides}".rstrip(),
        decided_by=leading.decided_by,
        because=leading,
        besides=besides,
        is_arrest=is_arrest,
        is_for_the_chart=KINDS[leading.kind].of_chart and urgency is Urgency.PROMPT,
        reader=bedside.choices.roles.reader,
    )


def _counts_with(finding: Finding, leading: Finding) -> bool:
    """Tell whether a finding calls the same people as urgently: not the chart, which has its own time."""
    if finding.urgency is not leading.urgency or finding.state is State.SETTLING or stands_beside(finding):
        return False
    return KINDS[finding.kind].own_time is KINDS[leading.kind].own_time


def _asked(bedside: Bedside, finding: Finding, most: timedelta) -> tuple[Due, timedelta]:
    """Return by when a finding asks for somebody; its own time where that is shorter, or lets it wait."""
    longest = finding.waits or most
    within = longest if finding.within is None else min(finding.within, longest)
    since = finding.asked_since or finding.since or finding.at
    return due_here(bedside.record, bedside.as_of, since, within), within


def _besides(bedside: Bedside, urgency: Urgency) -> str:
    """Say what the call has to reckon with, in words that keep nobody from calling."""
    if has_ceiling(bedside):
        outreach = f"; the {_critical_care(bedside)} is called for advice at the bedside"
        is_called = urgency is Urgency.EMERGENCY and not bedside.own_doctor
        what, it = ("wish", "wish") if is_wish_alone(bedside) else ("treatment ceiling", "ceiling")
        return (
            f"A {what} is recorded: a senior review is still advised, to decide what to do that "
            f"the {it} allows{outreach if is_called else ''}."
        )
    if is_not_for_resuscitation(bedside):
        return "Not for attempted resuscitation is recorded: that limits no other treatment."
    return ""


def _roles(bedside: Bedside, leading: Finding, urgency: Urgency) -> tuple[str, ...]:
    roles = bedside.choices.roles
    ward_doctor = bedside.own_doctor or roles.ward_doctor
    if KINDS[leading.kind].of_chart and urgency is Urgency.PROMPT:
        return (ward_doctor, roles.pharmacist)
    if bedside.own_doctor:
        return (bedside.own_doctor,)
    seniors = _seniors(bedside, urgency)
    if urgency is Urgency.EMERGENCY:
        # Outreach brings critical care to the bedside; a ceiling that rules it out is for the team.
        return (*seniors, _critical_care(bedside))
    if urgency is Urgency.URGENT:
        is_there = seniors == (roles.emergency_department,)
        return seniors if is_there else (ward_doctor, *seniors)
    return (ward_doctor,)


def _critical_care(bedside: Bedside) -> str:
    """Return who brings critical care: outreach sees no children, and comes to a birth at any age."""
    roles = bedside.choices.roles
    is_for_a_child = bedside.is_child and not bedside.is_pregnant_or_recently
    return roles.paediatric_critical_care if is_for_a_child else roles.critical_care


def _seniors(bedside: Bedside, urgency: Urgency) -> tuple[str, ...]:
    """Return who decides for this person: of a girl with child both who deliver and who know her age.

    Who operated is called first; in an emergency a physician as well, for a surgeon may be in theatre.
    """
    roles = bedside.choices.roles
    of_age = (roles.paediatric_senior,) if bedside.is_child else ()
    if bedside.is_pregnant_or_recently:
        return (roles.maternity_senior, *of_age)
    if of_age:
        return of_age
    if bedside.where is Whereabouts.EMERGENCY_DEPARTMENT:
        return (roles.emergency_department,)
    if not is_surgical(bedside.record, bedside.as_of):
        return (roles.senior,)
    return (roles.surgical_senior, *((roles.senior,) if urgency is Urgency.EMERGENCY else ()))


def _within(deadlines: Deadlines, urgency: Urgency) -> timedelta:
    if urgency is Urgency.EMERGENCY:
        return deadlines.emergency
    return deadlines.urgent if urgency is Urgency.URGENT else deadlines.prompt
