"""Short forms by which charts name medicines, and those that mean more than one.

Whole words are compared, as written with their digits: "5-ASA" is mesalazine and no aspirin. A form
that is written for two medicines is not guessed: its line stays unreviewed and says what it may be. Words
for a class ("blood thinner") say which rules hold whichever of its medicines is meant; which one
it is stays a question.

Left out, with reasons: "inh" (isoniazid) is the inhaled route as a rule, "iron" and "vit k" are words.
"""

import re
from collections.abc import Mapping
from typing import Final

from weatherglass.knowledge.data_files import Columns, TableError, csv_rows
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.sources import common_practice
from weatherglass.model.words.patterns import when_asked

SOURCE: Final = common_practice("short forms of medicines as charts carry them")


class _Row(Columns, frozen=True):
    short: str
    means: str = ""
    remark: str = ""
    classes: tuple[MedicineClass, ...] = ()


_ROWS: Final = csv_rows("medicines/abbreviations.csv", _Row)
if _empty := [row.short for row in _ROWS if not (row.means or row.remark)]:
    raise TableError(f"abbreviations.csv: {_empty} mean nothing.")

#: Short form in lower case, and the name that it stands for.
MEANT: Final[Mapping[str, str]] = {row.short: row.means for row in _ROWS if row.means}
#: Short form in lower case, and what it may be, as a part of a sentence.
EITHER: Final[Mapping[str, str]] = {row.short: row.remark for row in _ROWS if not row.means}
_CLASSES: Final[Mapping[str, tuple[MedicineClass, ...]]] = {row.short: row.classes for row in _ROWS}
_WORDS: Final = word_patterns("chart-patterns.toml")
_NONE_OF_IT: Final = _WORDS["no-medicine"]


def _any_of(names: Mapping[str, str]) -> re.Pattern[str]:
    longest_first = sorted(names, key=len, reverse=True)
    return when_asked(rf"(?<![\w-])(?:{'|'.join(map(re.escape, longest_first))})(?![\w-])")


_MEANT: Final = _any_of(MEANT)
_EITHER: Final = _any_of(EITHER)


def written_out(said: str) -> str:
    """Write the short forms of a text out.

    Args:
        said: In lower case.

    Examples:
        >>> written_out("5-asa 1 g"), written_out("asa 75 mg"), written_out("mtx 10 mg")
        ('mesalazine 1 g', 'acetylsalicylic acid 75 mg', 'methotrexate 10 mg')
    """
    return _MEANT.sub(lambda match: MEANT[match[0]], said)


def may_be(text: str) -> str:
    """Say what a text with an ambiguous short form may be; empty without one, or where none is taken.

    Examples:
        >>> may_be("CBZ 200 mg"), may_be("Ramipril 5 mg")
        ('carbamazepine or carbimazole', '')
    """
    said = text.casefold().replace("\u2019", "'")
    found = _EITHER.search(said)
    return EITHER[found[0]] if found is not None and not _NONE_OF_IT.search(said) else ""


def class_in_words(text: str) -> tuple[MedicineClass, ...]:
    """Return the class that words for no single medicine name; none where nobody can tell, or none is taken.

    Examples:
        >>> class_in_words("Blood thinner, 1 daily"), class_in_words("No anticoagulant")
        ((<MedicineClass.FACTOR_XA_INHIBITOR: 'factor-xa-inhibitor'>,), ())
    """
    said = text.casefold().replace("\u2019", "'")
    found = _EITHER.search(said)
    return _CLASSES[found[0]] if found is not None and not _NONE_OF_IT.search(said) else ()
