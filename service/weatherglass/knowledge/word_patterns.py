"""Read patterns of words from a TOML file: phrases, patterns as they stand, and parts that others hold."""

import re
from collections.abc import Mapping
from functools import cache

from weatherglass.knowledge.data_files import Columns, toml_rows
from weatherglass.model.words.patterns import when_asked


class _Row(Columns, frozen=True):
    words: tuple[str, ...] = ()
    pattern: str = ""
    part: str = ""


def phrases(*each: str) -> re.Pattern[str]:
    """Return a pattern of whole words for any of some phrases."""
    return when_asked(rf"\b(?:{'|'.join(each)})\b")


@cache
def word_patterns(name: str, **given: str) -> Mapping[str, re.Pattern[str]]:
    """Return the patterns of a file by their names, each compiled when it is asked.

    Where a row has `words`, any of these phrases is enough; `<:cpr>` stands for the part of that name, from
    a row above or given with the name. A long one stands on several lines, which are put together.
    """
    parts = dict(given)
    found: dict[str, re.Pattern[str]] = {}

    def filled(text: str) -> str:
        if "\n" in text:
            text = "".join(map(str.strip, text.splitlines()))
        for key, part in parts.items():
            text = text.replace(f"<:{key}>", part)
        return text

    for key, row in toml_rows(name, _Row).items():
        if row.part:
            parts[key] = filled(row.part)
        elif row.words:
            found[key] = phrases(*map(filled, row.words))
        else:
            found[key] = when_asked(filled(row.pattern))
    return found
