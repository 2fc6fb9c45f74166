"""Times and durations in words, in the zone the record was written in."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final

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


#: Ours: beyond this a day and a month alone could be of this year or of the last.
_FAR = timedelta(days=180)
#: What `Clock.full` says, for who looks for it in a sentence.
A_MOMENT: Final = rf"\d\d:\d\d on \d{{1,2}} (?:{'|'.join(MONTHS)})(?: \d{{4}})?"


@dataclass(frozen=True, slots=True)
class Clock:
    """How the moments of one review are said: in the record's own zone, the year where it matters.

    Attributes:
        zone: The record's own zone.
        now: The moment of the review; None where that is not known, and then every year is said.
    """

    zone: tzinfo
    now: datetime | None

    def full(self, moment: datetime) -> str:
        """Write a moment as a ward writes it, the year only when it could be mistaken.

        Examples:
            >>> from datetime import UTC
            >>> clock = Clock(UTC, datetime(2026, 3, 12, 10, 30, tzinfo=UTC))
            >>> clock.full(datetime(2026, 3, 12, 10, 5, tzinfo=UTC))
            '10:05 on 12 March'
            >>> clock.full(datetime(2025, 6, 20, 10, 5, tzinfo=UTC))
            '10:05 on 20 June 2025'
        """
        local = moment.astimezone(self.zone)
        return f"{local.hour:02d}:{local.minute:02d} on {self._day(local)}"

    def at(self, moment: datetime) -> str:
        """Write a moment inside a sentence: 'at 10:05 on 12 March'."""
        return f"at {self.full(moment)}"

    def dated(self, moment: datetime) -> str:
        """Write a moment with its year, whatever it is: '10:05 on 12 March 2026'."""
        local = moment.astimezone(self.zone)
        return f"{local.hour:02d}:{local.minute:02d} on {_day(local)} {local.year}"

    def day(self, moment: datetime) -> str:
        """Write the day of a moment: '12 March'."""
        return self._day(moment.astimezone(self.zone))

    def time(self, moment: datetime) -> str:
        """Write the time of day alone: '10:05'."""
        local = moment.astimezone(self.zone)
        return f"{local.hour:02d}:{local.minute:02d}"

    def short(self, moment: datetime) -> str:
        """Write a moment for a list: '12 Mar 10:05', '20 Jun 2025 10:05'."""
        return f"{self.day_in_short(moment)} {self.time(moment)}"

    def day_in_short(self, moment: datetime) -> str:
        """Write the day of a moment for a list: '12 Mar', '20 Jun 2025'."""
        local = moment.astimezone(self.zone)
        year = f" {local.year}" if self._is_far(local) else ""
        return f"{local.day} {MONTHS[local.month - 1][:3]}{year}"

    def is_today(self, moment: datetime) -> bool:
        """Tell whether a moment is on the day of the review."""
        return (
            self.now is not None
            and self.now.astimezone(self.zone).date() == moment.astimezone(self.zone).date()
        )

    def _day(self, local: datetime) -> str:
        return f"{_day(local)} {local.year}" if self._is_far(local) else _day(local)

    def _is_far(self, local: datetime) -> bool:
        now = self.now
        if now is None or local.year != now.astimezone(self.zone).year:
            return True
        return abs(now - local) > _FAR


def _day(local: datetime) -> str:
    return f"{local.day} {MONTHS[local.month - 1]}"


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
