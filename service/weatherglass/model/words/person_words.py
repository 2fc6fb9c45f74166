"""Who somebody is, in words: what two people check together before they talk about a patient."""

from datetime import datetime, timedelta

from weatherglass.model.subject import Subject
from weatherglass.model.words.clock_words import MONTHS


def numbered(subject: Subject) -> str:
    """Return the hospital number as it is read out; a missing one is said to be missing.

    Examples:
        >>> from weatherglass.model.sources import Origin
        >>> numbered(Subject(origin=Origin("Patient/p"), number="LM-1001"))
        'number LM-1001'
        >>> numbered(Subject(origin=Origin("Patient/p")))
        'number not recorded'
    """
    return f"number {subject.number}" if subject.number else "number not recorded"


def birth(subject: Subject) -> str:
    """Return the birth date as it is read out, as exactly as it is recorded.

    Examples:
        >>> from datetime import date
        >>> from weatherglass.model.sources import Origin
        >>> birth(Subject(origin=Origin("Patient/p"), born=date(1957, 6, 14)))
        'born 14 June 1957'
        >>> birth(Subject(origin=Origin("Patient/p")))
        'birth date not recorded'
    """
    born = subject.born
    if born is None:
        return "birth date not recorded"
    if not subject.born_exactly:
        return f"born {born.year}, day not recorded"
    return f"born {born.day} {MONTHS[born.month - 1]} {born.year}"


def aged(subject: Subject, moment: datetime) -> str:
    """Return an age as it is said: in hours from a known hour of birth, in days, in months, else in years.

    Examples:
        >>> from datetime import UTC, date
        >>> from weatherglass.model.sources import Origin
        >>> now = datetime(2026, 3, 12, tzinfo=UTC)
        >>> [
        ...     aged(Subject(origin=Origin("Patient/p"), born=born), now)
        ...     for born in (date(2026, 3, 11), date(2026, 2, 12), date(2024, 3, 12), None)
        ... ]
        ['1 day old', '1 month old', '2 years old', 'age not recorded']
    """
    years, months = subject.age_at(moment), subject.age_in_months_at(moment)
    if years is None:
        return "age not recorded"
    youngest = subject.youngest_age_at(moment)
    if youngest != years:
        return f"{youngest} or {_counted(years, 'year')}"
    if years >= _SAID_IN_YEARS or months is None or not subject.born_exactly:
        return _counted(years, "year")
    if subject.born_at is not None and _NO_TIME <= moment - subject.born_at < _SAID_IN_HOURS:
        return _counted((moment - subject.born_at) // _HOUR, "hour")
    days = subject.age_in_days_at(moment)
    return _counted(days, "day") if not months and days is not None else _counted(months, "month")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'} old"


#: Our choice: for so long after a birth hours decide.
_SAID_IN_HOURS = timedelta(hours=72)
_HOUR = timedelta(hours=1)
_NO_TIME = timedelta(0)
#: Common practice, no source: younger children are spoken of by their months.
_SAID_IN_YEARS = 2
