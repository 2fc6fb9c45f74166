"""Times and durations in words, in the zone the record was written in."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from weatherglass.model.once import cached_property
from weatherglass.model.times.dates_alone import is_date_alone, is_month_alone, is_year_alone

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


@dataclass(frozen=True)
class Clock:
    """How the moments of one review are said: in the record's own zone, the year where it matters.

    Attributes:
        now: The moment of the review; None where that is not known, and then every year is said.
    """

    zone: tzinfo
    now: datetime | None

    def full(self, moment: datetime) -> str:
        """Write a moment as a ward writes it, the year only when it could be mistaken.

        Of what was recorded as a date alone, only the date is written, here and below.

        Examples:
            >>> from datetime import UTC
            >>> clock = Clock(UTC, datetime(2026, 3, 12, 10, 30, tzinfo=UTC))
            >>> clock.full(datetime(2026, 3, 12, 10, 5, tzinfo=UTC))
            '10:05 on 12 March'
            >>> clock.full(datetime(2025, 6, 20, 10, 5, tzinfo=UTC))
            '10:05 on 20 June 2025'
            >>> from weatherglass.model.times.dates_alone import DATE_ALONE
            >>> clock.full(datetime(2025, 6, 20, 12, tzinfo=DATE_ALONE))
            '20 June 2025'
        """
        local = self.local(moment)
        day = _day(moment, local, year=self._is_far(moment, local))
        return day if is_date_alone(moment) else f"{_time(local)} on {day}"

    def at(self, moment: datetime) -> str:
        """Write a moment inside a sentence: 'at 10:05 on 12 March', 'on 20 June'."""
        if not is_date_alone(moment):
            return f"at {self.full(moment)}"
        whole = is_month_alone(moment) or is_year_alone(moment)
        return f"{'in' if whole else 'on'} {self.day(moment)}"

    def dated(self, moment: datetime) -> str:
        """Write a moment with its year, whatever it is: '10:05 on 12 March 2026'."""
        local = self.local(moment)
        day = _day(moment, local, year=True)
        return day if is_date_alone(moment) else f"{_time(local)} on {day}"

    def day(self, moment: datetime) -> str:
        """Write the day of a moment: '12 March'."""
        local = self.local(moment)
        return _day(moment, local, year=self._is_far(moment, local))

    def time(self, moment: datetime) -> str:
        """Write the time of day alone: '10:05'; the day where no time is known."""
        return self.day(moment) if is_date_alone(moment) else _time(self.local(moment))

    def spoken(self, moment: datetime) -> str:
        """Write a moment where the day of the review stands above: '10:05' of that day, else as `full`."""
        return self.time(moment) if self.is_today(moment) and not is_date_alone(moment) else self.full(moment)

    def at_spoken(self, moment: datetime) -> str:
        """Write the same inside a sentence: 'at 10:05', 'at 22:00 on 11 March', 'on 20 June'."""
        return self.at(moment) if is_date_alone(moment) else f"at {self.spoken(moment)}"

    def short(self, moment: datetime) -> str:
        """Write a moment for a list: '12 Mar 10:05', '20 Jun 2025 10:05'."""
        local = self.local(moment)
        day = _day(moment, local, year=self._is_far(moment, local), letters=3)
        return day if is_date_alone(moment) else f"{day} {_time(local)}"

    def day_in_short(self, moment: datetime) -> str:
        """Write the day of a moment for a list: '12 Mar', '20 Jun 2025'."""
        local = self.local(moment)
        return _day(moment, local, year=self._is_far(moment, local), letters=3)

    def apart(self, earlier: datetime, later: datetime) -> str:
        """Write the time between two moments, in days where only the date of one is known.

        Examples:
            >>> from datetime import UTC
            >>> from weatherglass.model.times.dates_alone import DATE_ALONE
            >>> clock = Clock(UTC, None)
            >>> clock.apart(datetime(2026, 3, 9, 12, tzinfo=DATE_ALONE), datetime(2026, 3, 10, 1, tzinfo=UTC))
            '1 day'
        """
        if not (is_date_alone(earlier) or is_date_alone(later)):
            return lasting(later - earlier)
        days = (self.local(later).date() - self.local(earlier).date()).days
        return _count(days, "day") if days else "less than a day"

    def is_today(self, moment: datetime) -> bool:
        """Tell whether a moment is on the day of the review."""
        return self._here is not None and self._here.date() == self.local(moment).date()

    def local(self, moment: datetime) -> datetime:
        """Return a moment in the record's own zone; a date alone is the same date in every zone."""
        return moment if is_date_alone(moment) else moment.astimezone(self.zone)

    @cached_property
    def _here(self) -> datetime | None:
        """The moment of the review in the record's own zone."""
        return self.local(self.now) if self.now is not None else None

    def _is_far(self, moment: datetime, local: datetime) -> bool:
        here = self._here
        return here is None or local.year != here.year or abs(here - moment) > _FAR


def _time(local: datetime) -> str:
    return f"{local.hour:02d}:{local.minute:02d}"


def _day(moment: datetime, local: datetime, *, year: bool, letters: int | None = None) -> str:
    """Write a day; how much of it was recorded is asked of the moment itself, which most often is in UTC."""
    month = MONTHS[local.month - 1][:letters]
    if is_date_alone(moment):
        if is_year_alone(moment):
            return str(local.year)
        if is_month_alone(moment):
            return f"{month} {local.year}"
    return f"{local.day} {month} {local.year}" if year else f"{local.day} {month}"


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


def exactly(length: timedelta) -> str:
    """Write a duration to the minute, for how long ago something was due.

    Examples:
        >>> exactly(timedelta(minutes=635)), exactly(timedelta(minutes=20)), exactly(timedelta(hours=52))
        ('10 h 35 min', '20 min', '2 days 4 h')
    """
    minutes = int(length.total_seconds() // 60)
    days, rest = divmod(minutes, 1440)
    hours, minutes = divmod(rest, 60)
    if days:
        return _count(days, "day") + (f" {hours} h" if hours else "")
    return " ".join(
        filter(None, (f"{hours} h" if hours else "", f"{minutes} min" if minutes or not hours else ""))
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
