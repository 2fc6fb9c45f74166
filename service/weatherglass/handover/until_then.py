"""What is done at the bedside until somebody comes, worked out once for page, text, cards and call.

Ours: what is done beyond staying, measuring and what a finding brings for this moment (a transfusion
is stopped) is for the ward and its own protocols.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Final

from weatherglass.model.findings import Finding, Kind, ScoreFinding, is_pressing
from weatherglass.model.review import Escalation
from weatherglass.model.words.lists import said_once

TAKE_A_SET: Final = "Take a full set of observations now."
LOOK_AGAIN: Final = "Observations again by the time the team arrives, sooner if anything changes."
#: Ours: who is called within this time is not left alone.
_STAYED_WITH: Final = timedelta(minutes=30)
#: Ours: a round with so many signs left out is taken again, whole, while somebody is on the way.
_LEFT_OUT: Final = 2


def at_bedside(
    findings: Sequence[Finding],
    lead: ScoreFinding | None,
    escalation: Escalation | None,
    *,
    wants_a_set: bool,
) -> str:
    """Say what to do at the bedside until somebody comes; empty where nobody is called and all is known.

    Args:
        findings: All of them, in order.
        lead: The score that stands for now.
        escalation: Whom to call; None when nobody.
        wants_a_set: Whether nobody knows how the patient is before the signs are measured.
    """
    if escalation is None:
        return TAKE_A_SET if wants_a_set else ""
    if escalation.is_arrest:
        return ""
    return " ".join(_until_then(findings, lead, escalation, wants_a_set=wants_a_set))


def _until_then(
    findings: Sequence[Finding], lead: ScoreFinding | None, escalation: Escalation, *, wants_a_set: bool
) -> Iterator[str]:
    yield from done_at_once(findings, escalation)
    if escalation.within <= _STAYED_WITH:
        yield "Stay with the patient."
    observing = monitoring_until(lead, escalation)
    if observing:
        yield f"Observations: {observing}."
    elif wants_a_set or _is_half_known(lead) or escalation.because.kind is Kind.OBSERVATIONS_OVERDUE:
        yield TAKE_A_SET


def done_at_once(findings: Sequence[Finding], escalation: Escalation) -> Iterator[str]:
    """Yield what the findings themselves bring for this moment, in a sentence each, the most urgent first."""
    pressing = (one for one in findings if one.at_once and is_pressing(one))
    in_order = sorted(pressing, key=lambda one: (-one.urgency, one is not escalation.because))
    yield from (f"{line}." for line in said_once(one.at_once for one in in_order))


def _is_half_known(lead: ScoreFinding | None) -> bool:
    """Tell whether the round that speaks for now has left out more than one sign."""
    return lead is not None and lead.total is None and len(lead.unknown) >= _LEFT_OUT


def monitoring_until(lead: ScoreFinding | None, escalation: Escalation) -> str:
    """Return how the leading score asks to observe until somebody comes.

    Empty where it did not decide the call and asks for less than the call does.
    """
    if lead is None or not lead.monitoring:
        return ""
    interval = lead.monitoring_interval
    is_near = interval is not None and interval <= escalation.within
    return lead.monitoring if escalation.because is lead or is_near else ""
