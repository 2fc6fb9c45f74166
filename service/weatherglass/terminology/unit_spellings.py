"""One plain spelling for the many ways in which a unit is written: case, spaces, signs and words.

A unit is never guessed: two spellings are alike only where nothing but their writing differs.
Common practice of feeds, no source.
"""

import re

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
