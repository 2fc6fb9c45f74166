"""Whom to call and by when, as a CommunicationRequest: an alert to a role, not a person."""

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.frame.context import WritingContext
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import COMMUNICATION_CATEGORY, PRIORITY, Json, standard
from weatherglass.model.review import Escalation
from weatherglass.model.words.call_words import call_line


def write_communication_request(
    context: WritingContext, escalation: Escalation, *, about: str, reason: str
) -> tuple[str, Json]:
    """Write the request to call somebody.

    Args:
        context: The patient's context.
        escalation: Whom to call, by when.
        about: Full URL of the finding that asks for it.
        reason: Full URL of the Observation that sums the review up.
    """
    uuid = uuid_of(about, "escalation", escalation.urgency.word)
    # The moment alone: how long ago it passed is another with every look.
    by = "now" if escalation.is_undated else f"by {context.words.full(escalation.due)}"
    if escalation.answered:
        by = f"for a review: {escalation.answered}; it was first due {by}"
    call = f"Call: {', '.join(escalation.roles)}, {by}."
    words = f"{escalation.reason} {call_line(escalation, context.words) if escalation.is_arrest else call}"
    resource: Json = {
        "resourceType": "CommunicationRequest",
        "identifier": context.identifier(uuid),
        "status": OUTPUTS["CommunicationRequest"].open,
        "category": [{"coding": [standard(COMMUNICATION_CATEGORY, "alert")]}],
        "priority": PRIORITY[escalation.urgency],
        "subject": context.reference(context.patient),
        "about": [{"reference": about}],
        "payload": [{"contentString": clean(words)}],
        # From when the reason began: looking again moves neither end.
        "occurrencePeriod": _period(context, escalation),
        "authoredOn": context.instant(context.as_of),
        "requester": {"reference": context.device},
        "recipient": [{"display": role} for role in escalation.roles],
        "reasonReference": [{"reference": reason}],
        "note": [{"text": clean(f"Decided by: {escalation.decided_by}.")}],
    }
    return uuid, resource


def _period(context: WritingContext, escalation: Escalation) -> Json:
    """Return from when to when somebody is to be called; where no time is recorded, from now."""
    begins = {"start": context.instant(escalation.began)}
    return begins if escalation.is_undated else {**begins, "end": context.instant(escalation.due)}
