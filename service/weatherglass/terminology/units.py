"""Units as they are sent, turned once into the one unit the core knows.

Both tables are data: `knowledge/units.csv` holds the spellings of each dimension,
`knowledge/units-of-signals.csv` what each signal is sent in, and the factor between the two
with its source; a mistyped row is refused with its line. Factors are exact decimals. UCUM codes
are matched letter by letter; the spellings that are not UCUM and that laboratories and monitors
really send are matched by name, whatever their case and their spaces, and reported. Where two units of one
signal would be written alike, neither is read so. A unit is never guessed from the size of a number.

Tests check every factor of a molar mass against an independent UCUM library; phosphorus,
haemoglobin (one chain with its iron) and the molar masses of drugs by a second typing only. An
outside table gives tacrolimus 1.24 nmol/L for 1 ug/L. Mass of phosphate is sent as the mass of
its phosphorus; of D-dimer, units of fibrinogen equivalents are the one way of counting that is read.
"""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Literal

from weatherglass.knowledge.data_files import Columns, TableError, csv_table
from weatherglass.knowledge.sent_units import SENT, UREA_NITROGEN, SentUnit
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.once import cached_property
from weatherglass.model.plain import Plain, replace
from weatherglass.model.signals import Signal

UCUM = "http://unitsofmeasure.org"
#: How the tables write that no unit is sent.
_NO_UNIT = "none"
#: Ours: no unit is longer, and the rest is not looked at.
_LONGEST = 40


class Conversion(Plain, frozen=True):
    """value x multiply / divide + add, exactly; `by_name` marks a non-UCUM spelling."""

    multiply: Decimal = Decimal(1)
    divide: Decimal = Decimal(1)
    subtract_first: Decimal = Decimal(0)
    by_name: bool = False
    printed: bool = False  # The unsent unit is one a publication prints thresholds in.

    def apply(self, value: Decimal) -> Decimal:
        """Convert one value."""
        if self.subtract_first:
            value -= self.subtract_first
        if self.multiply != 1:
            value *= self.multiply
        if self.divide != 1:
            value /= self.divide
        return value


#: What leaves a value as it is; the same one everywhere, so that readers can pass over it.
SAME = Conversion()


class Units(dict[str, Conversion]):
    """What a signal may be sent in, by the spellings of the tables."""

    @cached_property
    def alike(self) -> dict[str, Conversion]:
        """The same by their plain spellings, but those that mean two things."""
        found: dict[str, set[tuple[Decimal, Decimal]]] = {}
        named: dict[str, Conversion] = {}
        for spelling, unit in self.items():
            name = plain(spelling)
            named[name] = replace(unit, by_name=True)
            found.setdefault(name, set()).add((unit.multiply / unit.divide, unit.subtract_first))
        return {name: unit for name, unit in named.items() if name and len(found[name]) == 1}

    def written(self, name: str) -> Conversion | None:
        """Return the unit that a sender writes, by its spelling, else by its plain one."""
        known = self.get(name)
        return known if known is not None or len(name) > _LONGEST else self.alike.get(plain(name))


class _Spelling(Columns, frozen=True):
    dimension: str
    unit: str
    by_name: Literal["yes", ""] = ""
    multiply: Decimal = Decimal(1)
    divide: Decimal = Decimal(1)
    subtract: Decimal = Decimal(0)


def read_spellings(name: str) -> dict[str, Units]:
    """Read the spellings of each dimension."""
    found: dict[str, Units] = {}

    def take(row: _Spelling) -> None:
        units = found.setdefault(row.dimension, Units())
        unit = "" if row.unit == _NO_UNIT else row.unit
        if unit in units:
            raise ValueError(f"{row.dimension} has {row.unit} twice.")
        if min(row.multiply, row.divide) <= 0:
            raise ValueError("a factor is not above zero.")
        units[unit] = Conversion(row.multiply, row.divide, row.subtract, by_name=bool(row.by_name))

    csv_table(name, _Spelling, take)
    return found


def read_units(sent: Iterable[SentUnit], spellings: Mapping[str, Units]) -> dict[str, Units]:
    """Return what each signal may be sent in, by the key of the signal."""
    found: dict[str, Units] = {}
    for row in sent:
        if row.dimension not in spellings:
            raise TableError(f"units.csv has no dimension {row.dimension!r}, in which {row.signal} is sent.")
        units = found.setdefault(row.signal, Units())
        for unit, own in spellings[row.dimension].items():
            if unit in units:
                raise TableError(f"units-of-signals.csv: {row.signal} has {unit or _NO_UNIT} twice.")
            units[unit] = _of_substance(own, row)
    return found


def _of_substance(own: Conversion, row: SentUnit) -> Conversion:
    made = replace(
        own, multiply=own.multiply * row.multiply, divide=own.divide * row.divide, printed=bool(row.printed)
    )
    return SAME if made == SAME else made


_SENT = read_units(SENT, read_spellings("units.csv"))
UREA_NITROGEN_MASS = _SENT.pop(UREA_NITROGEN)
#: What each signal may be sent in. The key is the UCUM code, or a named spelling.
ACCEPTED: dict[Signal, Units] = {Signal(key): units for key, units in _SENT.items()}


def expected_units(signal: Signal) -> str:
    """Name the units worth sending for a signal, the canonical one first."""
    canonical = signal.unit.value
    others = [
        code
        for code, conversion in ACCEPTED[signal].items()
        if code and not conversion.by_name and "{" not in code and code.casefold() != canonical.casefold()
    ]
    return " or ".join([canonical, *others[:3]])


def needs_no_unit(signal: Signal) -> bool:
    """Tell whether a bare number of this signal has only one meaning."""
    return signal.unit in {Unit.PH, Unit.INR, Unit.SCORE}


# One plain spelling for the many ways in which a unit is written: case, spaces, signs and words.
#
# A unit is never guessed: two spellings are alike only where nothing but their writing differs.
# Common practice of feeds, no source.

_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u00b5\u03bc", "u"),  # Micro sign and the letter mu.
        **dict.fromkeys("\u00ba\u02da", "\u00b0"),  # Ordinal sign and ring above, meant as degree.
        "\u2103": "\u00b0c",
        "\u2109": "\u00b0f",
        "\u00d7": "x",
        "\u00b2": "2",
        "\u00b3": "3",
        "\u2076": "^6",
        "\u2079": "^9",
        "\u2044": "/",
        "\u2215": "/",
    }
)
#: Words of a unit, each with what is written for it; whole words, in this order.
_WORDS = tuple(
    (re.compile(pattern), plain)
    for pattern, plain in (
        (r"\s*\bper\b\s*", "/"),
        (r"(?:micro|mc)(?=(?:mol|gram|g|l(?:it|\b)|eq))", "u"),
        (r"milli(?=(?:mol|gram|lit|met|eq|sec))", "m"),
        (r"nano(?=(?:mol|gram))", "n"),
        (r"kilo(?=(?:gram|pasc))", "k"),
        (r"centi(?=met)", "c"),
        (r"deci(?=lit)", "d"),
        (r"lit(?:re|er)s?\b", "l"),
        (r"met(?:re|er)s?\b", "m"),
        (r"(?:grams?|gms?)\b", "g"),
        (r"mole?s?\b", "mol"),
        (r"equiv(?:alent)?s?\b", "eq"),
        (r"(?:hours?|hrs?)\b", "h"),
        (r"(?:minutes?|mins?)\b", "min"),
        (r"(?:seconds?|secs?)\b", "s"),
        (r"deg(?:rees?)?\.?(?=\s*[cf])", "\u00b0"),
        (r"celsius|centigrade", "c"),
        (r"fahrenheit", "f"),
    )
)
_POWER = re.compile(r"^x?10(?:\*|\^|e|\*\*)?\(?([369])\)?(?=/)")
_CUBES = re.compile(r"mm\^3|cumm|cu\.mm")
_SPACE = re.compile(r"\s+")


def plain(unit: str) -> str:
    """Return the plain spelling of a unit.

    Examples:
        >>> plain("MMOL / L"), plain("\u00b5mol/litre"), plain("x10e9/L"), plain("Beats per minute")
        ('mmol/l', 'umol/l', '10^9/l', 'beats/min')
    """
    text = unit.translate(_SIGNS).casefold().strip()
    for pattern, said in _WORDS:
        text = pattern.sub(said, text)
    text = _SPACE.sub("", text).removesuffix(".")
    return _POWER.sub(r"10^\1", _CUBES.sub("mm3", text))
