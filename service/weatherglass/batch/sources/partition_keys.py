"""Partition keys, whose a line is: a quick look at the few elements that say so, nothing else.

The look decodes eight elements of a line and skips the rest. The names it gives
patients are those that the reading gives them, so that the lines that come together
here are the lines that the reading would put into one record.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final, NamedTuple

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.datatypes import Identifier, Pointer
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.reading.people.addresses import patient_name, short_name, unversioned
from weatherglass.fhir.reading.people.merged import read_links

#: Types that the review reads and that are about one patient.
READ: Final = frozenset(
    """Observation Condition MedicationRequest MedicationStatement MedicationAdministration Encounter
    Procedure ServiceRequest Consent Flag CarePlan Goal AllergyIntolerance""".split()
)
#: Types that belong to nobody and are needed by whoever refers to them.
SHARED: Final = frozenset(("Medication", "Location"))


#: Ours: an id has 64 characters at most, an address seldom more than 200.
_LONGEST = 1000


class Look(Struct, gc=False):
    """What says whose a line is, and what it needs besides."""

    resourceType: str
    id: str | None = None
    subject: Pointer | None = None
    patient: Pointer | None = None
    medicationReference: Pointer | None = None
    location: Raw = Raw()
    partOf: Raw = Raw()
    identifier: Raw = Raw()
    link: Raw = Raw()


class _Held(Struct, gc=False):
    location: Pointer | None = None


look = msgspec.json.Decoder(Look).decode
_pointer = msgspec.json.Decoder(Pointer).decode
_held = msgspec.json.Decoder(list[_Held]).decode
_identifiers = msgspec.json.Decoder(list[Identifier]).decode


def is_name(text: str) -> bool:
    """Tell whether a text can name somebody: of reasonable length, without control characters."""
    return len(text) <= _LONGEST and text.isprintable()


def patient_key(reference: str) -> str:
    """Return the one name of the patient that a reference means; empty when it means none.

    Examples:
        >>> patient_key("https://ward.example/fhir/Patient/p1/_history/3")
        'Patient/p1'
        >>> patient_key("PatientGroup/g1"), patient_key("Patient?identifier=x|1"), patient_key("#inside")
        ('', '', '')
    """
    name = unversioned(reference)
    return patient_name(name) if is_name(name) else ""


def identifier_key(identifier: Identifier) -> str:
    """Return the name of a patient who is known by an identifier only; empty without a value.

    It begins with a question mark until somebody's Patient resource answers it.
    """
    key = f"?{identifier.system or ''}|{identifier.value}"
    return key if identifier.value and is_name(key) else ""


def shared_name(reference: str) -> str:
    """Return the one name of a Medication or Location that a reference means.

    Examples:
        >>> shared_name("https://ward.example/fhir/Location/ward-1")
        'Location/ward-1'
    """
    name = unversioned(reference)
    if not is_name(name) or name.startswith("#"):
        return ""
    if name.startswith("urn:"):
        return name
    return short_name(name)


def needs_of(seen: Look) -> list[str]:
    """Return the names of the Medications and Locations that a line refers to."""
    pointers: list[Pointer | None] = [seen.medicationReference]
    try:
        if seen.resourceType == "Encounter" and seen.location:
            pointers.extend(held.location for held in _held(seen.location))
        elif seen.resourceType == "Location" and seen.partOf:
            pointers.append(_pointer(seen.partOf))
    except UNREADABLE:
        pass  # A list of another shape: the reading will say so, with its place.
    names = (shared_name(p.reference) for p in pointers if p is not None and p.reference)
    return [name for name in names if name]


def replacements_of(seen: Look, key: str, aliases: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield which entry of a person a Patient says was replaced, and by which.

    Args:
        seen: The Patient.
        key: Its name.
        aliases: Other names of patients, inside the same Bundle.
    """
    if not seen.link:
        return
    for link in read_links(seen.link):
        asked = (link.other.reference if link.other is not None else None) or ""
        other = aliases.get(asked) or patient_key(asked)
        if not asked and link.other is not None and link.other.identifier is not None:
            other = identifier_key(link.other.identifier)
        if other and other != key and link.type in ("replaced-by", "replaces"):
            yield (key, other) if link.type == "replaced-by" else (other, key)


class Holders(NamedTuple):
    """Who has an identifier: how many, the first of them and the last."""

    number: int
    first: str
    last: str


def answered_pairs(
    pairs: Iterable[tuple[str, str]], holders: Mapping[str, Holders]
) -> Iterator[tuple[str, str]]:
    """Yield pairs of entries; one that an identifier of one other Patient names, by its own name."""
    for old, new in pairs:
        yield _answered(old, new, holders), _answered(new, old, holders)


def _answered(name: str, beside: str, holders: Mapping[str, Holders]) -> str:
    held = holders.get(name)
    if held is None:
        return name
    others = {held.first, held.last} - {beside}
    return others.pop() if len(others) == 1 and held.number <= 2 else name


def sent_name(key: str) -> str:
    """Return the name under which it is noted that a Patient of this name was sent."""
    return f"={key}"


def identifiers_of(seen: Look) -> list[str]:
    """Return the names under which others may refer to a Patient by an identifier."""
    try:
        found = _identifiers(seen.identifier) if seen.identifier else []
    except UNREADABLE:
        return []
    return [key for key in map(identifier_key, found) if key]
