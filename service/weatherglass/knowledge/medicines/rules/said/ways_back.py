"""What has to be so before a held medicine comes back: one wording for each condition, in `ways-back.toml`.

Several rules meet in one medicine, and each has its plan. Said in the same words, a
condition that two plans share is said once; one that a stricter condition holds within
itself is left out beside it.
"""

from collections.abc import Mapping
from typing import Final

from weatherglass.knowledge.data_files import Columns, TableError, toml_rows


class _Row(Columns, frozen=True):
    text: str
    covered_by: tuple[str, ...] = ()


_ROWS: Final = toml_rows("medicines/rules/said/ways-back.toml", _Row)


def way_back(word: str) -> str:
    """Return the words of a condition: by its key, or what is no key and is said once as it stands.

    Raises:
        TableError: If it looks like a key and is none.

    Examples:
        >>> way_back("no-sepsis"), way_back("tell the anticoagulation clinic")
        ('no sepsis', 'tell the anticoagulation clinic')
    """
    if word in _ROWS:
        return _ROWS[word].text
    if " " not in word:
        raise TableError(f"ways-back.toml has no condition {word!r}.")
    return word


#: Left out beside any of these, which hold it within themselves.
COVERED_BY: Final[Mapping[str, frozenset[str]]] = {
    row.text: frozenset(map(way_back, row.covered_by)) for row in _ROWS.values() if row.covered_by
}
LEVEL_IN_RANGE: Final = way_back("level-in-range")
CHECK_INDICATION: Final = way_back("check-indication")
