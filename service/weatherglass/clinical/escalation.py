"""Whom to call and by when: roles of the site's policy, deadlines of the publications."""

from collections.abc import Sequence
from datetime import timedelta

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.ceiling import has_ceiling, is_end_of_life, is_not_for_resuscitation
from weatherglass.clinical.findings import Escalation, Finding, Kind, State, Urgency, rank_of, stands_beside
from weatherglass.clinical.local_choices import Deadlines


def leading_finding(findings: Sequence[Finding]) -> Finding | None:
    """Return the finding that sets the urgency; None when everything is routine.

    A score speaks for the whole patient, so it leads among equals; what is wrong comes
    before what to do about the chart; a settling finding does not lead.
    """
    pressing = [f for f in findings if f.state is not State.SETTLING and f.urgency is not Urgency.ROUTINE]
    if not pressing:
        return None
    return min(pressing, key=_precedence)


_ABOUT_THE_CHART = frozenset({Kind.MEDICINE, Kind.MEDICINE_INTERACTION, Kind.MEDICINE_RESTART})


def _precedence(finding: Finding) -> tuple[object, ...]:
    return (
        -finding.urgency,
        stands_beside(finding),
        finding.kind is not Kind.SCORE,
        finding.kind in _ABOUT_THE_CHART,
        finding.kind,
        rank_of(finding),
        finding.key,
    )


def escalate(bedside: Bedside, leading: Finding) -> Escalation:
    """Say whom to call, by when, and which rule decided."""
    urgency = leading.urgency
    within = _within(bedside.choices.deadlines, urgency)
    besides = _besides(bedside, urgency)
    return Escalation(
        urgency=urgency,
        roles=_roles(bedside, leading, urgency),
        within=within,
        due=bedside.as_of + within,
        reason=f"{leading.sentence} {besides}".rstrip(),
        decided_by=leading.decided_by,
        because=leading,
        besides=besides,
    )


def _besides(bedside: Bedside, urgency: Urgency) -> str:
    """Say what the call has to reckon with, in words that keep nobody from calling."""
    if is_end_of_life(bedside):
        return "End-of-life care is recorded: the score is for information; look to comfort first."
    if has_ceiling(bedside):
        outreach = f"; the {bedside.choices.roles.critical_care} is called for advice at the bedside"
        return (
            "A treatment ceiling is recorded: a senior review is still advised, to decide what to do that "
            f"the ceiling allows{outreach if urgency is Urgency.EMERGENCY else ''}."
        )
    if is_not_for_resuscitation(bedside):
        return "Not for attempted resuscitation is recorded: that limits no other treatment."
    return ""


def _roles(bedside: Bedside, leading: Finding, urgency: Urgency) -> tuple[str, ...]:
    roles = bedside.choices.roles
    if leading.kind in (Kind.MEDICINE, Kind.MEDICINE_INTERACTION) and urgency is Urgency.PROMPT:
        return (roles.ward_doctor, roles.pharmacist)
    senior = roles.senior
    if bedside.age is not None and bedside.age < 16:
        senior = roles.paediatric_senior
    elif bedside.is_pregnant_or_recently:
        senior = roles.maternity_senior
    if urgency is Urgency.EMERGENCY:
        # Outreach brings critical care to the bedside; a ceiling that rules it out is for the team.
        return (senior,) if is_end_of_life(bedside) else (senior, roles.critical_care)
    if urgency is Urgency.URGENT:
        return (roles.ward_doctor, senior)
    return (roles.ward_doctor,)


def _within(deadlines: Deadlines, urgency: Urgency) -> timedelta:
    if urgency is Urgency.EMERGENCY:
        return deadlines.emergency
    return deadlines.urgent if urgency is Urgency.URGENT else deadlines.prompt
