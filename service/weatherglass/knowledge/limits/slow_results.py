"""Results that say nothing of an acute illness, by the words of their names.

Data only, in `slow-results.csv`. Not read, they are listed with what was not read and take no place in a
head, nor that of "nothing urgent found", unless their sender called them critical.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.model.sources import Source
from weatherglass.model.words.patterns import when_asked

PUBLIC_KEY: Final = "slow-results"


class SlowResult(Columns, frozen=True):
    """Words of a name, matched in casefolded text."""

    words: str
    source: Source


SLOW: Final = csv_rows("limits/slow-results.csv", SlowResult)
_ANY: Final = when_asked("|".join(f"(?:{row.words})" for row in SLOW))


def says_nothing_of_today(name: str) -> bool:
    """Tell whether what has this name says nothing of an acute illness.

    Examples:
        >>> says_nothing_of_today("Cholesterol in LDL"), says_nothing_of_today("Cholinesterase")
        (True, False)
    """
    return _ANY.search(name.casefold()) is not None
