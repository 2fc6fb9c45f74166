"""What a concept says to a reader, in words and in codes, and what it is as a status."""

from collections.abc import Iterable
from typing import TypeVar

from weatherglass.fhir.datatypes import CodeableConcept
from weatherglass.fhir.safe_text import one_line

_Kind = TypeVar("_Kind")


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


def texts_of(*concepts: CodeableConcept | None) -> list[str]:
    """Return every text of some concepts, each once."""
    known = [one for one in concepts if one is not None]
    return [text for text in dict.fromkeys(t for one in known for t in _written(one)) if text]


def _written(concept: CodeableConcept) -> Iterable[str]:
    yield concept.text or ""
    for coding in concept.coding:
        yield coding.display or ""


def coded(concepts: Iterable[CodeableConcept]) -> list[tuple[str, str]]:
    """Return every code of some concepts, behind its system."""
    return [(coding.system or "", coding.code) for one in concepts for coding in one.coding if coding.code]


def codes_of(*concepts: CodeableConcept | None) -> set[str]:
    """Return every code of some concepts, whatever its system."""
    return {coding.code for concept in concepts if concept for coding in concept.coding if coding.code}


def has_code(concept: CodeableConcept | None, wanted: Iterable[str]) -> bool:
    """Tell whether a concept has one of these codes."""
    return not codes_of(concept).isdisjoint(wanted)


def united(found: Iterable[frozenset[_Kind] | None]) -> frozenset[_Kind] | None:
    """Return all that codes mean together; None where none of them means anything here."""
    known = [one for one in found if one is not None]
    return frozenset[_Kind]().union(*known) if known else None
