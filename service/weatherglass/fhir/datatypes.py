"""FHIR R4's data types as far as the review reads them, as msgspec structs.

Numbers stay as their JSON text (`Raw`): FHIR decimals are exact, and a boolean or a string is no number.
"""

from msgspec import Raw, Struct


class Meta(Struct, gc=False):
    """Resource metadata."""

    versionId: str | None = None
    lastUpdated: str | None = None
    security: Raw = Raw()
    tag: "tuple[Coding, ...]" = ()


class Coding(Struct, gc=False):
    """A code in a system."""

    system: str | None = None
    code: str | None = None
    display: str | None = None


class CodeableConcept(Struct, gc=False):
    """Codes for one concept, and its text."""

    coding: tuple[Coding, ...] = ()
    text: str | None = None


class Identifier(Struct, gc=False):
    """A business identifier."""

    system: str | None = None
    value: str | None = None


class Reference(Struct, gc=False):
    """A reference to another resource."""

    reference: str | None = None
    identifier: Identifier | None = None
    display: str | None = None
    type: str | None = None


class Pointer(Struct, gc=False):
    """A reference, as far as it names somebody."""

    reference: str | None = None
    identifier: Identifier | None = None


class Period(Struct, gc=False):
    """A time span, either end of which may be open."""

    start: str | None = None
    end: str | None = None


class Quantity(Struct, gc=False):
    """A number with a unit; the number stays as its JSON text."""

    value: Raw = Raw()
    comparator: str | None = None
    unit: str | None = None
    system: str | None = None
    code: str | None = None


class Range(Struct, gc=False):
    """A low and a high quantity."""

    low: Quantity | None = None
    high: Quantity | None = None


class Annotation(Struct, gc=False):
    """A note."""

    text: str = ""


class Timing(Struct, gc=False):
    """When something happens; only single events are read for observations."""

    event: tuple[str, ...] = ()
    repeat: "TimingRepeat | None" = None
    code: CodeableConcept | None = None


class TimingRepeat(Struct, gc=False):
    """How often a dose is due."""

    boundsPeriod: Period | None = None
    count: Raw = Raw()
    frequency: Raw = Raw()
    period: Raw = Raw()
    periodUnit: str | None = None
    dayOfWeek: tuple[str, ...] = ()
    timeOfDay: tuple[str, ...] = ()
    when: tuple[str, ...] = ()


class HumanName(Struct, gc=False):
    """A name."""

    use: str | None = None
    text: str | None = None
    family: str | None = None
    given: tuple[str, ...] = ()


class PersonIdentifier(Struct, gc=False):
    """A number or a name that a person goes by; what says which kind stays unread until asked."""

    use: Raw = Raw()
    type: Raw = Raw()
    system: str | None = None
    value: str | None = None
    period: Raw = Raw()
    assigner: Raw = Raw()


class Ratio(Struct, gc=False):
    """An amount for each of another."""

    numerator: Quantity | None = None
    denominator: Quantity | None = None
