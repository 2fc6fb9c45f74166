"""Patterns of words that most records never need."""

import re
from typing import Any, cast


class _WhenAsked:
    def __init__(self, pattern: str) -> None:
        self.pattern = pattern

    def __getattr__(self, name: str) -> Any:
        """Take what is asked from the compiled pattern, and keep it."""
        asked = getattr(re.compile(self.pattern), name)
        setattr(self, name, asked)
        return asked


def when_asked(pattern: str) -> re.Pattern[str]:
    """Return a pattern that is compiled the first time that it is asked.

    A long one takes a start up to some milliseconds, and most reviews never ask it.

    Examples:
        >>> bleeding = when_asked(r"bleeds?|bleeding")
        >>> bool(bleeding.search("no bleeding"))
        True
    """
    return cast("re.Pattern[str]", _WhenAsked(pattern))


#: What may be missing from a text that a pattern finds, or be one thing or another.
_OFTEN = r"(?:[?*+]|\{[^}]*\})?"
_OPEN = tuple(map(re.compile, (rf"\\.{_OFTEN}", rf"\[[^\]]*\]{_OFTEN}")))
_GROUP = re.compile(rf"\([^()]*\){_OFTEN}")
_LOOSE = re.compile(r".(?:[?*]|\{[^}]*\})|[.^$+]")


def held_by_all(pattern: str) -> str:
    """Return a piece of text that is in whatever a pattern finds; empty where there is none that is sure.

    Looking for a piece takes a hundredth of what compiling its pattern does.

    Examples:
        >>> held_by_all(r"(?:acute|chronic) (?:kidney|renal) injur(?:y|ies)"), held_by_all(r"t1dm?|type [12]")
        (' injur', '')
    """
    for each in _OPEN:
        pattern = each.sub("\0", pattern)
    while (outer := _GROUP.sub("\0", pattern)) != pattern:
        pattern = outer
    pieces = _LOOSE.sub("\0", pattern).split("\0")
    return "" if "|" in pattern else max(pieces, key=len)
