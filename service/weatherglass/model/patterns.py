"""Patterns of words that most records never need."""

import re
from collections.abc import Callable
from functools import cache, partial


def when_asked(pattern: str) -> Callable[[], re.Pattern[str]]:
    """Return what compiles a pattern the first time that it is called, and keeps it.

    A long pattern takes a start up to some milliseconds, and most reviews never ask it.

    Examples:
        >>> bleeding = when_asked(r"bleeds?|bleeding")
        >>> bool(bleeding().search("no bleeding"))
        True
    """
    return cache(partial(re.compile, pattern))


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
