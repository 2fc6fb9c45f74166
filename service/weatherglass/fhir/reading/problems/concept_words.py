"""What a concept says to a reader, and what it is as a status."""

from weatherglass.fhir.r4 import CodeableConcept
from weatherglass.fhir.safe_text import one_line


def text_of(concept: CodeableConcept | None) -> str:
    """Return the words of a concept: its text, or else its first display."""
    if concept is None:
        return ""
    shown = concept.text or next((c.display for c in concept.coding if c.display), "")
    return one_line(shown)


def status_of(concept: CodeableConcept | None) -> str:
    """Return a status that FHIR writes as a concept: its first code, or else its text."""
    if concept is None:
        return ""
    return next((c.code for c in concept.coding if c.code), (concept.text or "").casefold())
