"""Findings that are neither a score nor a stage: DetectedIssues, with their evidence."""

from collections.abc import Iterator, Sequence
from typing import Final

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.frame.context import WritingContext, say, source_list, standing
from weatherglass.fhir.writing.frame.narrative import bullets, narrative, paragraph
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import SEVERITY, Json
from weatherglass.handover.lines import Line, Role
from weatherglass.handover.told import asks_for_a_look
from weatherglass.model.findings import Finding
from weatherglass.model.sources import Source

#: What to weigh first.
CAUTIONS: Final = frozenset({Role.CAUTION, Role.EVIDENCE})
#: What goes with a suggestion; by when to look again stands in a field of its own.
OF_A_SUGGESTION: Final = frozenset({Role.MONITOR, Role.RISK, Role.RESTART, Role.CHANGE, Role.RECOGNISED})


def write_detected_issue(context: WritingContext, finding: Finding) -> tuple[str, Json]:
    """Write a finding as a DetectedIssue with its name."""
    told = context.told(finding)
    uuid = context.uuid(finding, " ".join(told.orders))
    resource: Json = {
        "resourceType": "DetectedIssue",
        "extension": standing(context, finding),
        "identifier": context.identifier(uuid),
        "status": OUTPUTS["DetectedIssue"].open,
        "code": {
            "coding": [context.terms.coding("finding-kind", finding.kind.value)],
            "text": clean(finding.brief),
        },
        "severity": SEVERITY[finding.urgency],
        "patient": context.reference(context.patient),
        "identifiedDateTime": context.time(finding.at or context.as_of),
        "author": {"reference": context.device},
        "detail": clean(finding.sentence),
    }
    if told.orders:
        resource["implicated"] = [context.reference(order) for order in told.orders]
    said = [say(measure, context) for measure in finding.measures]
    evidence = [*_evidence(finding, said, context), *_steps(finding, context)]
    if evidence:
        resource["evidence"] = evidence
    if finding.sources:
        resource["reference"] = address_of(finding.sources[0])
    # Its numbers stand in the evidence, and what goes with a hold or a review in its Task.
    resource["text"] = narrative(
        paragraph(finding.sentence),
        bullets(f"{line.said} ({_place(context, line)})" for line in told.of(Role.STEP)),
        bullets(told.words((Role.MISSING,))),
        bullets(
            [
                *(f"{line.words} ({_place(context, line)})" for line in told.of(Role.WHY)),
                *(told.words(OF_A_SUGGESTION) if not asks_for_a_look(finding) else ()),
            ]
        ),
        bullets(told.words(CAUTIONS)),
        source_list(finding.sources),
    )
    return uuid, resource


def _place(context: WritingContext, line: Line) -> str:
    return context.cite(line.source) if line.source is not None else ""


def _evidence(finding: Finding, said: Sequence[str], context: WritingContext) -> list[Json]:
    """Return one entry a number in its words, then one for the inputs that carry no number of their own."""
    shown = set()
    evidence: list[Json] = []
    for measure, words in zip(finding.measures, said, strict=True):
        # The words are of this patient, so they are no display of the code, and nothing keeps them.
        entry: Json = {"code": [{"coding": [context.terms.coding("measure", measure.key)], "text": words}]}
        if measure.origin is not None:
            entry["detail"] = [context.reference(measure.origin)]
            shown.add(measure.origin)
        evidence.append(entry)
    rest = [context.reference(origin) for origin in finding.evidence if origin not in shown]
    if rest:
        evidence.append({"detail": rest})
    return evidence


def _steps(finding: Finding, context: WritingContext) -> Iterator[Json]:
    """Return one entry a step of the working, with the inputs it names."""
    for step in finding.steps:
        coding = context.terms.coding("measure", step.key)
        entry: Json = {"code": [{"coding": [coding], "text": clean(step.said)}]}
        named = dict.fromkeys(m.origin for m in step.measures if m.origin is not None)
        if named:
            entry["detail"] = [context.reference(origin) for origin in named]
        yield entry


def address_of(source: Source) -> str:
    """Return the address of a publication, or a name for it when it has none."""
    return source.address or f"urn:weatherglass:source:{source.key}"
