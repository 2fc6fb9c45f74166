"""What was recorded as a date alone, or as a month or a year alone, without a time of day.

Such a date still needs a place on the line of time, so that it can be put in order: the
readers give it one (noon, or an end of the day). That time of day is nobody's record and
must never be said. The mark travels as the zone of the moment: every comparison and every
sum works as with any other moment in UTC, and what is counted on from a date is again a date.
"""

from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Final

_ALONE = "date alone", "month alone", "year alone"
_NOTHING = timedelta(0)
#: UTC for every comparison; their names say how much was recorded.
DATE_ALONE: Final = timezone(_NOTHING, _ALONE[0])
MONTH_ALONE: Final = timezone(_NOTHING, _ALONE[1])
#: UTC for want of another: no time of the record has an offset.
NO_ZONE: Final = timezone(_NOTHING, "UTC")
_LAST = time(23, 59, 59)
_A_DAY = timedelta(days=1)
YEAR_ALONE: Final = timezone(_NOTHING, _ALONE[2])


def is_date_alone(moment: datetime) -> bool:
    """Tell whether no time of day was recorded for a moment.

    Examples:
        >>> noon = datetime(2025, 6, 20, 12, tzinfo=DATE_ALONE)
        >>> is_date_alone(noon), is_date_alone(noon + timedelta(days=2)), is_date_alone(noon.astimezone(UTC))
        (True, True, False)
        >>> noon == noon.astimezone(UTC)
        True
    """
    zone = moment.tzinfo
    # Nearly every moment is in UTC itself, which is told fastest.
    return zone is not UTC and zone is not None and zone.tzname(moment) in _ALONE


def is_month_alone(moment: datetime) -> bool:
    """Tell whether no day was recorded, only a month and its year."""
    return moment.tzinfo is not UTC and moment.tzname() == _ALONE[1]


def is_year_alone(moment: datetime) -> bool:
    """Tell whether only a year was recorded."""
    return moment.tzinfo is not UTC and moment.tzname() == _ALONE[2]


def local_date(moment: datetime, zone: tzinfo) -> date:
    """Return the calendar day of a moment where the record was written; of a date alone that date.

    Examples:
        >>> east = timezone(timedelta(hours=4))
        >>> local_date(datetime(2026, 3, 11, 22, tzinfo=UTC), east).isoformat()
        '2026-03-12'
        >>> local_date(datetime(2026, 3, 12, 12, tzinfo=DATE_ALONE), east).isoformat()
        '2026-03-12'
    """
    return (moment if is_date_alone(moment) else moment.astimezone(zone)).date()


def latest_of(began: datetime) -> datetime:
    """Return the latest that something can have begun: of a date alone, kept as its midnight, the day's end.

    Examples:
        >>> day = datetime(2026, 3, 12, tzinfo=DATE_ALONE)
        >>> latest_of(day).day, latest_of(day.astimezone(UTC)).day
        (13, 12)
    """
    return began + _A_DAY if is_date_alone(began) else began


def known_by(at: datetime, moment: datetime, zone: tzinfo) -> datetime | None:
    """Return when something is known to have been, seen from a moment; None when it is later.

    A date alone stands at noon UTC, and yet is known on its whole day and after it: before that noon it is
    put at the moment itself, or at the end of its day, with its date and its mark kept.

    Examples:
        >>> noon, seven = datetime(2026, 3, 12, 12, tzinfo=DATE_ALONE), datetime(2026, 3, 12, 7, tzinfo=UTC)
        >>> known_by(noon, seven, UTC) == seven, known_by(noon, seven - timedelta(days=1), UTC)
        (True, None)
    """
    if at <= moment:
        return at
    if not is_date_alone(at) or is_month_alone(at) or is_year_alone(at):
        return None
    here = moment.astimezone(zone)
    if at.date() > here.date():
        return None
    marked = timezone(here.utcoffset() or _NOTHING, _ALONE[0])
    if at.date() < here.date():
        # Far east of Greenwich noon there is past midnight here, and the day is over.
        return datetime.combine(at.date(), _LAST, tzinfo=marked)
    return here.replace(tzinfo=marked)
