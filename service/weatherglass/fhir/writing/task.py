"""A suggested hold or review of a medicine as a Task: a proposal, never an order."""

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.detected_issue import CAUTIONS, OF_A_SUGGESTION
from weatherglass.fhir.writing.frame.context import WritingContext
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import PRIORITY, TASK_CODE, Json, standard
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.model.medicine_findings import MedicineFinding

_DECISIONS = "urn:weatherglass:decision"


def write_task(context: WritingContext, finding: MedicineFinding, issue: str) -> tuple[str, Json]:
    """Write the Task of a suggestion; `issue` is the full URL of its DetectedIssue."""
    # While what speaks for a hold is still there, its plan is asked for and not its end.
    row = ACTIONS[Action.REVIEW if finding.hold_stands else finding.action]
    uuid = uuid_of(issue, "task", finding.action)
    told = context.told(finding)
    notes = [*told.words(CAUTIONS), *told.words(OF_A_SUGGESTION)]
    asks = "Is there a plan for its restart?" if finding.hold_stands else row.label
    resource: Json = {
        "resourceType": "Task",
        "identifier": context.identifier(uuid),
        "status": OUTPUTS["Task"].open,
        "intent": "proposal",
        "priority": PRIORITY[finding.urgency],
        "code": {"coding": [standard(TASK_CODE, row.task)], "text": asks},
        "description": clean(finding.sentence),
        "focus": context.reference(finding.order),
        "for": context.reference(context.patient),
        "authoredOn": context.instant(context.as_of),
        "requester": {"reference": context.device},
        "reasonReference": {"reference": issue},
    }
    if notes:
        resource["note"] = [{"text": clean(note)} for note in notes]
    if finding.decision is not None and not finding.hold_stands:
        # Tasks that are one decision share this; a reader who wants one line takes them together.
        asks, because, besides, urgency = finding.decision
        group = uuid_of(context.patient, "decision", asks, *because, *besides, urgency.word)
        resource["groupIdentifier"] = {"system": _DECISIONS, "value": group}
    if finding.review_by is not None:
        resource["restriction"] = {"period": {"end": context.instant(finding.review_by)}}
    return uuid, resource
