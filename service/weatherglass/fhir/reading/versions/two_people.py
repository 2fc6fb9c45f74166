"""Whether two Patients of one id are two people, as two sites have that number their patients alike.

FHIR R4 lets a person's sex and birth date be corrected, so this is never certain: it is said, not acted
on. Where a time says which Patient is the newer one, those of one name are one who was corrected.
"""

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.r4 import UNREADABLE, HumanName, Identifier


class _Person(Struct, gc=False):
    birthDate: str | None = None
    gender: str | None = None
    identifier: Raw = Raw()
    name: Raw = Raw()


_person = msgspec.json.Decoder(_Person).decode
_identifiers = msgspec.json.Decoder(tuple[Identifier, ...]).decode
_names = msgspec.json.Decoder(tuple[HumanName, ...]).decode
_SEXES = frozenset({"female", "male"})


def are_two(one: bytes | Raw, other: bytes | Raw) -> bool:
    """Tell whether two Patients contradict each other in birth date, sex, or the number in one system.

    Examples:
        >>> are_two(b'{"birthDate": "1950-06-01"}', b'{"birthDate": "1980-01-01"}')
        True
        >>> are_two(b'{"birthDate": "1950-06-01", "gender": "female"}', b'{"birthDate": "1950"}')
        False
    """
    try:
        first, second = _person(one), _person(other)
    except UNREADABLE:
        return False
    born, also_born = first.birthDate or "", second.birthDate or ""
    if not (born.startswith(also_born) or also_born.startswith(born)):
        return True
    if first.gender != second.gender and {first.gender, second.gender} <= _SEXES:
        return True
    numbers, others = _numbers(first), _numbers(second)
    return any(values.isdisjoint(others.get(system, values)) for system, values in numbers.items())


def have_one_name(one: bytes | Raw, other: bytes | Raw) -> bool:
    """Tell whether two Patients go by one name."""
    return not _called(one).isdisjoint(_called(other))


def _called(raw: bytes | Raw) -> set[str]:
    try:
        sent = _person(raw).name
        names = _names(sent) if sent else ()
    except UNREADABLE:
        return set()
    words = (name.text or " ".join((*name.given[:1], name.family or "")) for name in names)
    return {" ".join(each.casefold().split()) for each in words if each.strip()}


def _numbers(person: _Person) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    try:
        held = _identifiers(person.identifier) if person.identifier else ()
    except UNREADABLE:
        return found
    for number in held:
        if number.system and number.value:
            found.setdefault(number.system, set()).add(number.value)
    return found
