"""How German charts spell medicines, and how they say a dose.

An international name loses its last e ("Spironolacton"), an acid becomes one word ("Zoledronsäure"), a
salt or a form is joined to it ("Metoprololsuccinat", "Morphintropfen"). Directions are put into the English
words that `worded_dose` reads. From memory, and no complete list: what is not known is listed as not
recognised. Names that differ in another way stand among the trade names.
"""

import re
from collections.abc import Container
from typing import Final, NewType

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.medicines.name_words import JOINED_IN_GERMAN
from weatherglass.model.words.patterns import when_asked

_ONE_WORD: Final = when_asked(rf"([a-z]{{5,}}?)({'|'.join(JOINED_IN_GERMAN)})")
#: The longest words that lose nothing: "dose", "zinc" and their like are no names.
_SHORT: Final = 5


def spelled(words: tuple[str, ...]) -> tuple[str, ...]:
    """Return an international name, word by word, as German spells it; without accents.

    Examples:
        >>> spelled(("amiodarone",)), spelled(("zoledronic", "acid")), spelled(("insulin", "glargine"))
        (('amiodaron',), ('zoledronsaure',), ('insulin', 'glargin'))
    """
    if len(words) == 2 and words[1] == "acid" and words[0].endswith("ic"):
        return (f"{words[0][:-2]}saure",)
    return tuple(word[:-1] if len(word) > _SHORT and word.endswith("e") else word for word in words)


def parted(word: str, known: Container[str]) -> tuple[str, str] | None:
    """Part a name from the salt or the form that is joined to it; None where the rest is no known name.

    Examples:
        >>> parted("metoprololsuccinat", {"metoprolol"}), parted("morphintropfen", {"morphin"})
        (('metoprolol', 'succinat'), ('morphin', 'tropfen'))
        >>> parted("natriumchlorid", {"metoprolol"}) is None
        True
    """
    found = _ONE_WORD.fullmatch(word)
    return (found[1], found[2]) if found is not None and found[1] in known else None


class _Row(Columns, frozen=True):
    written: str
    means: str = ""


#: A day of the week means nothing by itself: it is put by its name.
_WORDS: Final = {row.written: row.means for row in csv_rows("dose-translations.csv", _Row)}
_DAYS: Final = {"mon": "mondays", "diens": "tuesdays", "donners": "thursdays", "frei": "fridays",
                "sams": "saturdays", "sonn": "sundays"}  # fmt: skip
_PARTS: Final = tuple((when_asked(rf"(?<!\w)(?:{said})(?!\w)"), meant) for said, meant in _WORDS.items())
_ANY: Final = when_asked(
    rf"(?<!\w)(?:{'|'.join(re.sub(r'(?<![(])[(](?![?])', '(?:', said) for said in _WORDS)})(?!\w)"
)


#: Ours: no dosage says it later.
LONGEST: Final = 200
#: The words of a dosage in lower case, in English, with single spaces.
PlainWords = NewType("PlainWords", str)


def plainly(text: str) -> PlainWords:
    """Return the words of a dosage as they are read; of a long text the beginning."""
    return PlainWords(in_english(" ".join(text[:LONGEST].casefold().split())))


def in_english(said: str) -> str:
    """Put German words of a dosage into those that are read; anything else stays as it is.

    Args:
        said: In lower case.

    Examples:
        >>> in_english("1x täglich morgens"), in_english("alle 8 std. bei bedarf")
        ('daily morning', 'every 8 hours as needed')
    """
    if _ANY.search(said) is None:
        return said
    for pattern, meant in _PARTS:
        said = pattern.sub(meant or _day, said)
    return said


def _day(found: "re.Match[str]") -> str:
    return _DAYS.get(found[1] or "", "wednesdays")
