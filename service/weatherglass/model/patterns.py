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
