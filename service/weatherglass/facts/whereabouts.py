"""Where the patient lies now: intensive care, theatre, emergency department, a ward, or no hospital.

Who stands at the bed depends on it, and with that whom to call and what a low coma scale means. What
is not recorded is unknown and counts as a ward, where nobody is watched by a team of their own.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Final

from weatherglass.knowledge.limits.context_choices import POST_OPERATIVE_FOR
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import OPERATIONS, CarePlace, Stay
from weatherglass.model.record.record import Record
from weatherglass.model.times.dates_alone import is_date_alone
from weatherglass.model.times.known_times import latest


class Whereabouts(StrEnum):
    """Where the patient is at the moment of the review."""

    INTENSIVE_CARE = "in intensive care"
    THEATRE = "in theatre"
    EMERGENCY_DEPARTMENT = "in the emergency department"
    MENTAL_HEALTH = "on a mental health ward"
    WARD = "on a ward"
    HOME = "not in hospital"
    UNKNOWN = "not recorded"

    @property
    def has_own_team(self) -> bool:
        """Whether a team that can take over breathing and circulation is at the bedside already."""
        return self in (Whereabouts.INTENSIVE_CARE, Whereabouts.THEATRE)


HOSPITAL_NOT_NAMED: Final = "hospital not named"

_OF_KIND = {
    CarePlace.WARD: Whereabouts.WARD,
    CarePlace.INTENSIVE_CARE: Whereabouts.INTENSIVE_CARE,
    CarePlace.THEATRE: Whereabouts.THEATRE,
    CarePlace.EMERGENCY_DEPARTMENT: Whereabouts.EMERGENCY_DEPARTMENT,
    CarePlace.MENTAL_HEALTH: Whereabouts.MENTAL_HEALTH,
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


class Place(Plain, frozen=True):
    """Where the patient is, by name: "Larkmoor Ward", "bed 3".

    Attributes:
        ward: The ward; with its hospital where the record tells of several.
        hospital: The hospital, where it is named.
    """

    ward: str = ""
    bed: str = ""
    hospital: str = ""

    @property
    def said(self) -> str:
        """Ward and bed, as they are read."""
        return ", ".join(filter(None, (self.ward, self.bed)))


_WORDS: Final = word_patterns("record-patterns.toml")
_WITH_A_BED: Final = _WORDS["with-a-bed"]


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
    # Some systems name the ward in the name of the bed too, and some the bed in the name of the ward.
    bed = last.bed.removeprefix(ward).lstrip(", ") if last is not None else ""
    in_one = _WITH_A_BED.match(ward) if not bed else None
    if in_one:
        ward, bed = in_one.groups()
    several = any(one.in_hospital and one.hospital.is_other_than(newest.hospital) for one in record.stays)
    if several and not (hospital and hospital in ward):
        ward = ", ".join(filter(None, (ward, hospital or HOSPITAL_NOT_NAMED)))
    return Place(ward, bed, hospital)


# Where the patient is at the moment of the review, as far as the recorded stays tell.

#: Ours: stays with less than this between them are one time in hospital, as in a transfer.
_ONE_TIME = timedelta(hours=24)


class Presence(StrEnum):
    """Whether somebody is in hospital; no record is unknown, neither a yes nor a no."""

    HERE = "in hospital"
    ELSEWHERE = "not in hospital"
    UNKNOWN = "no stay in hospital is recorded"


def open_stays(stays: Iterable[Stay], as_of: datetime) -> tuple[Stay, ...]:
    """Return the stays that have not ended; one that ends at this very moment has ended."""
    return tuple(stay for stay in stays if stay.ends is None or stay.ends > as_of)


def presence(record: Record, as_of: datetime) -> Presence:
    """Tell where the patient is: an open stay decides, an inpatient's or an emergency's first.

    Visits that are over say nothing about an admission that was not sent.
    """
    present = open_stays(record.stays, as_of)
    if any(stay.in_hospital for stay in present):
        return Presence.HERE
    if present or any(stay.in_hospital for stay in record.stays):
        return Presence.ELSEWHERE
    return Presence.UNKNOWN


def discharged_at(record: Record, as_of: datetime) -> datetime | None:
    """Return when the last stay in hospital ended, None while one is open or where none is recorded."""
    if presence(record, as_of) is not Presence.ELSEWHERE:
        return None
    ended = [stay.ends for stay in record.stays if stay.in_hospital and stay.ends is not None]
    return max(ended, default=None)


def in_hospital_since(record: Record, as_of: datetime) -> datetime | None:
    """Return when the present time in hospital began, transfers included; None where that is not recorded."""
    present = [stay for stay in open_stays(record.stays, as_of) if stay.in_hospital]
    if not present or any(stay.starts is None for stay in present):
        return None
    began = min(stay.starts for stay in present if stay.starts is not None)
    before = [stay for stay in record.stays if stay.in_hospital and stay.ends is not None]
    for stay in sorted(before, key=lambda one: one.ends or as_of, reverse=True):
        if stay.ends is not None and began - stay.ends < _ONE_TIME:
            if stay.starts is None:
                return None
            began = min(began, stay.starts)
    return began if began <= as_of else None


def is_surgical(record: Record, as_of: datetime) -> bool:
    """Tell whether surgeons look after the present stay: its service says it, or else an operation in it."""
    present = [stay for stay in open_stays(record.stays, as_of) if stay.in_hospital]
    said = [stay for stay in present if stay.surgical is not None]
    if said:
        return bool(max(said, key=Stay.begun).surgical)
    came = in_hospital_since(record, as_of)
    return came is not None and any(
        came <= one.at and as_of - one.until <= POST_OPERATIVE_FOR.length for one in record.done(*OPERATIONS)
    )


class Due(Plain, frozen=True):
    """When a reason began, and when what it asks for is due.

    Attributes:
        is_undated: Whether that may be past, and no time is recorded that tells: it is due now.
    """

    began: datetime
    at: datetime
    is_undated: bool = False


def due_here(record: Record, as_of: datetime, since: datetime | None, within: timedelta) -> Due:
    """Return when something is due that is asked for within a time from when its reason began.

    Nobody on a ward could answer before the patient came: what began earlier counts from then. A date
    alone may be any moment of its day, and no date at all any that the record covers; what is late only
    by the earliest of them is due now, and is not called late.

    Args:
        record: The patient's.
        as_of: The moment of the review.
        since: When the reason began; None where nothing is dated.
        within: How long after that.
    """
    span = _between(record, as_of, since)
    if span is None:
        return Due(as_of, as_of, is_undated=True)
    earliest, latest = span
    if latest + within <= as_of:
        return Due(latest, latest + within)
    if earliest + within >= as_of:
        return Due(earliest, earliest + within)
    return Due(as_of, as_of, is_undated=earliest != latest)


def _between(record: Record, as_of: datetime, since: datetime | None) -> tuple[datetime, datetime] | None:
    """Return the earliest and the latest that a reason began; None where nothing dates even the record."""
    came = in_hospital_since(record, as_of)
    if since is None:
        first = came or _first_entry(record)
        if first is None or first > as_of:
            return None  # Each look would be the first.
        earliest, latest = first, as_of
    elif is_date_alone(since):
        earliest = datetime(since.year, since.month, since.day, tzinfo=record.zone).astimezone(UTC)
        latest = earliest + timedelta(days=1)
    else:
        earliest = latest = since
    not_before = came or earliest
    return min(max(earliest, not_before), as_of), min(max(latest, not_before), as_of)


def _first_entry(record: Record) -> datetime | None:
    numbers = (each.items[0].at for each in record.numbers.values() if each.items)
    codes = (each.items[0].at for each in record.codes.values() if each.items)
    return min((*numbers, *codes, *(dose.at for dose in record.administrations)), default=None)
