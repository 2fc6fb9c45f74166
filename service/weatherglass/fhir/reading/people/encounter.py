"""Encounters and locations: where the patient is, and whether that is critical care.

A Location may arrive after the Encounter that names it, so encounters wait until
`settle_stays`, which turns each into one stay per place.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime

from weatherglass.fhir.datatypes import Reference
from weatherglass.fhir.r4 import Encounter, EncounterLocation, Location
from weatherglass.fhir.reading.collector import Collector, Waiting
from weatherglass.fhir.reading.entries.gate import is_modified, say_status
from weatherglass.fhir.reading.medicines.allergy import allergy_of_problem
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.people.addresses import split_address
from weatherglass.fhir.reading.people.care_places import (
    is_critical,
    is_critical_place,
    is_surgical,
    kind_in_words,
    kind_of,
    kind_of_place,
    says_critical,
)
from weatherglass.fhir.reading.people.hospital_number import hospital_of, say_open_at_once
from weatherglass.fhir.reading.problems.concept_words import has_code, text_of, texts_of
from weatherglass.fhir.reading.problems.problem_words import asserted, said_of
from weatherglass.fhir.safe_text import one_line
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import Allergy, CarePlace, Stay
from weatherglass.model.record.problems import Condition, Reason
from weatherglass.model.sources import Origin

_USED = frozenset({"arrived", "triaged", "in-progress", "onleave", "finished"})
_KNOWN = _USED | {"planned", "cancelled", "entered-in-error", "unknown"}
#: v3-ActCode classes of people who lie in a bed of the hospital.
_INPATIENT = frozenset({"IMP", "ACUTE", "NONAC", "OBSENC", "SS"})
_OTHER_CLASSES = frozenset({"AMB", "EMER", "FLD", "HH", "PRENC", "VR"})
_EMERGENCY = "EMER"
#: How earlier releases of FHIR (encounter-class), HL7 v2 (table 0004) and generators say the same.
_CLASS_WORDS = {
    "inpatient": "IMP",
    "outpatient": "AMB",
    "ambulatory": "AMB",
    "emergency": "EMER",
    "home": "HH",
    "field": "FLD",
    "virtual": "VR",
    "wellness": "AMB",
    "urgentcare": "AMB",
    "i": "IMP",
    "o": "AMB",
    "e": "EMER",
    "p": "PRENC",
}
_BED, _WARD, _ROOM = "bd", "wa", "ro"
_DEEPEST = 8
#: HL7 discharge-disposition, and its words elsewhere.
_EXPIRED = "exp"
_WORDS = word_patterns("place-patterns.toml")
_DIED = _WORDS["died"]


def read_encounter(collector: Collector, encounter: Encounter, entry: SentEntry, origin: Origin) -> None:
    """Take in one Encounter, or write down why not."""
    data = collector.data_for(encounter.subject, entry, "subject")
    if data is None:
        return
    if is_modified(collector, encounter, entry.path, data.key):
        return
    if encounter.status not in _USED:
        known = encounter.status in _KNOWN
        say_status(collector, f"{entry.path}.status", "an Encounter", is_known=known, patient=data.key)
        return
    class_code = _class_of(encounter)
    if class_code not in _INPATIENT and class_code not in _OTHER_CLASSES:
        collector.say("encounter-class-unknown", f"{entry.path}.class", data.key)
    for label, text in _period_texts(encounter):
        read = collector.when(text)
        if read is None:
            collector.say("stay-time-not-read", f"{entry.path}.{label}", data.key)
    collector.encounters.append(Waiting(data, encounter, entry, origin))


def _ended_in_death(encounter: Encounter) -> bool:
    """Tell whether the stay is said to have ended with the patient's death."""
    held = encounter.hospitalization
    if held is None or held.dischargeDisposition is None:
        return False
    said = held.dischargeDisposition
    return has_code(said, (_EXPIRED,)) or _DIED.search(" ".join(texts_of(said)).casefold()) is not None


def _class_of(encounter: Encounter) -> str | None:
    code = encounter.class_.code if encounter.class_ is not None else None
    return _CLASS_WORDS.get(code.casefold(), code) if code is not None else None


def settle_stays(collector: Collector) -> None:
    """Turn the encounters into stays, now that every Location has arrived."""
    for waiting in collector.encounters:
        stays = _stays_of(collector, waiting)
        waiting.data.stays.extend(stays)
        if stays:
            reasons = _reasons_of(collector, waiting, stays)
            waiting.data.reasons.extend(reasons)
            waiting.data.allergies.extend(_allergies_of(waiting.data, reasons))
    people = {waiting.data.key: waiting.data for waiting in collector.encounters}
    say_open_at_once(collector, people.values())
    collector.encounters.clear()


def _allergies_of(data: PatientData, reasons: Iterable[Reason]) -> Iterator[Allergy]:
    """Yield the allergies among the reasons, as among problems: thrombocytopenia by heparin."""
    for one in reasons:
        problem = Condition(origin=one.origin, text=one.text, began=one.at, confirmed=one.confirmed)
        found = allergy_of_problem(problem, asserted(one.text.casefold()))
        known = {(each.ingredients, each.groups) for each in data.allergies}
        if found is not None and (found.ingredients, found.groups) not in known:
            yield found


class _Spot(Plain, frozen=True):
    """One location of an encounter, resolved."""

    ward: str
    bed: str
    critical: bool
    kind: CarePlace
    starts: datetime | None
    ends: datetime | None
    #: The location and everything it is part of, nearest first.
    chain: tuple[Location, ...]
    written: tuple[str | None, str | None]
    level: str


def _stays_of(collector: Collector, waiting: Waiting) -> list[Stay]:
    encounter = waiting.encounter
    starts, ends = collector.period(encounter.period)
    if encounter.status == "finished" and ends is None:
        collector.say("encounter-without-end", f"{waiting.entry.path}.period.end", waiting.data.key)
        if starts is None:
            return []
        ends = starts
    concepts = [*encounter.type, *([encounter.serviceType] if encounter.serviceType else [])]
    critical = any(is_critical(concept) for concept in concepts)
    whole = kind_of(concepts, encounter.class_)
    class_code = _class_of(encounter)
    spots = _merged([_spot(collector, waiting, at, held, starts, ends) for at, held in _held(encounter)])
    return [
        Stay(
            origin=waiting.origin,
            starts=spot.starts,
            ends=spot.ends,
            place=spot.ward,
            bed=spot.bed,
            critical_care=critical or spot.critical,
            inpatient=class_code not in _OTHER_CLASSES,
            emergency=class_code == _EMERGENCY,
            kind=_kind(spot, whole, is_emergency=class_code == _EMERGENCY),
            hospital=hospital_of(encounter, spot.chain, waiting.entry.full_url),
            reason=_reason(encounter),
            ended_in_death=_ended_in_death(encounter),
            surgical=is_surgical(encounter.serviceType, encounter.type),
        )
        for spot in (*spots, *_nowhere(spots, starts, ends))
    ]


def _kind(spot: _Spot, whole: CarePlace, *, is_emergency: bool) -> CarePlace:
    """Return the kind of a place: its own location says it, then the whole encounter."""
    if spot.kind is not CarePlace.WARD or spot.ward:
        return spot.kind
    if whole is CarePlace.WARD and is_emergency:
        return CarePlace.EMERGENCY_DEPARTMENT
    return whole


def _nowhere(spots: list[_Spot], starts: datetime | None, ends: datetime | None) -> list[_Spot]:
    """Return the time of a stay that no location covers: all of it, or what follows the last location.

    Who has left every place that was sent, in a stay that goes on, has not left hospital.
    """
    last = [spot.ends for spot in spots if spot.ends is not None]
    if spots and (ends is not None or len(last) < len(spots)):
        return []
    return [_Spot("", "", False, CarePlace.WARD, max(last, default=starts), ends, (), (None, None), "")]


def _reasons_of(collector: Collector, waiting: Waiting, stays: list[Stay]) -> list[Reason]:
    """Return why the stay was begun, as problems; a Condition that was sent speaks for itself."""
    encounter = waiting.encounter
    starts = collector.period(encounter.period)[0]
    ends = [stay.ends for stay in stays]
    named = [*encounter.reasonReference, *(one.condition for one in encounter.diagnosis)]
    unsent = [one for one in named if one.display and not _was_sent(collector, one)]
    read = [(text_of(one), said_of([one], written=starts)) for one in encounter.reasonCode]
    read += [(one_line(one.display or ""), said_of((), [one], written=starts)) for one in unsent]
    return [
        Reason(
            origin=waiting.origin,
            text=text,
            kinds=words.kinds,
            at=starts,
            ends=None if None in ends else max(end for end in ends if end is not None),
            inpatient=stays[0].inpatient,
            confirmed=not words.asked,
        )
        for text, words in read
        if words.kinds
    ]


def _was_sent(collector: Collector, reference: Reference) -> bool:
    name = reference.reference or ""
    return bool(name) and not collector.problems.isdisjoint((name, split_address(name)[1]))


def _held(encounter: Encounter) -> list[tuple[int, EncounterLocation]]:
    return [
        (index, held)
        for index, held in enumerate(encounter.location)
        if held.status not in ("planned", "reserved")
    ]


def _spot(
    collector: Collector,
    waiting: Waiting,
    index: int,
    held: EncounterLocation,
    outer_start: datetime | None,
    outer_end: datetime | None,
) -> _Spot:
    start, end = collector.period(held.period)
    starts = start or outer_start
    ends = end or outer_end or (starts if held.status == "completed" else None)
    chain = _chain(collector, held.location, waiting.entry.full_url)
    written = (held.period.start, held.period.end) if held.period is not None else (None, None)
    if not chain:
        shown = one_line(held.location.display or "")
        collector.say(
            "location-not-sent", f"{waiting.entry.path}.location[{index}].location", waiting.data.key
        )
        return _Spot(shown, "", says_critical(shown), kind_in_words(shown), starts, ends, (), written, "")
    ward, bed = _ward_and_bed(chain)
    critical = any(is_critical_place(location) for location in chain)
    return _Spot(ward, bed, critical, kind_of_place(chain), starts, ends, chain, written, _level(chain[0]))


def _chain(collector: Collector, reference: Reference | None, full_url: str | None) -> tuple[Location, ...]:
    found: list[Location] = []
    while reference is not None and reference.reference and len(found) < _DEEPEST:
        kept = collector.find(collector.referenced.locations, reference.reference, full_url)
        if kept is None or any(kept.resource is seen for seen in found):
            break
        found.append(kept.resource)
        reference, full_url = kept.resource.partOf, kept.full_url
    return tuple(found)


def _ward_and_bed(chain: tuple[Location, ...]) -> tuple[str, str]:
    named = {_level(location): one_line(location.name or "") for location in reversed(chain)}
    bed = named.get(_BED, "") or named.get(_ROOM, "")
    if _WARD in named:
        return named[_WARD], _without(named[_WARD], bed)
    # Without a level that says "ward", the nearest place that is no bed and no room.
    above = [one_line(location.name or "") for location in chain if _level(location) not in (_BED, _ROOM)]
    ward = above[0] if above else ""
    return ward, _without(ward, bed)


def _without(ward: str, bed: str) -> str:
    """Return the bed's name without the ward's, which is shown beside it."""
    if ward and bed.startswith(ward) and bed != ward:
        return bed[len(ward) :].lstrip(" ,:-\u2013/") or bed
    return bed


def _merged(spots: list[_Spot]) -> list[_Spot]:
    """Join a ward and a bed that were sent as two locations of the same time."""
    around = {(spot.written, id(part)) for spot in spots for part in spot.chain[1:]}
    kept = [spot for spot in spots if not spot.chain or (spot.written, id(spot.chain[0])) not in around]
    if len(kept) == 2 and kept[0].written == kept[1].written:
        wards = [spot for spot in kept if spot.level == _WARD]
        beds = [spot for spot in kept if spot.level in (_BED, _ROOM) and not spot.ward]
        if len(wards) == len(beds) == 1:
            ward, bed = wards[0], beds[0]
            kind = bed.kind if bed.kind is not CarePlace.WARD else ward.kind
            return [replace(bed, ward=ward.ward, critical=ward.critical or bed.critical, kind=kind)]
    return kept


def _level(location: Location) -> str:
    if location.physicalType is None:
        return ""
    return next((c.code for c in location.physicalType.coding if c.code), "")


def _reason(encounter: Encounter) -> str:
    """Return why the stay was begun: in words of its own, or else those beside its references."""
    said = [text_of(one) for one in encounter.reasonCode]
    if not any(said):
        said = [one_line(one.display or "") for one in encounter.reasonReference]
    return "; ".join(filter(None, said))


def _period_texts(encounter: Encounter) -> list[tuple[str, str]]:
    period = encounter.period
    if period is None:
        return []
    ends = (("period.start", period.start), ("period.end", period.end))
    return [(label, text) for label, text in ends if text]
