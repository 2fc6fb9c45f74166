"""Who a record is about: the person, as far as a rule or a reader needs to know."""

from calendar import monthrange
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final

from weatherglass.model.plain import Plain, replace
from weatherglass.model.sources import Origin
from weatherglass.model.times.dates_alone import is_date_alone


class Sex(StrEnum):
    """Administrative sex as recorded; the equations of the kidneys need it."""

    FEMALE = "female"
    MALE = "male"
    OTHER = "other"
    UNKNOWN = "unknown"


#: No date on earth is further ahead of UTC.
_EAST: Final = timedelta(hours=14)


_LAST_MONTH = 12


class Subject(Plain, frozen=True, kw_only=True):
    """Who the record is about.

    Attributes:
        origin: How the request refers to the person.
        name: As recorded, for display only.
        number: The hospital's own number for the person, for display only; empty when none is recorded.
        born: Date of birth, or its first possible day when the record holds less.
        born_exactly: False when only the year or month is recorded.
        born_at: The moment of birth, where its hour is recorded.
        replaced_by: How the record refers to the person's other entry that stands in the place of this one,
            where that one was not read together with it; to be said, because the rest may be there.
        inactive: Whether this entry is marked as no longer in use.
        doubtful: Whether the record may be of two people, because two entries contradict each other.
        died_at: When the person died, where that is recorded with `deceased`.
    """

    origin: Origin
    name: str = ""
    number: str = ""
    born: date | None = None
    born_exactly: bool = True
    born_at: datetime | None = None
    sex: Sex = Sex.UNKNOWN
    deceased: bool = False
    died_at: datetime | None = None
    replaced_by: str = ""
    inactive: bool = False
    doubtful: bool = False

    def has_died_by(self, moment: datetime) -> bool:
        """Tell whether a death is recorded that a moment knows of; one without a date is known to all."""
        if not self.deceased or self.died_at is None:
            return self.deceased
        if is_date_alone(self.died_at):
            return self.died_at.date() <= (moment + _EAST).date()
        return self.died_at <= moment

    def age_at(self, moment: datetime) -> int | None:
        """Return the age in completed years, or None when the birth date is not recorded."""
        if self.born is None:
            return None
        day = moment.date()
        had_birthday = (day.month, day.day) >= (self.born.month, self.born.day)
        return day.year - self.born.year - (0 if had_birthday else 1)

    def youngest_age_at(self, moment: datetime) -> int | None:
        """Return the lowest age in completed years that the birth date allows: the same where it is exact."""
        if self.born is None or self.born_exactly:
            return self.age_at(moment)
        # A year alone begins in January; a month alone is over before the next one.
        month = _LAST_MONTH if self.born.month == 1 else self.born.month
        last = self.born.replace(month=month, day=monthrange(self.born.year, month)[1])
        return replace(self, born=min(last, max(self.born, moment.date()))).age_at(moment)

    def age_in_months_at(self, moment: datetime) -> int | None:
        """Return the age in completed months, or None when the birth date is not recorded."""
        if self.born is None:
            return None
        day = moment.date()
        months = (day.year - self.born.year) * 12 + day.month - self.born.month
        return months - (0 if day.day >= self.born.day else 1)

    def age_in_days_at(self, moment: datetime) -> int | None:
        """Return the age in days, or None when the birth date is not recorded."""
        return None if self.born is None else (moment.date() - self.born).days
