"""Narrative XHTML that a person can read without a FHIR viewer.

Only basic elements, one `div`, every piece of data escaped, what cannot be seen
dropped: markup in an input string arrives as text.
"""

import re
from collections.abc import Iterable, Sequence

from weatherglass.fhir.safe_text import UNSEEN

_UNSAFE = re.compile(f"[&<>\"'{UNSEEN}]")
_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}
_OPEN = '<div xmlns="http://www.w3.org/1999/xhtml">'


def escape(text: str) -> str:
    """Return text that cannot be anything but text.

    Examples:
        >>> escape("<b>5 & 6</b>")
        '&lt;b&gt;5 &amp; 6&lt;/b&gt;'
    """
    return text if _is_safe(text) else _UNSAFE.sub(_replace, text)


def _is_safe(text: str) -> bool:
    # What is printable holds nothing unseen, and a look for one character is quicker than for a class.
    return text.isprintable() and not (
        "&" in text or "<" in text or ">" in text or '"' in text or "'" in text
    )


def _replace(match: "re.Match[str]") -> str:
    return _ENTITIES.get(match.group(), "")


def narrative(*blocks: str) -> dict[str, str]:
    """Wrap ready blocks as the narrative of a resource."""
    return {"status": "generated", "div": f"{_OPEN}{''.join(blocks)}</div>"}


def paragraph(text: str) -> str:
    """Return one paragraph."""
    return f"<p>{escape(text)}</p>"


def bullets(items: Iterable[str]) -> str:
    """Return a list, or nothing when there are no items."""
    texts = [item for item in items if item]
    if not texts:
        return ""
    # One look at all of them: most lists hold nothing that needs escaping.
    if not _is_safe("".join(texts)):
        texts = [escape(text) for text in texts]
    return f"<ul><li>{'</li><li>'.join(texts)}</li></ul>"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table with a head row."""
    top = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    body = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
