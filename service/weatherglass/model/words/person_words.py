"""Who somebody is, in words: what two people check together before they talk about a patient."""

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
