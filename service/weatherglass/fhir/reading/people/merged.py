"""People who were entered twice: one entry replaces the other, and both are one person.

Only what the record itself says is followed: `replaced-by` and `replaces`, by reference or by an
identifier that one other Patient of the request has. Entries that merely refer to each other are two,
and so are those with one number, which is said of both. Where the entry that stands is in the request,
all that was sent under the other is read as its own; where it is not, or where the record names several
in its place, that is said, because the rest of the record may be there.
"""

from collections import deque
from collections.abc import Iterable, Iterator

import msgspec
from msgspec import Struct

from weatherglass.fhir.datatypes import Reference
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.r4 import Patient
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.observations.codes_shown import shown
from weatherglass.fhir.reading.patient_data import PatientData


class _Link(Struct, gc=False):
    other: Reference | None = None
    type: str | None = None


_links = msgspec.json.Decoder(tuple[_Link, ...]).decode
#: Stands for an entry that is named by an identifier which no other Patient of the request has alone.
_UNKNOWN = "?"
#: The end of a way that leads to several entries, or to none because it goes in a circle.
CONTRADICTORY = ""


def settle_merged(collector: Collector) -> None:
    """Join the entries of one person; say which could not be, and which are out of use."""
    stands = standing(_replacements(collector))
    joined = {old: new for old, new in sorted(stands.items()) if _was_sent(collector, new)}
    for old, new in joined.items():
        _say_joined(collector, old, new)
    collector.join(joined)
    for old, new in sorted(stands.items()):
        if old not in joined and old in collector.patients:
            _say_apart(collector, old, new)
    _say_same_numbers(collector)
    for key, data in sorted(collector.patients.items()):
        if _is_out_of_use(data) and not data.replaced_by:
            data.inactive = True
            collector.say("patient-not-in-use", f"{data.patient_path or key}.active", key)


def _say_same_numbers(collector: Collector) -> None:
    """Say of whom the request holds another entry with the same number, as two servers send one person."""
    holders: dict[tuple[str, str], set[str]] = {}
    for key, data in collector.patients.items():
        numbers = data.patient.identifier if data.patient is not None else ()
        for number in numbers:
            if number.system and number.value:
                holders.setdefault((number.system, number.value), set()).add(key)
    for key in sorted(set().union(*(keys for keys in holders.values() if len(keys) > 1))):
        collector.say("same-number", f"{_place(collector, key)}.identifier", key)


def _replacements(collector: Collector) -> Iterator[tuple[str, str]]:
    """Yield the key of each entry that was replaced, with the key of what replaced it."""
    for key, data in sorted(collector.patients.items()):
        for link in _links_of(data.patient):
            other = _other(collector, key, link)
            if other != key and link.type == "replaced-by":
                yield key, other or _UNKNOWN
            elif other not in ("", key) and link.type == "replaces":
                yield other, key


def _other(collector: Collector, key: str, link: _Link) -> str:
    if link.other is None:
        return ""
    if link.other.reference:
        return collector.key_of(link.other.reference)
    return collector.key_beside(link.other.identifier, key) if link.other.identifier is not None else ""


def _links_of(patient: Patient | None) -> Iterator[_Link]:
    if patient is not None and patient.link:
        yield from read_links(patient.link)


def read_links(sent: bytes | msgspec.Raw) -> Iterator[_Link]:
    """Yield what `Patient.link` says; nothing where it cannot be read."""
    try:
        yield from _links(sent)
    except UNREADABLE:
        return


def standing(replaced: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return what stands at the end of every way from an entry that was replaced.

    Where the ways from one entry end at several, or at none because they go in a circle, that is
    `CONTRADICTORY`: whoever was right, nobody is joined with the wrong person.
    """
    into: dict[str, list[str]] = {}
    olds: dict[str, None] = {}
    for old, new in replaced:
        into.setdefault(new, []).append(old)
        olds[old] = None
    found = {end: end for end in into if end not in olds}
    # From the ends backwards; what is told of an entry changes twice at most.
    waiting = deque(found)
    while waiting:
        new = waiting.popleft()
        for old in into.get(new, ()):
            told = found[new] if found.get(old, found[new]) == found[new] else CONTRADICTORY
            if found.get(old) != told:
                found[old] = told
                waiting.append(old)
    return {old: found.get(old, CONTRADICTORY) for old in olds}


def _was_sent(collector: Collector, key: str) -> bool:
    data = collector.patients.get(key)
    return data is not None and data.patient is not None


def _say_joined(collector: Collector, old: str, new: str) -> None:
    there = old in collector.patients
    place = _place(collector, old if there else new)
    collector.say("replaced" if there else "replaces", f"{place}.link", new)


def _say_apart(collector: Collector, old: str, new: str) -> None:
    collector.patients[old].replaced_by = _named(new)
    issue = "replaced-contradictorily" if new == CONTRADICTORY else "replaced-by-unsent"
    collector.say(issue, f"{_place(collector, old)}.link", old)


def _place(collector: Collector, key: str) -> str:
    """Return where a Patient stands in the request; its key where it was not sent."""
    data = collector.patients.get(key)
    return data.patient_path or key if data is not None else key


def _named(key: str) -> str:
    """Return the other entry's name, as far as it may be shown."""
    kind, _, identity = key.rpartition("/")
    return key if kind == "Patient" and shown(identity) else "another Patient"


def _is_out_of_use(data: PatientData) -> bool:
    return data.patient is not None and bytes(data.patient.active) == b"false"
