"""Words that name a known sign or result, for codes that are not read.

The words are rows of `knowledge/sign-words.csv`. This is no reading: nothing is scored by its words.
They tell a sender, and a reader, that a potassium or a breathing rate came in a code that this software
does not know. Words of other fluids, of aims and of fractions are left out, so that lactate dehydrogenase
or a urinary sodium raises no doubt.
"""

from weatherglass.knowledge.data_files import Columns, csv_table
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.words.patterns import when_asked

_LONGEST = 240


class _Row(Columns, frozen=True):
    sign: str
    words: str


def _sign(row: _Row) -> tuple[Signal | CodedSignal, str]:
    kind = Signal if row.sign in Signal.__members__.values() else CodedSignal
    return kind(row.sign), row.words


#: What is looked for, in this order where two begin at one place: the more exact first.
_SIGNS = csv_table("sign-words.csv", _Row, _sign)
_URINE = "urine (?:output|volume)|urinary output|hourly urine|diuresis"
_WORDS = word_patterns("sign-patterns.toml")
_OTHERWISE = _WORDS["otherwise"]


def _rows() -> str:
    return "|".join(f"(?P<s{place}>{words})" for place, (_, words) in enumerate(_SIGNS))


_SIGN = when_asked(rf"\b(?:{_rows()})\b")
_URINE_SIGN = when_asked(rf"\b(?:{_URINE})\b")
#: Words between letters and figures; a plus or a slash is a space here.
_BETWEEN = when_asked(r"[^a-z0-9]+")
#: What a sign of arterial blood is in venous blood; oxygen of the one says nothing of the other.
_OF_A_VEIN: dict[Signal | CodedSignal, Signal | None] = {
    Signal.PH_ARTERIAL: Signal.PH_VENOUS,
    Signal.PCO2_ARTERIAL: Signal.PCO2_VENOUS,
    Signal.PO2_ARTERIAL: None,
    Signal.SPO2: None,
}
#: A ratio by its own name.
_RATIOS = frozenset({Signal.INR})


def sign_named_in(text: str) -> Signal | CodedSignal | None:
    """Return the sign that words name; None when they name none, or something beside it.

    Examples:
        >>> sign_named_in("Lactate (venous)").value, sign_named_in("K+ / Potassium, plasma").value
        ('lactate', 'potassium')
        >>> sign_named_in("Lactate dehydrogenase"), sign_named_in("Sodium, urine")
        (None, None)
    """
    words = _BETWEEN.sub(" ", text[:_LONGEST].casefold())
    if _URINE_SIGN.search(words):
        return Signal.URINE_VOLUME
    match = _SIGN.search(words)
    if match is None or match.lastgroup is None:
        return None
    sign = _SIGNS[int(match.lastgroup[1:])][0]
    if sign not in _RATIOS and _OTHERWISE.search(words):
        return None
    if "venous" in words and sign in _OF_A_VEIN:
        return _OF_A_VEIN[sign]
    return None if sign is Signal.PO2_ARTERIAL and "capillary" in words else sign
