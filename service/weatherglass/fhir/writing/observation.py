"""Scores and stages as Observations: the total, its parts, its inputs, its software."""

from collections.abc import Callable, Iterable
from decimal import Decimal

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.frame.context import (
    WritingContext,
    derived_from,
    quantity,
    say,
    source_list,
    standing,
)
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.narrative import bullets, narrative, paragraph, table
from weatherglass.fhir.writing.frame.terms import (
    AKI_STAGE_WORDS,
    DATA_ABSENT,
    MEASURE_NAMES,
    OBSERVATION_CATEGORY,
    SCORE_NAMES,
    SNOMED,
    SNOMED_SCORES,
    SNOMED_SUB_SCORES,
    Json,
    standard,
)
from weatherglass.handover.lines import Role
from weatherglass.model.findings import (
    AkiFinding,
    Finding,
    Measure,
    MissingReason,
    ScoreFinding,
    ScorePart,
    ScorePoint,
)
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.review import Review

SURVEY = [{"coding": [standard(OBSERVATION_CATEGORY, "survey")]}]
_LABORATORY = [{"coding": [standard(OBSERVATION_CATEGORY, "laboratory")]}]
_NOT_APPLICABLE = {"coding": [standard(DATA_ABSENT, "not-applicable")]}
_UNKNOWN = {"coding": [standard(DATA_ABSENT, "unknown")]}
#: How FHIR names our reasons for a missing row.
_ABSENT = {
    MissingReason.NOT_RECORDED: "not-performed",
    MissingReason.NOT_READ: "error",
    MissingReason.ONE_SIDED: "unsupported",
    MissingReason.CONFLICTING: "unknown",
    MissingReason.IMPLAUSIBLE: "error",
    MissingReason.UNKNOWN_OXYGEN: "unknown",
    MissingReason.UNKNOWN_AMOUNT: "unknown",
}


def write_score(context: WritingContext, finding: ScoreFinding, *, members: bool = False) -> tuple[str, Json]:
    """Write a score of one round as an Observation with its name.

    Args:
        context: The patient's context.
        finding: The score.
        members: Leave the sub-scores out, because they become Observations of their own.
    """
    uuid = context.uuid(finding, finding.edition)
    resource = _start(context, finding, uuid, finding.key, SURVEY)
    resource["method"] = method_of(finding)
    if finding.not_applicable:
        resource["dataAbsentReason"] = {**_NOT_APPLICABLE, "text": finding.not_applicable}
    else:
        resource.update(result_of(finding, finding.unit))
        if finding.tier:
            resource["interpretation"] = [{"text": finding.tier}]
    components = []
    if not members:
        components = [
            {"code": sub_score_code(context, finding.key, part), **sub_score_value(part)}
            for part in finding.parts
        ]
    if finding.total is None and finding.parts:
        if "valueQuantity" not in resource:  # Else it is the lowest possible total.
            components.append(_bound(context, "lowest-possible", "lowest possible total", finding.lowest))
        components.append(_bound(context, "highest-possible", "highest possible total", finding.highest))
    if components:
        resource["component"] = components
    _tell(
        resource,
        context,
        finding,
        lambda: table(("Parameter", "Value", "Points"), _part_rows(finding)) if finding.parts else "",
    )
    return uuid, resource


def method_of(finding: ScoreFinding) -> Json:
    """Return by which edition of a score, and which variant of it, the total was counted."""
    return {"text": ", ".join(filter(None, (finding.edition, finding.variant)))}


#: What is missing stands in the components.
_NOTES = (Role.ASKED, Role.OBSERVE, Role.CAUTION)


def _tell(
    resource: Json, context: WritingContext, finding: ScoreFinding | AkiFinding, rows: Callable[[], str]
) -> None:
    """Write the notes, and the narrative: the sentence, and in full its rows and publications."""
    notes = list(context.told(finding).words(_NOTES))
    if notes:
        resource["note"] = [{"text": clean(note)} for note in notes]
    said = paragraph(finding.sentence)
    more = () if context.is_brief else (rows(), source_list(finding.sources))
    resource["text"] = narrative(said, *more)


def result_of(scored: ScoreFinding | ScorePoint, unit: Unit) -> Json:
    """Return the total or quotient, or the lowest possible total where a row is missing."""
    if scored.value is not None:
        return {"valueQuantity": quantity(scored.value, unit.value)}
    if unit is not Unit.SCORE:
        return {"dataAbsentReason": _UNKNOWN}
    if scored.total is not None:
        return {"valueQuantity": quantity(Decimal(scored.total), unit.value)}
    return {"valueQuantity": {**quantity(Decimal(scored.lowest), unit.value), "comparator": ">="}}


def _part_rows(finding: ScoreFinding) -> list[tuple[str, str, str]]:
    return [
        (part.label, part.shown, str(part.points) if part.points is not None else _open(part))
        for part in finding.parts
    ]


def _open(part: ScorePart) -> str:
    return f"missing ({part.lowest} to {part.highest})"


def sub_score_code(context: WritingContext, score: str, part: ScorePart) -> Json:
    """Return the code of a sub-score."""
    code = f"{score}-{part.key}"
    coding = [context.terms.coding("sub-score", code)]
    if code in SNOMED_SUB_SCORES:
        coding.append(standard(SNOMED, SNOMED_SUB_SCORES[code]))
    return {"coding": coding, "text": part.label}


def sub_score_value(part: ScorePart) -> Json:
    """Return the points of a sub-score, or why there are none."""
    if part.points is not None:
        return {"valueQuantity": quantity(Decimal(part.points), Unit.SCORE.value)}
    reason = part.missing.reason if part.missing is not None else MissingReason.NOT_RECORDED
    return {"dataAbsentReason": {"coding": [standard(DATA_ABSENT, _ABSENT[reason])], "text": reason.value}}


def _bound(context: WritingContext, code: str, label: str, total: int) -> Json:
    return {
        "code": context.terms.concept("measure", code, label),
        "valueQuantity": quantity(Decimal(total), Unit.SCORE.value),
    }


def write_aki(context: WritingContext, finding: AkiFinding) -> tuple[str, Json]:
    """Write a stage of acute kidney injury as an Observation with its name."""
    uuid = context.uuid(finding, finding.criterion)
    resource = _start(context, finding, uuid, finding.criterion, _LABORATORY)
    if finding.stage is None:
        resource["dataAbsentReason"] = {**_UNKNOWN, "text": finding.not_assessed}
    else:
        resource["valueCodeableConcept"] = context.terms.concept(
            "aki-stage", str(finding.stage), AKI_STAGE_WORDS[finding.stage]
        )
    if finding.sources:
        resource["method"] = {"text": finding.sources[0].key}
    components = [_measure_component(context, m) for m in finding.measures if m.key != "creatinine"]
    if finding.flag:
        components.append(
            {
                "code": context.terms.concept("measure", "laboratory-flag", MEASURE_NAMES["laboratory-flag"]),
                "valueString": finding.flag,
            }
        )
    if components:
        resource["component"] = components
    _tell(resource, context, finding, lambda: bullets(say(measure, context) for measure in finding.measures))
    return uuid, resource


def _measure_component(context: WritingContext, measure: Measure) -> Json:
    component: Json = {"code": context.terms.concept("measure", measure.key, measure.label)}
    if isinstance(measure.value, str):
        component["valueString"] = clean(measure.value)
    else:
        component["valueQuantity"] = quantity(
            measure.value, measure.unit.value if measure.unit is not None else "1"
        )
    return component


def write_urgency(context: WritingContext, review: Review, beside: Iterable[str] = ()) -> tuple[str, Json]:
    """Write the one-sentence summary of a review as an Observation with its name.

    Args:
        context: The patient's context.
        review: The review.
        beside: Ready blocks that the narrative ends with.
    """
    at = context.instant(review.as_of) if review.as_of is not None else context.instant(context.as_of)
    uuid = uuid_of(context.patient, "review-urgency", at)
    word = review.urgency.word
    said = (*review.ceiling, *review.unread, review.until_then, review.data_age, *review.cautions)
    notes = list(filter(None, said))
    resource: Json = {
        "resourceType": "Observation",
        "identifier": context.identifier(uuid),
        "status": "final",
        "category": SURVEY,
        "code": context.terms.concept("score", "review-urgency", SCORE_NAMES["review-urgency"]),
        "subject": context.reference(context.patient),
        "effectiveDateTime": at,
        "issued": at,
        "valueCodeableConcept": {
            "coding": [context.terms.coding("urgency", word)],
            "text": clean(review.headline),
        },
        "device": {"reference": context.device},
    }
    if not context.is_brief:
        resource["text"] = narrative(paragraph(f"Urgency of review: {word}. {review.headline}"), *beside)
    if notes:
        resource["note"] = [{"text": clean(note)} for note in notes]
    return uuid, resource


def score_code(context: WritingContext, code: str) -> Json:
    """Return the code of a score or stage."""
    name = SCORE_NAMES.get(code, code)
    coding = [context.terms.coding("score", code)]
    if code in SNOMED_SCORES:
        coding.append(standard(SNOMED, SNOMED_SCORES[code]))
    return {"coding": coding, "text": name}


def _start(context: WritingContext, finding: Finding, uuid: str, code: str, category: list[Json]) -> Json:
    resource: Json = {
        "resourceType": "Observation",
        "extension": standing(context, finding),
        "identifier": context.identifier(uuid),
        "status": "preliminary" if finding.provisional else "final",
        "category": category,
        "code": score_code(context, code),
        "subject": context.reference(context.patient),
        "effectiveDateTime": context.time(finding.at or context.as_of),
        "issued": context.instant(context.as_of),
        "device": {"reference": context.device},
    }
    inputs = derived_from(context, finding.evidence)
    if inputs:
        resource["derivedFrom"] = inputs
    return resource
