"""What kind of place a location or an encounter names: intensive care, theatre, a mental health ward, others.

Codes first, then words. What is not surely one of them is a ward: there nobody is taken to be watched
by a team that stands at the bed.
"""

from collections.abc import Sequence

from weatherglass.fhir.datatypes import CodeableConcept, Coding
from weatherglass.fhir.r4 import Location
from weatherglass.fhir.reading.problems.concept_words import has_code, texts_of
from weatherglass.model.patterns import when_asked
from weatherglass.model.record.care import CarePlace

#: v3-RoleCode (ServiceDeliveryLocationRoleType): intensive and coronary care. From memory.
_CRITICAL_CODES = frozenset({"ICU", "PEDICU", "PEDNICU", "CCU", "NCCS", "309904001"})
_CRITICAL_WORDS = when_asked(
    r"\b(intensive (care|therapy)|critical care|coronary care|high[ -]dependency|"
    r"icu|itu|hdu|ccu|picu|nicu|sicu|micu|cicu|gicu)\b"
)
#: What surrounds the words when the place is not critical care itself.
_NOT_CRITICAL = when_asked(
    r"\b(psychiatric|mental health|post|after|clinic|follow[ -]?up|step[ -]?down|outreach|transferred from)\b"
)
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
    (
        CarePlace.MENTAL_HEALTH,
        when_asked(r"\b(psychiatr(?:ic|y)|mental health|mother (and|&) baby unit)\b"),
        when_asked(r"\b(liaison|clinic|follow[ -]?up|team|transferred from|post|assessment (room|suite))\b"),
    ),
    (
        CarePlace.INTENSIVE_CARE,
        when_asked(
            r"\b(intensive (care|therapy)|critical care(?! outreach)|icu|itu|picu|nicu|sicu|micu|cicu|gicu)\b"
        ),
        when_asked(rf"{_NOT_CRITICAL.pattern}|\bhigh[ -]dependency\b|\bhdu\b|\bcoronary\b"),
    ),
    (
        CarePlace.THEATRE,
        when_asked(
            r"\b(theatres?|operating (room|theatre|suite)|anaesthetic room|anesthesia room|pacu|"
            r"post[ -]?an(a)?esthe(tic|sia) care( unit)?)\b"
        ),
        when_asked(
            r"\b(admissions?|waiting|lounge|pre-?op\w*|pre-?assessment|from|post[ -]?theatre|clinic)\b"
        ),
    ),
    (
        CarePlace.EMERGENCY_DEPARTMENT,
        when_asked(
            r"\b(emergency (department|room|unit|care centre)|accident (and|&) emergency|a ?& ?e|"
            r"resus(citation)? (room|bay|area))\b|^(ed|er)\b"
        ),
        when_asked(r"\b(clinic|follow[ -]?up|from|surgical|gyna?ecology|eye)\b"),
    ),
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
