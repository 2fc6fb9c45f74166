"""Read the tables that say which codes and which words of a sender mean which kind of thing."""

import re
from collections.abc import Collection
from enum import StrEnum
from typing import TypeVar

from weatherglass.knowledge.data_files import Columns, all_named, csv_table, toml_table
from weatherglass.model.words.patterns import held_by_all, when_asked

Kind = TypeVar("Kind", bound=StrEnum)
#: What each code means; an empty set is an exception to a wider code.
Codes = dict[str, frozenset[Kind]]
#: Whole words in casefolded text: a piece that is in every text that the pattern finds, the pattern, and what
#: it means.
Words = tuple[tuple[str, re.Pattern[str], frozenset[Kind]], ...]


class _CodeRow(Columns, frozen=True):
    """Codes of one meaning.

    Attributes:
        codes: In full, or of a classification their beginning without the dot.
        means: Kinds; none where the row is an exception to a wider one.
        says: What else the codes say, or why they mean so.
        seen: Where a code was confirmed.
    """

    system: str
    codes: tuple[str, ...]
    means: tuple[str, ...] = ()
    says: str = ""
    seen: str = ""


class _WordRow(Columns, frozen=True):
    words: tuple[str, ...]
    means: tuple[str, ...]


def read_codes(name: str, kind: type[Kind], systems: Collection[str]) -> tuple[Codes[Kind], ...]:
    """Read a table of codes: one mapping for each of these systems, in their order."""
    found: dict[str, Codes[Kind]] = {system: {} for system in systems}

    def take(row: _CodeRow) -> None:
        if row.system not in found:
            raise ValueError(f"{row.system!r} is none of {', '.join(found)}.")
        known = found[row.system]
        twice = known.keys() & set(row.codes)
        if twice:
            raise ValueError(f"{row.system} {', '.join(sorted(twice))} stands twice.")
        known.update(dict.fromkeys(row.codes, frozenset(all_named(kind, row.means))))

    csv_table(name, _CodeRow, take)
    return tuple(found.values())


def read_words(name: str, kind: type[Kind]) -> Words[Kind]:
    """Read a table of words."""
    found: list[tuple[str, re.Pattern[str], frozenset[Kind]]] = []

    def take(_: str, row: _WordRow) -> None:
        kinds = frozenset(all_named(kind, row.means))
        found.extend((held_by_all(word), when_asked(rf"\b(?:{word})\b"), kinds) for word in row.words)

    toml_table(name, _WordRow, take)
    return tuple(found)


def kinds_named(words: Words[Kind], said: str) -> frozenset[Kind]:
    """Return every kind that casefolded text names."""
    named = (kinds for piece, pattern, kinds in words if piece in said and pattern.search(said))
    return frozenset[Kind]().union(*named)
