"""How orders write the unit of a dose: a weight, units of insulin, a volume, or what is counted.

The rows stand in `dose-units.csv`; the words are those that charts use.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_rows


class DoseUnit(Columns, frozen=True):
    """One unit, with the words for it in small letters; `milligrams` where it is a weight."""

    unit: str
    words: tuple[str, ...]
    milligrams: Decimal | None = None
    remark: str = ""


_ROWS: Final = csv_rows("medicines/limits/dose-units.csv", DoseUnit)
#: What each word means: "mcg" is "microgram", "capsules" are "tablet".
UNITS: Final[Mapping[str, str]] = {word: row.unit for row in _ROWS for word in row.words}
#: What one of a unit weighs.
MILLIGRAMS: Final[Mapping[str, Decimal]] = {
    row.unit: row.milligrams for row in _ROWS if row.milligrams is not None
}


def words_of(*units: str) -> str:
    """Return the words for some units as a part of a pattern, the longest first."""
    words = (word for word, unit in UNITS.items() if unit in units)
    return "|".join(sorted(words, key=len, reverse=True))


def unit_of(written: str) -> str:
    """Return the unit that an order means, by its UCUM code or its word; empty where it is neither.

    Examples:
        >>> unit_of("{Tablet}"), unit_of("[IU]"), unit_of("\u00b5g"), unit_of("spoonful")
        ('tablet', 'unit', 'microgram', '')
    """
    return UNITS.get(written.casefold().strip("[]{} "), "")
