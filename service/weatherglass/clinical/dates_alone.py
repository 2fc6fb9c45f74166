"""What was recorded as a date alone, or as a month or a year alone, without a time of day.

Such a date still needs a place on the line of time, so that it can be put in order: the
readers give it one (noon, or an end of the day). That time of day is nobody's record and
must never be said. The mark travels as the zone of the moment: every comparison and every
sum works as with any other moment in UTC, and what is counted on from a date is again a date.
"""

from datetime import UTC, datetime, timedelta, timezone
from typing import Final

_ALONE = "date alone", "month alone", "year alone"
_NOTHING = timedelta(0)
#: UTC for every comparison; their names say how much was recorded.
DATE_ALONE: Final = timezone(_NOTHING, _ALONE[0])
MONTH_ALONE: Final = timezone(_NOTHING, _ALONE[1])
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
