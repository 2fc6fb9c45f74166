"""Words that may be a sign of danger: shown as sent and not read, for they are never normal by silence.

The words are rows of `knowledge/danger-words.toml`. An answer that says that the sign is absent is not shown;
of reflexes and of a baby's movements the absence is the sign.
"""

import re
from collections.abc import Iterator
from typing import Final

from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.knowledge.data_files import Columns, toml_table
from weatherglass.knowledge.emergencies.acute_problems import EMERGENCIES
from weatherglass.model.remembered import remembered
from weatherglass.model.words.patterns import when_asked
from weatherglass.terminology import plans


class _Row(Columns, frozen=True):
    words: tuple[str, ...]


def _pattern(key: str, row: _Row) -> tuple[str, re.Pattern[str]]:
    return key, when_asked(rf"\b(?:{'|'.join(row.words)})(?!\w)")


_WORDS: Final = dict(toml_table("danger-words.toml", _Row, _pattern))
#: Ends of what one denial is about, beside the words in which something is said anew.
_PIECES: Final = when_asked(r"[.;:!?\n]+\s*")
_THERE: Final = frozenset("present normal brisk yes felt true good".split())
_NOTHING_FOUND: Final = frozenset("none nil absent negative normal not never".split()) | {
    code.casefold() for code in plans.NO_CODES
}


@remembered(1024)
def _names_an_emergency(name: str) -> bool:
    return not kinds_in_words(name).kinds.isdisjoint(EMERGENCIES)


def _tells_of_an_emergency(name: str, shown: str) -> bool:
    """Tell whether an answer names an emergency of now: a pneumothorax under "Chest film"."""
    words = kinds_in_words(f"{name}: {shown}")
    denied = _WORDS["denied"].search(shown.casefold())
    return not (words.past or words.prevents or denied) and _names_an_emergency(shown)


def _pieces(words: str) -> Iterator[str]:
    """Cut words where a denial ends: "no pain but drowsy" is two pieces."""
    for sentence in _PIECES.split(words):
        begins = 0
        for anew in _WORDS["anew"].finditer(sentence.casefold()):
            yield sentence[begins : anew.start()]
            begins = anew.start()
        yield sentence[begins:]


def danger_said(words: str, *groups: str) -> str:
    """Return the first piece of some words that says a danger and does not deny it; empty where none does.

    Examples:
        >>> danger_said("Slept well. No pain but more drowsy than usual", "said", "worries")
        'more drowsy than usual'
        >>> danger_said("Denies chest pain, SOB or palpitations. Not drowsy", "said", "worries")
        ''
    """
    for piece in _pieces(words):
        said = piece.casefold()
        for group in groups:
            for found in _WORDS[group].finditer(said):
                behind = said[found.end() :].partition(",")[0]
                if not any(map(_WORDS["denied"].search, (said[: found.start()], behind))):
                    return piece.strip(" ,")
    return ""


def danger_in_a_remark(words: str) -> str:
    """Return the piece of somebody's own words that names danger or worry; empty where none does."""
    return danger_said(words, "said", "worries")


def doubt_in_a_remark(words: str) -> str:
    """Return the piece of somebody's own words that doubts the value beside which it stands; empty elsewhere.

    Examples:
        >>> doubt_in_a_remark("Poor trace, cold hands"), doubt_in_a_remark("Sample 9 hours old on arrival")
        ('Poor trace, cold hands', 'Sample 9 hours old on arrival')
        >>> doubt_in_a_remark("Good trace")
        ''
    """
    return next(
        (piece.strip(" ,") for piece in _pieces(words) if _WORDS["doubts"].search(piece.casefold())), ""
    )


def may_be_danger(name: str, shown: str) -> bool:
    """Tell whether words that are not read name a sign of danger, and do not say that it is absent.

    Examples:
        >>> may_be_danger("Non-blanching rash", "Present"), may_be_danger("Rash", "None")
        (True, False)
        >>> may_be_danger("Rash", "LA32-8"), may_be_danger("Facial droop", "yes")
        (False, True)
        >>> may_be_danger("Air entry", "Silent chest"), may_be_danger("Vomit", "Not bilious")
        (True, False)
        >>> may_be_danger("Patellar reflexes", "Absent"), may_be_danger("Patellar reflexes", "Present")
        (True, False)
        >>> may_be_danger("Chest film", "Right pneumothorax"), may_be_danger("Past history", "pneumothorax")
        (True, False)
    """
    named, said = name.casefold(), shown.casefold().strip(" .")
    if danger_said(shown, "said") or _tells_of_an_emergency(name, shown):
        return True
    if said and _WORDS["asked-for-its-absence"].search(named):
        return said not in _THERE
    if not said or not (_WORDS["asked"].search(named) or _names_an_emergency(name)):
        return False
    return said not in _NOTHING_FOUND and re.split(r"[\s,;:(]", said, maxsplit=1)[0] not in _NOTHING_FOUND


def is_a_remark(name: str) -> bool:
    """Tell whether a name is that of a remark, of which a later one takes nothing back."""
    return bool(_WORDS["remarks"].search(name.casefold()))
