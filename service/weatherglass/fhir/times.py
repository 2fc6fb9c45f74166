"""FHIR dates and times: strict, with their offset and their precision kept.

A full dateTime becomes an aware datetime in UTC; the offset it was written with is
kept apart, so that people read times in the record's own zone. A date without a
time keeps that it is only a date: it can serve a baseline counted in days, never a
window counted in hours. A year or a month alone is not a time.
"""

import re
from datetime import UTC, date, datetime, timedelta, timezone
from enum import IntEnum

from weatherglass.model.plain import Plain
from weatherglass.model.times.dates_alone import DATE_ALONE, MONTH_ALONE, YEAR_ALONE


class Precision(IntEnum):
    """How much of a time was written down."""

    YEAR = 0
    MONTH = 1
    DAY = 2
    INSTANT = 3


class When(Plain, frozen=True):
    """A point in time as recorded.

    `at` is in UTC; for a date alone it is noon UTC of that day, which is at most
    14 hours from any moment of the day anywhere on earth. What was not written down is
    marked as such (`model.times.dates_alone`).
    """

    at: datetime
    precision: Precision
    offset: timezone

    @property
    def is_instant(self) -> bool:
        """Whether its time of day was written down."""
        return self.precision is Precision.INSTANT

    @property
    def has_day(self) -> bool:
        """Whether it names its day at least."""
        return self.precision >= Precision.DAY

    @property
    def begins(self) -> datetime:
        """The moment itself; of a date alone its midnight in UTC."""
        return self.at if self.is_instant else self.at.replace(hour=0)

    @property
    def ends(self) -> datetime:
        """The moment itself; of a day, a month or a year alone its last second."""
        if self.is_instant:
            return self.at
        if self.has_day:
            return self.at.replace(hour=23, minute=59, second=59)
        year, month = self.at.year, self.at.month if self.precision is Precision.MONTH else 12
        following = datetime(year + month // 12, month % 12 + 1, 1, tzinfo=UTC)
        return following - timedelta(seconds=1)


# FHIR R4 dateTime: seconds and a zone are required once there is a time of day.
_FULL = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:(?:[0-5]\d|60)(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)", re.ASCII)
_PARTIAL = re.compile(r"(\d{4})(?:-(\d\d)(?:-(\d\d))?)?", re.ASCII)
_MARKS = {Precision.YEAR: YEAR_ALONE, Precision.MONTH: MONTH_ALONE, Precision.DAY: DATE_ALONE}
_NOON = timedelta(hours=12)
#: Ours: nobody's record reaches beyond, and windows can be counted from any moment between.
_FIRST_YEAR, _LAST_YEAR = "1850", "2150"
#: More than any clock writes: nanoseconds and an offset are 35 characters.
_LONGEST = 40
#: Where the seconds stand in a full time; a leap second is read as the one before it, as clocks have none.
_SECONDS = slice(17, 19)


def read_when(text: str) -> When | None:
    """Read a FHIR date, dateTime or instant; None when it is not one, or is beyond any record.

    Examples:
        >>> read_when("2026-03-01T10:00:00+02:00").at.isoformat()
        '2026-03-01T08:00:00+00:00'
        >>> read_when("2026-03").precision.name
        'MONTH'
        >>> read_when("2026-03-01T10:00") is None
        True
    """
    if len(text) > _LONGEST or not _FIRST_YEAR <= text[:4] <= _LAST_YEAR:
        return None
    try:
        if len(text) >= 20 and _FULL.fullmatch(text):
            moment = datetime.fromisoformat(_without_leap(text))
            offset = moment.tzinfo
            if not isinstance(offset, timezone):  # pragma: no cover - fromisoformat gives timezones
                return None
            return When(moment.astimezone(UTC), Precision.INSTANT, offset)
        partial = _PARTIAL.fullmatch(text)
        if partial is None:
            return None
        year, month, day = (int(part) if part else 0 for part in partial.groups())
        precision = Precision.DAY if day else Precision.MONTH if month else Precision.YEAR
        start = datetime(year, month or 1, day or 1, tzinfo=_MARKS[precision])
        return When(start + _NOON, precision, UTC)
    except (ValueError, OverflowError):
        return None


def _without_leap(text: str) -> str:
    return f"{text[: _SECONDS.start]}59{text[_SECONDS.stop :]}" if text[_SECONDS] == "60" else text


def read_instant(text: str) -> datetime | None:
    """Read a FHIR dateTime that has a time of day; None of any other."""
    when = read_when(text)
    return when.at if when is not None and when.is_instant else None


def read_date(text: str) -> tuple[date, bool] | None:
    """Read a birth date: the first day it can be, and whether that day is exact."""
    when = read_when(text)
    if when is None or when.is_instant:
        return None
    return when.at.date(), when.precision is Precision.DAY


def write_instant(moment: datetime, zone: "timezone | None" = None) -> str:
    """Write an instant as a FHIR dateTime, in a zone when one is given.

    Examples:
        >>> write_instant(datetime(2026, 3, 1, 8, tzinfo=UTC), timezone(timedelta(hours=2)))
        '2026-03-01T10:00:00+02:00'
    """
    text = moment.astimezone(zone or UTC).isoformat()
    return text[:-6] + "Z" if zone is None and text.endswith("+00:00") else text
