"""The handover as a document Bundle: Situation, Background, Assessment, Recommendation."""

from collections.abc import Sequence

from weatherglass.fhir.issues import Issue
from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.bundle import context_of, entry, write_review
from weatherglass.fhir.writing.frame.context import WritingContext
from weatherglass.fhir.writing.frame.detail import Stamp
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.labels import confidentiality_of, label
from weatherglass.fhir.writing.frame.narrative import bullets, narrative, paragraph
from weatherglass.fhir.writing.frame.terms import IDENTIFIER_SYSTEM, INPUT_SYSTEM, Json, Terms, standard
from weatherglass.fhir.writing.outcome import write_outcome
from weatherglass.fhir.writing.provenance import write_device
from weatherglass.model.review import Review
from weatherglass.model.subject import Sex
from weatherglass.model.words.person_words import birth, numbered

_LOINC = "http://loinc.org"
#: The sections of a handover, in the order in which they are read out.
SECTIONS = {
    "situation": "Situation",
    "background": "Background",
    "assessment": "Assessment",
    "recommendation": "Recommendation",
    "not-used": "What was not used",
}
_SUMMARY_OF_EPISODE = standard(_LOINC, "34133-9", "Summary of episode note")


def write_handover(review: Review, issues: Sequence[Issue], stamp: Stamp) -> Json:
    """Write one patient's handover as a Bundle of type document.

    Everything the document refers to is in it: the patient, the software, the results
    and the report on what was not used. References to the patient point inside; the
    inputs stay with the sender and are named, not pointed to, so that nothing dangles.
    """
    terms = Terms(stamp.code_base)
    device_uuid, device = write_device(stamp.software, stamp.rules)
    device_url = f"urn:uuid:{device_uuid}"
    context = context_of(review, device_url, terms)
    patient_uuid = uuid_of("patient", context.patient)
    results = write_review(review, device_url, terms)
    outcome_uuid = uuid_of("outcome", context.patient, *(f"{i.path} {i.text}" for i in issues))
    uuid = uuid_of("handover", context.patient, context.as_of.isoformat(), *(r["fullUrl"] for r in results))
    outcome_url = f"urn:uuid:{outcome_uuid}"
    composition = _composition(review, context, uuid, [r["fullUrl"] for r in results], outcome_url)
    entries = [
        entry(uuid, composition),
        entry(patient_uuid, _patient(review)),
        entry(device_uuid, device),
        *results,
        entry(outcome_uuid, write_outcome(issues, terms)),
    ]
    inside = {each["fullUrl"]: each["fullUrl"] for each in entries}
    _settle_references(entries, {**inside, context.patient: f"urn:uuid:{patient_uuid}"})
    document: Json = {
        "resourceType": "Bundle",
        "identifier": {"system": IDENTIFIER_SYSTEM, "value": uuid},
        "type": "document",
        "timestamp": context.instant(context.as_of),
        "entry": entries,
    }
    label([document, composition, entries[1]["resource"]], review.labels)
    return document


def _composition(
    review: Review, context: WritingContext, uuid: str, results: Sequence[str], outcome: str
) -> Json:
    handover = review.handover
    sections = [
        _section(context, "situation", handover.situation, ()),
        _section(context, "background", handover.background, ()),
        _section(context, "assessment", handover.assessment, results),
        _section(context, "recommendation", (*handover.recommendation, *review.cautions), ()),
        _section(
            context,
            "not-used",
            ("Inputs that could not be used, with the reason.",),
            (outcome,),
        ),
    ]
    degree = confidentiality_of(review.labels)
    return {
        "resourceType": "Composition",
        "identifier": {"system": IDENTIFIER_SYSTEM, "value": uuid},
        "status": "preliminary",
        "type": {"coding": [_SUMMARY_OF_EPISODE], "text": "Clinical handover"},
        "subject": {"reference": context.patient},
        "date": context.instant(context.as_of),
        "author": [{"reference": context.device}],
        "title": "Draft handover: check before it is given",
        **({"confidentiality": degree} if degree else {}),
        "text": narrative(
            paragraph(review.headline),
            paragraph(f"As of {context.dated(context.as_of)}. {review.data_age}".rstrip()),
            paragraph("The call in a minute:") if review.handover.spoken else "",
            bullets(review.handover.spoken),
        ),
        "section": sections,
    }


def _section(context: WritingContext, code: str, sentences: Sequence[str], entries: Sequence[str]) -> Json:
    title = SECTIONS[code]
    section: Json = {
        "title": title,
        "code": context.terms.concept("handover-section", code, title),
        "text": narrative(bullets(sentences) or paragraph("Not recorded.")),
    }
    if entries:
        section["entry"] = [{"reference": url} for url in entries]
    return section


def _patient(review: Review) -> Json:
    subject = review.subject
    patient: Json = {"resourceType": "Patient", "identifier": [named_in_request(subject.origin)]}
    if subject.number:
        patient["identifier"].append({"type": {"text": "Hospital number"}, "value": subject.number})
    if subject.name:
        patient["name"] = [{"text": clean(subject.name)}]
    if subject.sex in (Sex.FEMALE, Sex.MALE, Sex.OTHER):
        patient["gender"] = subject.sex.value
    if subject.born is not None:
        patient["birthDate"] = (
            subject.born.isoformat() if subject.born_exactly else f"{subject.born.year:04d}"
        )
    name = subject.name or "Name not recorded"
    patient["text"] = narrative(paragraph(f"{name}, {birth(subject)}, {numbered(subject)}"))
    return patient


def named_in_request(origin: str) -> Json:
    """Return the name that the request has for something, as an identifier."""
    system = "urn:ietf:rfc:3986" if origin.startswith(("urn:", "http:", "https:")) else INPUT_SYSTEM
    return {"system": system, "value": clean(origin)}


def _settle_references(node: object, inside: dict[str, str]) -> None:
    """Point to what is in the document, and name what is not."""
    if isinstance(node, dict):
        target = node.get("reference")
        if isinstance(target, str) and "resourceType" not in node:
            if target in inside:
                node["reference"] = inside[target]
            else:
                del node["reference"]
                node["identifier"] = named_in_request(target)
                node["display"] = target
        for value in node.values():
            _settle_references(value, inside)
    elif isinstance(node, list):
        for value in node:
            _settle_references(value, inside)
