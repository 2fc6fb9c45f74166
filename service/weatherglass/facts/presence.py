"""Where the patient is at the moment of the review, as far as the recorded stays tell."""

from collections.abc import Iterable
from datetime import datetime
from enum import StrEnum

from weatherglass.model.record import Record, Stay


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
