"""A score told in further Observations: its sub-scores one by one, and its own past."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from weatherglass.fhir.writing.frame.context import WritingContext, derived_from, quantity
from weatherglass.fhir.writing.frame.identity import finding_uuid, uuid_of
from weatherglass.fhir.writing.frame.narrative import narrative, paragraph
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.fhir.writing.observation import (
    SURVEY,
    result_of,
    score_code,
    sub_score_code,
    sub_score_value,
)
from weatherglass.model.findings import ScoreFinding, ScorePart, ScorePoint
from weatherglass.model.numbers.quantities import Unit

#: How far back the past is written out, and how many points at most: ours, so that an
#: answer stays in proportion to its question.
HISTORY_WINDOW = timedelta(hours=72)
HISTORY_POINTS = 200


def write_members(context: WritingContext, finding: ScoreFinding, total: str) -> Iterator[tuple[str, Json]]:
    """Write each sub-score of a score as an Observation of its own.

    Args:
        context: The patient's context.
        finding: The score.
        total: UUID of the score's own Observation, from which the names are derived.
    """
    for part in finding.parts:
        uuid = context.once(uuid_of(total, "sub-score", part.key))
        resource = _observation(context, uuid, finding, "preliminary" if finding.provisional else "final")
        resource["code"] = sub_score_code(context, finding.key, part)
        resource["effectiveDateTime"] = context.time(finding.at or context.as_of)
        resource.update(sub_score_value(part))
        inputs = derived_from(context, dict.fromkeys(m.origin for m in part.measured if m.origin is not None))
        if inputs:
            resource["derivedFrom"] = inputs
        resource["text"] = narrative(paragraph(_said(finding, part)))
        yield uuid, resource


def _said(finding: ScoreFinding, part: ScorePart) -> str:
    points = "no points: missing" if part.points is None else f"{part.points} points"
    return f"{finding.name}, {part.label} {part.shown}: {points}."


def write_history(context: WritingContext, finding: ScoreFinding) -> Iterator[tuple[str, Json]]:
    """Write the past of a score, oldest first, leaving out what the answer already shows.

    A point has the name that its own round would be given in a review of that moment.
    """
    earliest = context.as_of - HISTORY_WINDOW
    recent = [point for point in finding.history if point.at >= earliest][-HISTORY_POINTS:]
    for point in recent:
        uuid = finding_uuid(
            context.patient,
            finding.kind,
            finding.key,
            finding.edition,
            point.at.isoformat(),
            point.evidence,
        )
        if not context.has(uuid):
            yield context.once(uuid), _point(context, finding, point, uuid)


def _point(context: WritingContext, finding: ScoreFinding, point: ScorePoint, uuid: str) -> Json:
    resource = _observation(context, uuid, finding, "final")
    resource["code"] = score_code(context, finding.key)
    resource["effectiveDateTime"] = context.time(point.at)
    resource.update(result_of(point, finding.unit))
    if point.tier:
        resource["interpretation"] = [{"text": point.tier}]
    inputs = derived_from(context, point.evidence)
    if inputs:
        resource["derivedFrom"] = inputs
    if len(point.parts) == len(finding.parts):
        components = [
            {
                "code": sub_score_code(context, finding.key, part),
                "valueQuantity": quantity(Decimal(points), Unit.SCORE.value),
            }
            for part, points in zip(finding.parts, point.parts, strict=True)
            if points is not None
        ]
        if components:
            resource["component"] = components
    shown = f"{point.lowest} to {point.highest}, incomplete"
    if point.total is not None or point.value is not None:
        shown = str(point.total if point.value is None else point.value)
    resource["text"] = narrative(paragraph(f"{finding.name} {shown} at {context.clock(point.at)}."))
    return resource


def _observation(context: WritingContext, uuid: str, finding: ScoreFinding, status: str) -> Json:
    return {
        "resourceType": "Observation",
        "identifier": context.identifier(uuid),
        "status": status,
        "category": SURVEY,
        "subject": context.reference(context.patient),
        "issued": context.instant(context.as_of),
        "method": {"text": finding.edition},
        "device": {"reference": context.device},
    }
