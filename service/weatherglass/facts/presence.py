"""Where the patient is at the moment of the review, as far as the recorded stays tell."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from weatherglass.model.dates_alone import is_date_alone
from weatherglass.model.record import Record, Stay

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


def known_here_since(record: Record, as_of: datetime, began: datetime) -> datetime:
    """Return the moment to count a reason from: of a date alone the end of its day.

    Nobody on a ward could answer before the patient came: what began earlier counts from then.
    """
    came = in_hospital_since(record, as_of)
    if not is_date_alone(began):
        return min(began if came is None else max(began, came), as_of)
    day = datetime(began.year, began.month, began.day, tzinfo=record.zone)
    return min((day + timedelta(days=1)).astimezone(UTC), as_of)
