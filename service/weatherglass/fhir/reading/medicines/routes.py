"""The route that a concept of a dosage names."""

from weatherglass.fhir.r4 import CodeableConcept
from weatherglass.model.record import Route
from weatherglass.terminology.routes import route_named


def route_of(concept: CodeableConcept | None) -> Route:
    """Return the route a concept names, "not recorded" when it names none we know."""
    if concept is None:
        return Route.UNKNOWN
    codings = concept.coding
    return route_named(
        (coding.code or "" for coding in codings), (concept.text, *(coding.display for coding in codings))
    )
