"""What one tablet or one millilitre holds, by the name of a medicine: "2.5 mg tablets", "10 mg/5 mL"."""

import re
from decimal import Decimal
from functools import lru_cache
from typing import Final, NamedTuple

#: What is counted.
PIECES: Final = frozenset(
    "tablet tablets tab tabs capsule capsules cap caps sachet sachets suppository suppositories {tbl} {cap} "
    "{tablet} {tablets} {capsule} 1".split()
)
MILLILITRES: Final = frozenset({"ml", "millilitre", "millilitres", "milliliter", "milliliters"})
_AMOUNT: Final = r"(?<![\d./])(\d{1,6}(?:,\d{3})*(?:\.\d+)?) ?(mg|g|micrograms?|mcg|\u00b5g|units?|iu)\b"
_EACH: Final = re.compile(rf"{_AMOUNT}(?! ?(?:/|in|per)\b)(?! ?/)")
_IN_A_VOLUME: Final = re.compile(rf"{_AMOUNT} ?(?:/|in|per) ?(\d{{1,4}}(?:\.\d+)?)? ?ml\b")


class Strength(NamedTuple):
    """An amount, in the unit as written."""

    amount: Decimal
    unit: str


@lru_cache(maxsize=4096)
def strength_of(name: str, unit: str) -> Strength | None:
    """Return what one of a unit holds, where the name says one strength and no other.

    Args:
        name: Of the medicine, as the chart has it.
        unit: Of its dose, in small letters.

    Examples:
        >>> strength_of("Methotrexate 2.5 mg tablets", "tablet").amount
        Decimal('2.5')
        >>> strength_of("Morphine 10 mg/5 mL oral solution", "ml").amount
        Decimal('2')
        >>> strength_of("Co-careldopa 25/100 tablets", "tablet") is None
        True
        >>> strength_of("Enoxaparin 150 mg/mL", "tablet") is None
        True
    """
    words = name.casefold()
    if unit in MILLILITRES:
        (found, *others) = _IN_A_VOLUME.findall(words) or [()]
        if not found or others or not (volume := Decimal(found[2] or 1)):
            return None
        return Strength(_number(found[0]) / volume, found[1])
    if unit not in PIECES:
        return None
    (each, *others) = _EACH.findall(words) or [()]
    return Strength(_number(each[0]), each[1]) if each and not others else None


def _number(written: str) -> Decimal:
    return Decimal(written.replace(",", ""))
