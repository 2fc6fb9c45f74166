"""Which of a person's numbers a hospital would print: one, or none.

FHIR R4 says of an identifier what it is for (`use`), of which kind it is (`type`, HL7
v2-0203) and until when it holds (`period`). None of these has to be there, and one that
cannot be read counts as not there: the number is shown, never computed with.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple

import msgspec
from msgspec import Raw

from weatherglass.fhir.datatypes import CodeableConcept, Period, PersonIdentifier, Reference
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.r4 import Encounter, Location
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData
from weatherglass.fhir.reading.people.addresses import server_of, split_address
from weatherglass.fhir.safe_text import one_line
from weatherglass.fhir.times import read_when
from weatherglass.model.hospital import NOT_NAMED, Hospital
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Stay

# Which hospital an encounter is of, and whether stays of several are open at once.
#
# HL7 FHIR R4: `Encounter.serviceProvider`, else the organization that manages the place or a place around it,
# else a place of the level "site" (location-physical-type). An organization is named by what the reference
# shows beside itself; its own entry is not read.

_SITE = "si"


def hospital_of(encounter: Encounter, chain: Sequence[Location], full_url: str | None) -> Hospital:
    """Return the hospital of one place of an encounter.

    Args:
        encounter: The encounter.
        chain: The place and what it is part of, nearest first.
        full_url: Address of the encounter; a short reference is of the same server.
    """
    named = (encounter.serviceProvider, *(one.managingOrganization for one in chain))
    found = next((one for one in (named_by(each, full_url) for each in named) if one != NOT_NAMED), NOT_NAMED)
    site = next((one_line(one.name or "") for one in chain if is_site(one)), "")
    return replace(found, name=found.name or site)


def is_site(location: Location) -> bool:
    """Tell whether a location is a whole hospital."""
    kind = location.physicalType
    return kind is not None and any(coding.code == _SITE for coding in kind.coding)


def named_by(reference: Reference | None, full_url: str | None = None) -> Hospital:
    """Return the hospital that a reference names."""
    if reference is None:
        return NOT_NAMED
    server, short = split_address(reference.reference or "")
    server = server or server_of(full_url)
    number = reference.identifier
    return Hospital(
        name=one_line(reference.display or ""),
        reference=f"{server}/{short}" if short else "",
        number=f"{number.system or ''}|{number.value}" if number is not None and number.value else "",
    )


def say_open_at_once(collector: Collector, patients: Iterable[PatientData]) -> None:
    """Write down of whom stays in several hospitals are open at once."""
    for data in patients:
        still = [stay for stay in data.stays if stay.ends is None and stay.in_hospital]
        if any(still[0].hospital.is_other_than(stay.hospital) for stay in still[1:]):
            collector.say("several-hospitals", data.key, data.key)


def hospital_now(stays: Iterable[Stay]) -> Hospital:
    """Return the hospital of the stay that goes on and began last."""
    still = [stay for stay in stays if stay.ends is None and stay.in_hospital]
    return max(still, key=Stay.begun).hospital if still else NOT_NAMED


#: HL7 v2 table 0203 as FHIR R4 names it, and as STU3 did.
_KINDS = ("http://terminology.hl7.org/CodeSystem/v2-0203", "http://hl7.org/fhir/v2/0203")
_MEDICAL_RECORD = "MR"
#: Ours: numbers of the state, the tax office or a bank tell a ward nothing and are not for a screen.
_NOT_FOR_A_SCREEN = frozenset({"SS", "DL", "PPN", "TAX", "BA", "BC"})
#: FHIR R4, IdentifierUse: usual is "recommended for display", official the most trusted; a
#: temporary or secondary one may be somebody else's tomorrow, an old one holds no more.
_RANK_OF_USE = {"usual": 0, "official": 1, "": 2, "temp": 3, "secondary": 3, "old": 4}
#: Ours: nothing longer is written on a wristband, and half a number is a wrong number.
_LONGEST = 64

_use = msgspec.json.Decoder(str).decode
_type = msgspec.json.Decoder(CodeableConcept).decode
_period = msgspec.json.Decoder(Period).decode
_assigner = msgspec.json.Decoder(Reference).decode
#: Ours: of more numbers nobody reads the right one.
_MOST = 3


class _Number(NamedTuple):
    """One number; the first of them in order is the best.

    Attributes:
        is_elsewheres: Whether another hospital than the one where the patient lies gave it.
        owner: What tells whose it is: its system.
        said: Who gave it, for display.
    """

    holds: int
    is_of_another_kind: bool
    is_elsewheres: bool
    use: int
    place: int
    value: str
    owner: str
    said: str

    @property
    def rank(self) -> tuple[object, ...]:
        return self[:4]


def hospital_number(
    identifiers: Iterable[PersonIdentifier], newest: datetime | None, hospital: Hospital = NOT_NAMED
) -> str:
    """Return the number to print; empty when there is none.

    What holds comes before what is temporary, old or ended; then a medical record number before any
    other kind; then one that another hospital did not give; then the usual before the official; then the
    first. Medical record numbers of several hospitals between which nothing decides are all printed.

    Args:
        identifiers: As they were sent.
        newest: The newest time in the record: what ended before it is over.
        hospital: Where the patient lies.
    """
    found: list[_Number] = []
    for place, one in enumerate(identifiers):
        value = one_line(one.value or "")
        if not value or len(value) > _LONGEST:
            continue
        kinds = _kinds(one.type)
        if kinds & _NOT_FOR_A_SCREEN:
            continue
        use = _RANK_OF_USE.get(_use_of(one.use), 2)
        holds = 4 if _has_ended(one.period, newest) else max(use, 2)
        giver = _giver(one.assigner)
        found.append(
            _Number(
                holds,
                _MEDICAL_RECORD not in kinds,
                giver.is_other_than(hospital),
                use,
                place,
                value,
                one.system or "",
                giver.name,
            )
        )
    return _printed(sorted(found)) if found else ""


def _printed(numbers: Sequence[_Number]) -> str:
    """Print the best; beside it those of other systems that are as good, as two hospitals have one each."""
    best = numbers[0]
    equal = {each.owner: each for each in reversed(numbers) if each.rank == best.rank and each.owner}
    if best.is_of_another_kind or not best.owner or len({each.value for each in equal.values()}) < 2:
        return best.value
    shown = sorted(equal.values())[:_MOST]
    return " / ".join(f"{each.value} ({each.said})" if each.said else each.value for each in shown)


def _giver(raw: Raw) -> Hospital:
    try:
        return named_by(_assigner(raw)) if raw else NOT_NAMED
    except UNREADABLE:
        return NOT_NAMED


def _use_of(raw: Raw) -> str:
    try:
        return _use(raw) if raw else ""
    except UNREADABLE:
        return ""


def _kinds(raw: Raw) -> set[str]:
    try:
        concept = _type(raw) if raw else None
    except UNREADABLE:
        return set()
    codings = concept.coding if concept is not None else ()
    return {coding.code for coding in codings if coding.code and coding.system in _KINDS}


def _has_ended(raw: Raw, newest: datetime | None) -> bool:
    try:
        end = _period(raw).end if raw else None
    except UNREADABLE:
        return False
    when = read_when(end) if end else None
    if end is None or when is None or newest is None:
        return False
    if when.is_instant:
        return when.at < newest
    return end < newest.isoformat()[: len(end)]  # A day, a month or a year holds to its end.
