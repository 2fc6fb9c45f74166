"""Security labels on results: what is derived from an input is no less confidential than it."""

from collections.abc import Iterable

from weatherglass.fhir.safe_text import clean
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.model.sources import Label

_CONFIDENTIALITY = "http://terminology.hl7.org/CodeSystem/v3-Confidentiality"
#: Unrestricted, low, moderate, normal, restricted, very restricted.
_RISING = ("U", "L", "M", "N", "R", "V")


def confidentiality_of(labels: Iterable[Label]) -> str:
    """Return the highest degree of confidentiality, empty when none is known.

    Source:
        HL7 v3 code system Confidentiality, whose codes FHIR R4 names for `meta.security`
        and for `Composition.confidentiality`.
    """
    known = [_RISING.index(one.code) for one in labels if _is_degree(one)]
    return _RISING[max(known)] if known else ""


def label(resources: Iterable[Json], labels: Iterable[Label]) -> None:
    """Write the labels into resources: of the degrees the highest, and everything else that was sent."""
    given = tuple(labels)
    highest = confidentiality_of(given)
    kept = {(one.system, one.code): one for one in given if not _is_degree(one) or one.code == highest}
    if not kept:
        return
    security = [_coding(one) for one in kept.values()]
    for resource in resources:
        resource["meta"] = {**resource.get("meta", {}), "security": security}


def _is_degree(one: Label) -> bool:
    return one.system == _CONFIDENTIALITY and one.code in _RISING


def _coding(one: Label) -> Json:
    written = {"system": clean(one.system), "code": clean(one.code), "display": clean(one.display)}
    return {key: value for key, value in written.items() if value}
