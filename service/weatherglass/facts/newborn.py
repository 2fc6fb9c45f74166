"""Is this a newborn, and one born early, as far as the record tells?"""

from datetime import datetime
from typing import Final

from weatherglass.knowledge.limits import newborn_jaundice
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

_WORDS: Final = word_patterns("record-patterns.toml")
_EARLY: Final = _WORDS["born-early"]
#: Weeks from which a baby counts as born at term here.
_TERM: Final = 38
_WEEKS: Final = _WORDS["weeks-at-birth"]


def weeks_when_born_early(record: Record) -> int | None:
    """Return the completed weeks at which a newborn was born early; None where nobody wrote them."""
    weeks = _early_gestation(record)
    if weeks is not None:
        return weeks
    early = (one.text.casefold() for one in record.conditions if one.active)
    found = [_WEEKS.search(text) for text in early if _EARLY.search(text)]
    return next((int(one[1]) for one in found if one is not None), None)


def is_newborn(record: Record, moment: datetime) -> bool:
    """Tell whether somebody is in the first 28 days of life at a moment."""
    days = record.subject.age_in_days_at(moment.astimezone(record.zone))
    return days is not None and days < newborn_jaundice.DAYS.length.days


def is_born_early(record: Record) -> bool:
    """Tell whether a problem or a gestation on a newborn's own record says less than 38 weeks."""
    if _early_gestation(record) is not None:
        return True
    return any(one.active and _EARLY.search(one.text.casefold()) for one in record.conditions)


def is_early_newborn(record: Record, moment: datetime) -> bool:
    """Tell whether somebody is a newborn at a moment, and was born early."""
    return is_newborn(record, moment) and is_born_early(record)


def _early_gestation(record: Record) -> int | None:
    weeks = record.series(Signal.GESTATION).latest
    return int(weeks.value) if weeks is not None and weeks.is_exact and weeks.value < _TERM else None
