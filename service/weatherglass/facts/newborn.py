"""Was a newborn born early, as far as the record tells?"""

import re
from typing import Final

from weatherglass.model.record import Record
from weatherglass.model.signals import Signal

_EARLY: Final = re.compile(
    r"\b(?:prematur\w+|pre-?term|(?:born|birth|delivered|gestation)\b[^.;]*\b(?:2[2-9]|3[0-7])(?:\s*\+\s*[0-6])?\s*w\w*)"
)
#: Weeks from which a baby counts as born at term here.
_TERM: Final = 38


def is_born_early(record: Record) -> bool:
    """Tell whether a problem or a gestation on a newborn's own record says less than 38 weeks."""
    weeks = record.series(Signal.GESTATION).latest
    if weeks is not None and weeks.spread is None and weeks.value < _TERM:
        return True
    return any(one.active and _EARLY.search(one.text.casefold()) for one in record.conditions)
