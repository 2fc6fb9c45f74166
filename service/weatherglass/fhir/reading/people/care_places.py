"""What kind of place a location or an encounter names: intensive care, theatre, a mental health ward, others.

Codes first, then words. What is not surely one of them is a ward: there nobody is taken to be watched
by a team that stands at the bed.
"""

from collections.abc import Sequence

from weatherglass.fhir.datatypes import CodeableConcept, Coding
from weatherglass.fhir.r4 import Location
from weatherglass.fhir.reading.problems.concept_words import has_code, texts_of
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.care import CarePlace

#: v3-RoleCode (ServiceDeliveryLocationRoleType): intensive and coronary care. From memory.
_CRITICAL_CODES = frozenset({"ICU", "PEDICU", "PEDNICU", "CCU", "NCCS", "309904001"})
_WORDS = word_patterns("place-patterns.toml")
_SURGICAL, _NOT_SURGICAL = _WORDS["surgical"], _WORDS["not-surgical"]
_CRITICAL_WORDS, _NOT_CRITICAL = _WORDS["critical"], _WORDS["not-critical"]
#: The same list, without high dependency and coronary care, and SNOMED CT of places. From memory.
_KINDS_BY_CODE = {
    "ICU": CarePlace.INTENSIVE_CARE,
    "PEDICU": CarePlace.INTENSIVE_CARE,
    "PEDNICU": CarePlace.INTENSIVE_CARE,
    "309904001": CarePlace.INTENSIVE_CARE,
    "ER": CarePlace.EMERGENCY_DEPARTMENT,
    "ETU": CarePlace.EMERGENCY_DEPARTMENT,
    "225728007": CarePlace.EMERGENCY_DEPARTMENT,
    "225738002": CarePlace.THEATRE,
}
_KINDS_BY_WORDS = (
    (CarePlace.MENTAL_HEALTH, _WORDS["mental-health"], _WORDS["not-mental-health"]),
    (CarePlace.INTENSIVE_CARE, _WORDS["intensive-care"], _WORDS["not-intensive-care"]),
    (CarePlace.THEATRE, _WORDS["theatre"], _WORDS["not-theatre"]),
    (CarePlace.EMERGENCY_DEPARTMENT, _WORDS["emergency-department"], _WORDS["not-emergency-department"]),
)


def kind_in_words(text: str) -> CarePlace:
    """Return what kind of place a name tells.

    Examples:
        >>> kind_in_words("Intensive Care Unit bed 4").name
        'INTENSIVE_CARE'
        >>> kind_in_words("Post intensive care step-down").name
        'WARD'
        >>> kind_in_words("Psychiatric intensive care unit").name
        'MENTAL_HEALTH'
    """
    words = text.casefold()
    for kind, named, other in _KINDS_BY_WORDS:
        if named.search(words) is not None and other.search(words) is None:
            return kind
    return CarePlace.WARD


def kind_of(concepts: Sequence[CodeableConcept], class_: Coding | None = None) -> CarePlace:
    """Return what kind of place concepts tell, or the class of an encounter."""
    codings = [*(coding for one in concepts for coding in one.coding), *([class_] if class_ else ())]
    texts = [*texts_of(*concepts), *([class_.display or ""] if class_ else ())]
    by_code = (_KINDS_BY_CODE.get(coding.code or "", CarePlace.WARD) for coding in codings)
    found = (*by_code, *(kind_in_words(text) for text in texts))
    return next((kind for kind in found if kind is not CarePlace.WARD), CarePlace.WARD)


def kind_of_place(chain: Sequence[Location]) -> CarePlace:
    """Return the kind of the nearest of a location and what it is part of that tells one."""
    for location in chain:
        kind = kind_in_words(location.name or "")
        kind = kind if kind is not CarePlace.WARD else kind_of(location.type)
        if kind is not CarePlace.WARD:
            return kind
    return CarePlace.WARD


def is_surgical(service: CodeableConcept | None, types: Sequence[CodeableConcept]) -> bool | None:
    """Tell whether surgeons look after a stay: by the service that has it, or its type; None where none says.

    A type that names no operation says nothing of who looks after it.
    """
    said = [text.casefold() for text in texts_of(service)]
    if any(said):
        return any(map(_says_surgical, said))
    return True if any(_says_surgical(text.casefold()) for text in texts_of(*types)) else None


def _says_surgical(words: str) -> bool:
    return _SURGICAL.search(words) is not None and _NOT_SURGICAL.search(words) is None


def is_critical_place(location: Location) -> bool:
    """Tell whether a location is critical care of any kind."""
    return says_critical(location.name or "") or any(is_critical(kind) for kind in location.type)


def is_critical(concept: CodeableConcept) -> bool:
    """Tell whether a concept names critical care of any kind."""
    return has_code(concept, _CRITICAL_CODES) or any(map(says_critical, texts_of(concept)))


def says_critical(text: str) -> bool:
    """Tell whether words name critical care of any kind."""
    words = text.casefold()
    return _CRITICAL_WORDS.search(words) is not None and _NOT_CRITICAL.search(words) is None
