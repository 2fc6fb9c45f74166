"""Where the patient lies now: intensive care, theatre, emergency department, a ward, or no hospital.

Who stands at the bed depends on it, and with that whom to call and what a low coma scale means. What
is not recorded is unknown and counts as a ward, where nobody is watched by a team of their own.
"""

from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

from weatherglass.facts.presence import Presence, open_stays, presence
from weatherglass.model.known_times import latest
from weatherglass.model.record.care import CarePlace, Stay
from weatherglass.model.record.record import Record


class Whereabouts(StrEnum):
    """Where the patient is at the moment of the review."""

    INTENSIVE_CARE = "in intensive care"
    THEATRE = "in theatre"
    EMERGENCY_DEPARTMENT = "in the emergency department"
    WARD = "on a ward"
    HOME = "not in hospital"
    UNKNOWN = "not recorded"

    @property
    def has_own_team(self) -> bool:
        """Whether a team that can take over breathing and circulation is at the bedside already."""
        return self in (Whereabouts.INTENSIVE_CARE, Whereabouts.THEATRE)


_OF_KIND = {
    CarePlace.WARD: Whereabouts.WARD,
    CarePlace.INTENSIVE_CARE: Whereabouts.INTENSIVE_CARE,
    CarePlace.THEATRE: Whereabouts.THEATRE,
    CarePlace.EMERGENCY_DEPARTMENT: Whereabouts.EMERGENCY_DEPARTMENT,
}


def whereabouts(record: Record, as_of: datetime) -> Whereabouts:
    """Return where the patient is: the place moved to last; a ward where two begin at once."""
    found = presence(record, as_of)
    if found is not Presence.HERE:
        return Whereabouts.UNKNOWN if found is Presence.UNKNOWN else Whereabouts.HOME
    stays = _begun(record, as_of)
    if not stays:
        return Whereabouts.UNKNOWN
    newest = max(stay.starts for stay in stays if stay.starts is not None)
    kinds = {stay.kind for stay in stays if stay.starts == newest}
    return _OF_KIND[kinds.pop()] if len(kinds) == 1 else Whereabouts.WARD


def here_since(record: Record, as_of: datetime) -> datetime | None:
    """Return when the stay at the present place began; None where that is not recorded."""
    return latest(stay.starts for stay in _begun(record, as_of))


def _begun(record: Record, as_of: datetime) -> tuple[Stay, ...]:
    present = open_stays(record.stays, as_of)
    return tuple(s for s in present if s.in_hospital and s.starts is not None and s.starts <= as_of)


class Place(NamedTuple):
    """Where the patient is, by name: "Larkmoor Ward", "bed 3".

    Attributes:
        ward: The ward; with its hospital where the record tells of several.
        bed: The bed.
        hospital: The hospital, where it is named.
    """

    ward: str = ""
    bed: str = ""
    hospital: str = ""

    @property
    def said(self) -> str:
        """Ward and bed, as they are read."""
        return ", ".join(filter(None, (self.ward, self.bed)))


def place_of(record: Record, as_of: datetime) -> Place:
    """Return the place moved to last; one outside hospital only of somebody who is in none.

    A ward of another hospital than that of the stay begun last is where the patient has left.
    """
    present = open_stays(record.stays, as_of)
    present = tuple(stay for stay in present if stay.in_hospital) or present
    if not present:
        return Place()
    newest = max(present, key=Stay.begun)
    named = [stay for stay in present if stay.place and not stay.hospital.is_other_than(newest.hospital)]
    last = max(named, key=Stay.begun, default=None)
    hospital = newest.hospital.name or (last.hospital.name if last is not None else "")
    ward = last.place if last is not None else ""
    # Some systems name the ward in the name of the bed too.
    bed = last.bed.removeprefix(ward).lstrip(", ") if last is not None else ""
    several = any(one.in_hospital and one.hospital.is_other_than(newest.hospital) for one in record.stays)
    if several and not (hospital and hospital in ward):
        ward = ", ".join(filter(None, (ward, hospital or "hospital not named")))
    return Place(ward, bed, hospital)
