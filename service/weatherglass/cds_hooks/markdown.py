"""Text of a record inside Markdown: it stays text, whatever is in it.

GitHub-flavoured Markdown takes HTML, links bare addresses and reads many characters as
marks. Angle brackets and ampersands become entities; the rest is escaped.
"""

import re
from collections.abc import Iterable

from weatherglass.fhir.safe_text import clean

_MARKS = re.compile(r"([\\`*_{}\[\]#|~!@$])")
_ENTITIES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_AT_START = re.compile(r"^(\s*)([-+=]|\d+(?=[.)]))")
_SPACE = re.compile(r"\s+")


def plain(text: str) -> str:
    """Return text on one line, without what no screen should be sent.

    Examples:
        >>> plain("  two   words ")
        'two words'
    """
    return _SPACE.sub(" ", clean(text)).strip()


def escape(text: str) -> str:
    r"""Return text that Markdown shows as it is.

    Examples:
        >>> escape("*bold* <b> https://x.example www.x.example")
        '\\*bold\\* &lt;b&gt; https\\://x.example www\\.x.example'
        >>> escape("1. not a list")
        '1\\. not a list'
    """
    safe = _MARKS.sub(r"\\\1", plain(text)).translate(_ENTITIES)
    # Bare addresses would become links: a mark between their parts keeps them words.
    safe = safe.replace("://", "\\://").replace("www.", "www\\.").replace("mailto:", "mailto\\:")
    return _AT_START.sub(_escaped_start, safe)


def _escaped_start(match: "re.Match[str]") -> str:
    mark = match[2]
    return f"{match[1]}{mark}\\" if mark.isdigit() else f"{match[1]}\\{mark}"


def bullets(items: Iterable[str]) -> str:
    """Return texts as a list."""
    return "\n".join(f"- {escape(item)}" for item in items if item)


def blocks(*parts: str) -> str:
    """Join ready blocks with an empty line between them."""
    return "\n\n".join(part for part in parts if part)
