"""A number that was sent as words: "6.8 mmol/L", "3,1 mg/dl", "7.1 L g/dL", "< 4 ug/L".

Laboratories and old interfaces send a result so. It is read only where the words are one number with its
unit and nothing else; a comma before three digits could part thousands, and is not read.
"""

from typing import Final

import msgspec

from weatherglass.fhir.datatypes import Quantity
from weatherglass.model.words.patterns import when_asked

_LONGEST: Final = 40
_NUMBER: Final = when_asked(
    r"(<=|>=|<|>|[\u2264\u2265])?\s*(\d{1,6}(?:\.\d{1,4}|,\d{1,2})?)"
    r"(?:\s*\*|\s+\(?(?:HH?|LL?)\)?(?=\s))?"  # As flagged beside it.
    r"(?:\s+(10[*^x]\S+)|\s*((?!/\d)[^\d\s.,;:<>(\u2013-][^,;:<>()]*(?:/\([\w.]+\))?))?"
)
#: "E4V5M6", "GCS 14 (E3 V5 M6)", "15/15"; a part that could not be tested (VT) is no number.
_COMA: Final = when_asked(
    r"(?:gcs|glasgow coma (?:scale|score))?\s*[:=]?\s*(1[0-5]|[3-9])?(?:\s*/\s*15)?\s*[(,;:=]?\s*"
    r"(?:e\s*=?\s*([1-4])[\s,;/]*v\s*=?\s*([1-5])[\s,;/]*m\s*=?\s*([1-6]))?\s*\)?(?:\s*=\s*(1[0-5]|[3-9]))?"
)
_COMPARED: Final = {"\u2264": "<=", "\u2265": ">="}
#: Ours, from memory: the scale of a glucose meter ends at 1.1 and at 27.8 mmol/L at the nearest.
_LO, _HI = ("<", b"1.1"), (">", b"27.8")
_BEYOND_THE_METER: Final = {"lo": _LO, "low": _LO, "hi": _HI, "high": _HI}


def beyond_the_meter(words: str | None) -> Quantity | None:
    """Return what a glucose meter says that is beyond its scale; None where the words are anything else."""
    compared = _BEYOND_THE_METER.get((words or "").strip().casefold())
    if compared is None:
        return None
    comparator, value = compared
    return Quantity(value=msgspec.Raw(value), comparator=comparator, unit="mmol/L")


def coma_scale_in_words(words: str | None) -> Quantity | None:
    """Return the total of a coma scale in words; None where there is none, or it is not the sum of its parts.

    Examples:
        >>> found = [coma_scale_in_words(each) for each in ("E3 V5 M6", "GCS 15/15", "14 (E3V5M6)", "E4VTM6")]
        >>> [one and bytes(one.value) for one in found]
        [b'14', b'15', b'14', None]
        >>> coma_scale_in_words("15 (E3V5M6)") is None
        True
    """
    found = _COMA.fullmatch((words or "").strip()[:_LONGEST].casefold())
    if found is None:
        return None
    before, *parts, after = found.groups()
    totals = {*filter(None, (before, after))}
    if all(parts):
        totals.add(str(sum(map(int, parts))))
    return Quantity(value=msgspec.Raw(totals.pop().encode())) if len(totals) == 1 else None


def number_in_words(words: str | None) -> Quantity | None:
    """Return the one number that words are, with its unit as written; None where they are anything else.

    Examples:
        >>> found = number_in_words("< 3,1 mg/dl")
        >>> found.comparator, bytes(found.value), found.unit
        ('<', b'3.1', 'mg/dl')
        >>> number_in_words("7.1 L g/dL").unit, number_in_words("2 L/min").unit
        ('g/dL', 'L/min')
        >>> [number_in_words(each) for each in ("1,234 mg/L", "4.0 - 5.0", "6.8 mmol/L (old)", "120/80")]
        [None, None, None, None]
    """
    if not words or len(words) > _LONGEST:
        return None
    found = _NUMBER.fullmatch(words.strip())
    if found is None:
        return None
    comparator, number, power, named = found.groups()
    unit = power or named
    return Quantity(
        value=msgspec.Raw(number.replace(",", ".").encode()),
        comparator=_COMPARED.get(comparator, comparator),
        unit=unit.strip() if unit else None,
    )
