"""Of several versions of one resource in a request, the newest is read.

A history, two overlapping exports or an amended result bring one resource more than
once. Read side by side, a stopped order would still be active, and one result would be
two. What is left out is always named.

1. Copies with the same content count once.
2. The later `meta.lastUpdated` is the newer version, compared as instants; where these
   are equal or missing, the higher `meta.versionId`, where both are numbers. A version
   that another one is newer than is left out. A deletion is a version with nothing in it.
3. Where this does not settle it, one that was sent whole goes before one that was
   shortened (tag SUBSETTED), and then the one that is further on in its life: deleted,
   entered in error, ended (stopped, cancelled, completed ...), corrected, in force, on
   hold or resolved, planned. What has ended or was wrong does not come to life again
   under the same id, so that version was written later. Where a status can go back and
   forth, this takes the one that keeps the medicine or the problem in view. It is our
   choice, and a warning says so.
4. Where all this is equal and the content differs, nothing is chosen: all of them are
   read, and a warning says so. Two values of a sign at one time then are a conflict, as
   if they had come under two ids. Only what others refer to (Patient, Medication,
   Location) cannot be two things: the first in order of its content is used, with the
   same warning.

Nothing of this depends on the order of the entries. A version that cannot be read is a
version all the same: an older one does not speak in its place. Resources without an id,
and those contained in another one, are never versions of each other.
"""

from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.datatypes import HumanName, Identifier
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import Issue
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.versions.identity import (
    DELETION,
    Named,
    Same,
    all_differ,
    brought_together,
    deleted_by,
    identity_of,
)
from weatherglass.fhir.reading.versions.resolution import Settled, Version, is_shortened, settled
from weatherglass.model.plain import replace


def without_older(collector: Collector, places: Sequence[SentEntry]) -> list[SentEntry]:
    """Return what is read of some resources, in their order; what is left out becomes an issue."""
    kept = current(collector, places, [identity_of(sent) for sent in places])
    return [sent for sent in kept if sent is not None]


def newest_of(places: Iterable[SentEntry]) -> tuple[list[SentEntry], list[Issue]]:
    """Return what is read of resources that somebody else looks at as well, and what was left out."""
    collector = Collector()
    held: list[SentEntry] = []
    for sent in places:
        (collector.deletions if sent.kind == DELETION else held).append(sent)
    kept = without_older(collector, held)
    say_copies(collector)
    return [*kept, *collector.deletions], collector.issues


def current(
    collector: Collector, places: Sequence[SentEntry], ids: Sequence[str | None]
) -> Sequence[SentEntry | None]:
    """Return, for each entry, what is read in its place: itself, as a rule; None when it is left out.

    An entry comes back as another object when something about it has changed: its name,
    or its turn among versions that are all read.

    Args:
        collector: Where issues go, and what knows of deletions.
        places: The entries.
        ids: Their ids.
    """
    deleted = [named for one in collector.deletions if (named := deleted_by(one)) is not None]
    if not deleted and all_differ(places, ids):
        return places
    entries = [
        Named(number, places[number].kind, ids[number], places[number]) for number in range(len(places))
    ]
    kept: list[SentEntry | None] = list(places)
    for same in brought_together([*entries, *deleted]):
        one = settled(same.entries)
        _place(kept, same, one)
        _say(collector, one)
        collector.copies += [copy.sent for copy in one.copies if copy.number >= 0]
    collector.counted += kept.count(None)
    return kept


def _place(kept: list[SentEntry | None], same: Same, one: Settled) -> None:
    """Put what is read where it stood; several take their turns in order of their content."""
    for entry in same.entries:
        if entry.number >= 0:
            kept[entry.number] = None
    read = [version.entry for version in one.read if version.entry.number >= 0]
    addresses = {entry.sent.full_url or "" for entry in same.entries}
    for number, entry in zip(sorted(entry.number for entry in read), read, strict=True):
        sent = entry.sent
        kept[number] = replace(sent, apart=True) if same.apart else _addressed(sent, addresses)


def _addressed(sent: SentEntry, addresses: AbstractSet[str]) -> SentEntry:
    """Return an entry with the address that other entries of the resource were sent with."""
    known = max(addresses)
    if known.startswith("urn:"):
        # Where some call it by its short name and some by this, it answers to both.
        return replace(sent, full_url=None, alias=known) if "" in addresses else sent
    return sent if sent.full_url or not known else replace(sent, full_url=known)


def _say(collector: Collector, one: Settled) -> None:
    is_deleted = any(version.entry.number < 0 for version in one.read)
    for version in one.older:
        if not is_deleted and _is_somebody_else(version, one.read[0], is_older=True):
            collector.doubtful.add(one.read[0].entry.sent.path)
            _note(collector, version, "two-people")
        elif is_deleted:
            _note(collector, version, "before-deletion")
        else:
            _note(collector, version, "older-version")
    for version in one.passed_over:
        if is_shortened(version, one.read[0]):
            _note(collector, version, "shortened-version")
        elif not is_deleted and _is_somebody_else(version, one.read[0]):
            collector.doubtful.add(one.read[0].entry.sent.path)
            _note(collector, version, "two-people")
        else:
            passed_over = _passed_over(version, one.read[0])
            _note(collector, version, "version-perhaps-deleted" if is_deleted else passed_over)
    if len(one.read) > 1:
        first = min(one.read, key=lambda version: version.entry.number)
        _note(collector, first, "all-versions-read", number=len(one.read))


def _is_somebody_else(version: Version, read: Version, *, is_older: bool = False) -> bool:
    one, other = version.entry.sent.raw, read.entry.sent.raw
    if version.entry.kind != "Patient" or not are_two(one, other):
        return False
    return not (is_older and have_one_name(one, other))


def _passed_over(version: Version, read: Version) -> str:
    is_equal = (version.whole, version.stage) == (read.whole, read.stage)
    return "version-by-content" if is_equal else "version-passed-over"


def _note(collector: Collector, version: Version, issue: str, **said: object) -> None:
    if version.entry.number >= 0:
        collector.say(issue, version.entry.sent.path, "", **said)


def say_copies(collector: Collector) -> None:
    """Write down, in one issue, how many entries were copies of another one."""
    if not collector.copies:
        return
    first = min(collector.copies, key=lambda sent: (len(sent.container), sent.container, sent.position))
    collector.say("copies", first.path, number=len(collector.copies))


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

    FHIR R4 lets a person's sex and birth date be corrected, so this is never certain: it is said, not acted
    on. Where a time says which Patient is the newer one, those of one name are one who was corrected.

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
