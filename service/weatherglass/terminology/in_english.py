"""German and Latin words, and short forms, in the English in which problems and procedures are read.

The rows stand in `knowledge/word-translations.csv`; a word in capitals is a short form and counts in capitals
alone. Words are looked up, not searched for: an English text costs a look a word.
"""

import re
from functools import cache
from typing import Final

from weatherglass.knowledge.data_files import Columns, csv_table

_WORD: Final = re.compile(r"[^\W_]+")
_FOLDED: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss"})


class _Row(Columns, frozen=True):
    written: tuple[str, ...]
    means: str


#: By its first word: the words of a phrase and what it means, the longest first.
Phrases = dict[str, list[tuple[tuple[str, ...], str]]]


@cache
def _phrases() -> Phrases:
    """Lay out the table once, at first use."""
    found: Phrases = {}

    def take(row: _Row) -> None:
        for phrase in row.written:
            words = tuple(_WORD.findall(phrase.translate(_FOLDED)))
            found.setdefault(words[0], []).append((words, row.means))

    csv_table("word-translations.csv", _Row, take)
    for phrases in found.values():
        phrases.sort(key=lambda one: -len(one[0]))
    return found


def in_english(text: str) -> str:
    """Return casefolded text with what the table knows put into English.

    Short forms are not read in a text that is all in capitals, unless it says nothing else.

    Examples:
        >>> in_english("Z.n. Lungenembolie, kein Anhalt für Pneumonie")
        'history of pulmonary embolism, no pneumonia'
        >>> in_english("Fast AF"), in_english("CAP REFILL")
        ('fast atrial fibrillation', 'cap refill')
    """
    phrases = _phrases()
    matches = list(_WORD.finditer(text))
    folded = [one[0].casefold().translate(_FOLDED) for one in matches]
    reads_short = len(matches) == 1 or not text.isupper()
    said: list[str] = []
    done = place = 0
    while place < len(matches):
        known = phrases.get(matches[place][0], ()) if reads_short else ()
        step = 1
        for words, means in (*known, *phrases.get(folded[place], ())):
            there = folded[place : place + len(words)]
            if tuple(there) == words or tuple(one[0] for one in matches[place : place + len(words)]) == words:
                step = len(words)
                end = matches[place + step - 1].end()
                # The full stop of a short form is no end of a sentence.
                end += text.startswith(".", end) and len(words[-1]) == 1
                said += [text[done : matches[place].start()].casefold(), means]
                done = end
                break
        place += step
    return "".join((*said, text[done:].casefold()))
