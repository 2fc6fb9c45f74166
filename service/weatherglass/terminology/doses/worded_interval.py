"""How many days lie between two doses, and how many a course lasts, where the words of a dosage say so."""

from decimal import Decimal
from typing import Final

from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology.doses.german_charts import plainly

_COUNTS: Final = {
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "ten": 10,
    "twelve": 12,
}
_NUMBER: Final = rf"(\d{{1,2}}|{'|'.join(_COUNTS)})"
#: A month is the longest one, so that no dose is late before its day.
_DAYS: Final = {"day": 1, "week": 7, "month": 31, "year": 366}
#: "Every 2 weeks", "4-weekly", "q4w".
_COUNTED: Final = when_asked(
    rf"\b(?:every|each) {_NUMBER} ?(day|week|month|year)s?\b|\b{_NUMBER}[ -]?(week|month|year)ly\b"
    rf"|\bq ?{_NUMBER} ?(w|m)\b"
)
_LETTERS: Final = {"w": "week", "m": "month"}
_WORDS: Final = {
    r"\bfortnight(?:ly)?\b|\b(?:alternate|every other|every second) weeks?\b": 14,
    r"\b(?:every|each|once a|a|per) month\b|\bmonthly\b": 31,
    r"\bquarterly\b": 92,
    r"\b(?:every|each|once a|per) year\b|\b(?:yearly|annually)\b": 366,
    r"\b(?:every|each|once a|a|per) week\b|\bweekly\b": 7,
}
_PATTERNS: Final = tuple((when_asked(words), days) for words, days in _WORDS.items())
#: What is given on several days, or changes.
_NOT_READ: Final = when_asked(r"\b(?:twice|two times|three times|then|for \d+ doses|loading|day \d)\b")


def days_between(text: str) -> Decimal | None:
    """Return the days between two doses; None where the words do not say it plainly.

    Examples:
        >>> [str(days_between(each)) for each in ("100 mg IM every 2 weeks", "4-weekly", "monthly")]
        ['14', '28', '31']
        >>> [str(days_between(each)) for each in ("alle 4 Wochen", "monatlich", "1x wöchentlich")]
        ['28', '31', '7']
        >>> [str(days_between(each)) for each in ("60 mg every six months", "fortnightly", "weekly")]
        ['186', '14', '7']
        >>> days_between("twice weekly"), days_between("5 mg daily"), days_between("day 1, then monthly")
        (None, None, None)
    """
    said = plainly(text)
    if _NOT_READ.search(said):
        return None
    found = _COUNTED.search(said)
    if found is not None:
        number, unit = next((found[at], found[at + 1]) for at in range(1, 7, 2) if found[at] is not None)
        days = _DAYS[_LETTERS.get(unit, unit)]
        return Decimal(_COUNTS.get(number) or number) * days
    return next((Decimal(days) for pattern, days in _PATTERNS if pattern.search(said)), None)


_COURSE: Final = when_asked(rf"\bfor {_NUMBER}(?:/7| ?days?)\b|\b{_NUMBER}[ -]?day course\b")
#: Of what changes on the way, or lasts at least so long.
_CHANGES: Final = when_asked(r"\b(?:then|reduc\w+|wean\w*|taper\w*|increas\w+|review|minimum|at least)\b")


def course_of(text: str) -> int | None:
    """Return for how many days a course is written; None where the words name none, or change its dose.

    Examples:
        >>> course_of("30 mg once daily for 5 days"), course_of("100 mg daily, seven day course")
        (5, 7)
        >>> course_of("50 mg täglich für 3 Tage")
        3
        >>> course_of("40 mg for 3 days then 20 mg"), course_of("30 mg daily")
        (None, None)
    """
    said = plainly(text)
    found = _COURSE.findall(said)
    if len(found) != 1 or _CHANGES.search(said):
        return None
    number = found[0][0] or found[0][1]
    return _COUNTS.get(number) or int(number)
