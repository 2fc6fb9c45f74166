"""Findings that are neither a score nor a stage: DetectedIssues, with their evidence."""

from weatherglass.clinical.findings import Finding, MedicineFinding
from weatherglass.clinical.sources import Source
from weatherglass.fhir.writing.narrative import bullets, clean, narrative, paragraph
from weatherglass.fhir.writing.sheet import Sheet, printed_at, reference, say, standing
from weatherglass.fhir.writing.terms import KIND_WORDS, SEVERITY, Json


def write_detected_issue(sheet: Sheet, finding: Finding) -> tuple[str, Json]:
    """Write a finding as a DetectedIssue with its name."""
    edition = finding.order if isinstance(finding, MedicineFinding) else ""
    uuid = sheet.uuid(finding, edition)
    resource: Json = {
        "resourceType": "DetectedIssue",
        "extension": standing(sheet, finding),
        "identifier": sheet.identifier(uuid),
        "status": "preliminary",
        "code": {
            "coding": [sheet.terms.coding("finding-kind", finding.kind.value, KIND_WORDS[finding.kind])],
            "text": clean(finding.key.replace("-", " ")),
        },
        "severity": SEVERITY[finding.urgency],
        "patient": reference(sheet.patient),
        "identifiedDateTime": sheet.time(finding.at or sheet.as_of),
        "author": {"reference": sheet.device},
        "detail": clean(finding.sentence),
    }
    if isinstance(finding, MedicineFinding):
        resource["implicated"] = [reference(finding.order)]
    evidence = _evidence(sheet, finding)
    if evidence:
        resource["evidence"] = evidence
    if finding.sources:
        resource["reference"] = address_of(finding.sources[0])
    resource["text"] = narrative(
        paragraph(finding.sentence),
        bullets(say(measure, sheet) for measure in finding.measures),
        bullets(f"Missing: {gap.label} ({gap.reason.value})" for gap in finding.missing),
        bullets(finding.cautions),
        bullets(f"Source: {printed_at(source)}" for source in dict.fromkeys(finding.sources)),
    )
    return uuid, resource


def _evidence(sheet: Sheet, finding: Finding) -> list[Json]:
    """Return one entry a number, then one for the inputs that carry no number of their own."""
    shown = set()
    evidence: list[Json] = []
    for measure in finding.measures:
        entry: Json = {
            "code": [sheet.terms.concept("measure", measure.key, say(measure, sheet))],
        }
        if measure.origin is not None:
            entry["detail"] = [reference(measure.origin)]
            shown.add(measure.origin)
        evidence.append(entry)
    rest = [reference(origin) for origin in finding.evidence if origin not in shown]
    if rest:
        evidence.append({"detail": rest})
    return evidence


def address_of(source: Source) -> str:
    """Return the address of a publication, or a name for it when it has none."""
    return source.address or f"urn:weatherglass:source:{source.key}"
