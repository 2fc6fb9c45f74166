"""Which hospital an encounter is of, and whether stays of several are open at once.

HL7 FHIR R4: `Encounter.serviceProvider`, else the organization that manages the place or a place around it,
else a place of the level "site" (location-physical-type). An organization is named by what the reference
shows beside itself; its own entry is not read.
"""

from collections.abc import Iterable, Sequence

from weatherglass.fhir.datatypes import Reference
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import Encounter, Location
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData
from weatherglass.fhir.reading.people.addresses import server_of, split_address
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.hospital import NOT_NAMED, Hospital
from weatherglass.model.record.care import Stay

_SITE = "si"
_AT_ONCE = (
    "Stays in several hospitals are open at once; where the patient is was read from the one begun last. "
    "Send the end of the others (Encounter.period.end)."
)


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
    return found._replace(name=found.name or site)


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
            collector.note(Severity.WARNING, IssueKey.CONFLICT, data.key, _AT_ONCE, data.key)


def hospital_now(stays: Iterable[Stay]) -> Hospital:
    """Return the hospital of the stay that goes on and began last."""
    still = [stay for stay in stays if stay.ends is None and stay.in_hospital]
    return max(still, key=Stay.begun).hospital if still else NOT_NAMED
