"""Which medicine a chart's resource is about: coded in place, contained, or referred to."""

import msgspec
from msgspec import Raw

from weatherglass.clinical.record import MatchMethod, Medicine
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import CodeableConcept, Reference
from weatherglass.fhir.reading.concept_words import text_of
from weatherglass.fhir.reading.intake import Gathered, Intake, Place
from weatherglass.fhir.reading.medicine_identity import identify
from weatherglass.fhir.safe_text import one_line


def medicine_of(
    intake: Intake,
    gathered: Gathered,
    place: Place,
    concept: CodeableConcept | None,
    reference: Reference | None,
    contained: tuple[Raw, ...],
) -> Medicine | None:
    """Recognise the medicine of one resource; an issue when it is unknown, None when unnamed."""
    concepts: list[CodeableConcept] = [concept] if concept is not None else []
    shown = text_of(concept)
    if reference is not None:
        shown = shown or one_line(reference.display or "")
        medication = _referred(intake, reference, contained, place.full_url)
        if medication is None and reference.reference:
            intake.note(
                Severity.WARNING,
                IssueKey.REFERENCE_NOT_FOUND,
                f"{place.path}.medicationReference",
                "The Medication is not in the request; it was recognised by its display text only.",
                gathered.key,
            )
        if medication is not None:
            if medication.code is not None:
                concepts.append(medication.code)
            shown = text_of(medication.code) or shown
            concepts.extend(i.itemCodeableConcept for i in medication.ingredient if i.itemCodeableConcept)
    codes = [(c.system or "", c.code) for each in concepts for c in each.coding if c.code]
    texts = [t for each in concepts for t in (each.text, *(c.display for c in each.coding)) if t]
    if reference is not None and reference.display:
        texts.append(reference.display)
    if not codes and not texts:
        intake.note(
            Severity.WARNING,
            IssueKey.MISSING_ELEMENT,
            f"{place.path}.medicationCodeableConcept",
            "The medicine is not named, so it was not reviewed; send a code or its generic name.",
            gathered.key,
        )
        return None
    identity = identify(codes, texts)
    if identity.method is MatchMethod.NONE:
        intake.note(
            Severity.WARNING,
            IssueKey.MEDICINE_NOT_RECOGNISED,
            f"{place.path}.medicationCodeableConcept",
            "The medicine was not recognised and is listed as not reviewed; send an ATC, RxNorm or "
            "SNOMED CT ingredient code, or the generic name.",
            gathered.key,
        )
    return Medicine(
        text=shown or (texts[0] if texts else "medicine without a name"),
        ingredients=identity.ingredients,
        classes=frozenset(c.value for c in identity.classes),
        method=identity.method,
        route_hint=identity.route_hint,
        also_named=identity.also_named,
    )


def _referred(
    intake: Intake, reference: Reference, contained: tuple[Raw, ...], full_url: str | None
) -> r4.Medication | None:
    name = reference.reference or ""
    if name.startswith("#"):
        for raw in contained:
            try:
                medication = r4.decode(raw, r4.Medication)
            except (msgspec.MsgspecError, RecursionError):
                continue
            if medication.id == name[1:]:
                return medication
        return None
    shelved = intake.find(intake.shelf.medications, name, full_url)
    return shelved.resource if shelved is not None else None
