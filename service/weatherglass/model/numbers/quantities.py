"""Units as types: a number meets a published table only in the table's own unit.

The reader converts once, at the edge. Nothing in the core converts, except
where a publication prints the same threshold in two units.
"""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from typing import Final

from weatherglass.model.plain import Plain


class Unit(StrEnum):
    """The canonical units of the core, by their UCUM code."""

    PER_MINUTE = "/min"
    PERCENT = "%"
    MILLIMETRE_OF_MERCURY = "mm[Hg]"
    DEGREE_CELSIUS = "Cel"
    LITRE_PER_MINUTE = "L/min"
    FRACTION = "1"
    SCORE = "{score}"
    KILOGRAM = "kg"
    CENTIMETRE = "cm"
    MILLILITRE = "mL"
    MILLILITRE_PER_HOUR = "mL/h"
    MILLILITRE_PER_KILOGRAM = "mL/kg"
    MILLILITRE_PER_KILOGRAM_HOUR = "mL/kg/h"
    SECOND = "s"
    MILLISECOND = "ms"
    HOUR = "h"
    WEEK = "wk"
    MICROMOLE_PER_LITRE = "umol/L"
    MILLIMOLE_PER_LITRE = "mmol/L"
    MILLIGRAM_PER_DECILITRE = "mg/dL"
    MILLIGRAM_PER_LITRE = "mg/L"
    MICROGRAM_PER_LITRE = "ug/L"
    NANOGRAM_PER_LITRE = "ng/L"
    GRAM_PER_LITRE = "g/L"
    BILLION_PER_LITRE = "10*9/L"
    INR = "{INR}"
    PH = "[pH]"
    KILOPASCAL = "kPa"
    UNIT_PER_LITRE = "U/L"
    MILLIUNIT_PER_LITRE = "m[IU]/L"
    MILLIOSMOLE_PER_KILOGRAM = "mosm/kg"
    EGFR = "mL/min/{1.73_m2}"
    MILLILITRE_PER_MINUTE = "mL/min"
    RATIO = "{ratio}"


_SIGNS: Final[Mapping[Unit, str]] = {
    Unit.MILLIMETRE_OF_MERCURY: "mmHg",
    Unit.DEGREE_CELSIUS: "\u00b0C",
    Unit.MICROMOLE_PER_LITRE: "\u00b5mol/L",
    Unit.MICROGRAM_PER_LITRE: "\u00b5g/L",
    Unit.BILLION_PER_LITRE: "\u00d710\u2079/L",
    Unit.MILLIUNIT_PER_LITRE: "mU/L",
    Unit.EGFR: "mL/min/1.73 m\u00b2",
    Unit.MILLIOSMOLE_PER_KILOGRAM: "mOsm/kg",
    Unit.WEEK: "weeks",
    Unit.PH: "pH",
    Unit.SCORE: "score",
    Unit.RATIO: "ratio",
    Unit.INR: "INR",
}
_UNSPOKEN: Final = (Unit.PH, Unit.SCORE, Unit.RATIO, Unit.INR, Unit.FRACTION)


def unit_sign(unit: Unit) -> str:
    """Return a unit as people write it: "mmHg" for mm[Hg]."""
    return _SIGNS.get(unit, unit.value)


#: A unit as it is said after a number; empty where nobody says one.
_WORDS: Final = {unit: "" if unit in _UNSPOKEN else unit_sign(unit) for unit in Unit}


def unit_words(unit: Unit) -> str:
    """Return a unit as it is said after a number; empty where nobody says one."""
    return _WORDS[unit]


class UnitMismatchError(ValueError):
    """A value reached a table that is published in another unit.

    Attributes:
        expected: The unit the table is published in.
        actual: The unit of the value.
    """

    def __init__(self, *, expected: Unit, actual: Unit) -> None:
        """Say what was wanted and what came."""
        self.expected = expected
        self.actual = actual
        super().__init__(f"Expected a value in {expected.value!r}, got {actual.value!r}.")


class Quantity(Plain, frozen=True):
    """An exact number with its unit."""

    value: Decimal
    unit: Unit

    def value_in(self, unit: Unit) -> Decimal:
        """Return the number, provided it is in `unit`.

        Raises:
            UnitMismatchError: If the quantity is in any other unit.
        """
        if self.unit is not unit:
            raise UnitMismatchError(expected=unit, actual=self.unit)
        return self.value


def round_half_up(value: Decimal, step: Decimal) -> Decimal:
    """Round to the printed resolution of a table, halves upwards.

    No publication states a rounding rule; half-up is our documented choice.

    Examples:
        >>> round_half_up(Decimal("38.05"), Decimal("0.1"))
        Decimal('38.1')
        >>> round_half_up(Decimal("20.5"), Decimal("1"))
        Decimal('21')
    """
    return value.quantize(step, rounding=ROUND_HALF_UP)


def plain(value: Decimal) -> str:
    """Write a decimal as people read it: no exponent, no trailing zeros, of a long fraction four digits.

    A temperature of 98.1 degF is 36.7222... Cel: nobody reads that out, and only rules compare it. From
    1 to 10 and from 30 to 100 three digits are enough, unless they end in 0 or 5 or are one of a few others,
    as limits do: 3.996 is never shown as 4.

    Examples:
        >>> plain(Decimal("120.00")), plain(Decimal("1E+2")), plain(Decimal("0.50"))
        ('120', '100', '0.5')
        >>> plain(Decimal("36.7222222")), plain(Decimal("0.30303")), plain(Decimal("12345.6"))
        ('36.7', '0.303', '12346')
        >>> plain(Decimal("4.2183")), plain(Decimal("3.9963")), plain(Decimal("1.4483"))
        ('4.22', '3.996', '1.448')
        >>> plain(Decimal("82.1814")), plain(Decimal("69.97")), plain(Decimal("37.7778"))
        ('82.2', '69.97', '37.78')
    """
    text = _written(value)
    if "." not in text:
        return text
    if len(text) > _SHORT:
        places = max(0, _DIGITS - 1 - value.adjusted())
        text = _written(round_half_up(value, Decimal(1).scaleb(-places)))
        step = {0: _HUNDREDTH, 1: _TENTH}.get(value.adjusted())
        if step is not None and (step == _HUNDREDTH or value >= _NO_TENTHS_FROM):
            shorter = str(round_half_up(value, step))
            text = text if shorter[-1] in "05" or shorter in _LIMITS else shorter
    return text.rstrip("0").rstrip(".") if "." in text else text


def as_sent(value: Decimal) -> str:
    """Write a result with the places it was sent with: a potassium of 7.0 was measured to a tenth.

    Examples:
        >>> as_sent(Decimal("7.0")), as_sent(Decimal("7.40")), as_sent(Decimal("36.7222222"))
        ('7.0', '7.40', '36.7')
    """
    text = _written(value)
    return text if "." in text and len(text) <= _SHORT else plain(value)


def _written(value: Decimal) -> str:
    """Write a decimal without an exponent, which few have: to ask for none costs three times as much."""
    text = str(value)
    return format(value, "f") if "E" in text else text


_DIGITS = 4
_HUNDREDTH = Decimal("0.01")
_TENTH = Decimal("0.1")
#: From here to 100 limits are whole numbers or halves, but for those of temperature and bilirubin below.
_NO_TENTHS_FROM = Decimal(30)
_LIMITS = frozenset({"34.2", "37.8", "38.9", "51.3"})
#: With its point: what is no longer than this has no more digits than are shown.
_SHORT = _DIGITS + 1
