"""Times and durations in words, in the zone the record was written in."""

from datetime import datetime, timedelta, tzinfo

_HOUR = timedelta(hours=1)
_DAY = timedelta(days=1)
#: Written out: the names of the system's own language would change the answer.
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def clock(moment: datetime, zone: tzinfo, *, day: bool = True) -> str:
    """Write a moment as a ward writes it: '10:05 on 12 March'.

    Examples:
        >>> from datetime import UTC
        >>> clock(datetime(2026, 3, 12, 10, 5, tzinfo=UTC), UTC)
        '10:05 on 12 March'
    """
    local = moment.astimezone(zone)
    time = f"{local.hour:02d}:{local.minute:02d}"
    return f"{time} on {local.day} {MONTHS[local.month - 1]}" if day else time


def lasting(length: timedelta) -> str:
    """Write a duration roughly, as it is said: '40 minutes', '3 hours', '2 days'.

    Examples:
        >>> lasting(timedelta(minutes=95)), lasting(timedelta(hours=30)), lasting(timedelta(days=4))
        ('2 hours', '30 hours', '4 days')
    """
    minutes = round(length.total_seconds() / 60)
    if length < _HOUR:
        return _count(minutes, "minute")
    if length < 2 * _DAY:
        return _count(round(minutes / 60), "hour")
    return _count(round(minutes / 1440), "day")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
