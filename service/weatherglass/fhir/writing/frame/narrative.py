"""Narrative XHTML that a person can read without a FHIR viewer.

Only basic elements, one `div`, every piece of data escaped, what cannot be seen
dropped: markup in an input string arrives as text.
"""

from collections.abc import Iterable, Sequence

from weatherglass.fhir.safe_text import clean

_OPEN = '<div xmlns="http://www.w3.org/1999/xhtml">'
_ESCAPED = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}
#: What of ASCII does not stand in a narrative as it is, each as another letter.
_MARKED = "".join(each for each in map(chr, range(128)) if each in _ESCAPED or not clean(each)).encode()
_OTHERWISE = bytes.maketrans(_MARKED, b"?" * len(_MARKED))


def escape(text: str) -> str:
    """Return text that cannot be anything but text.

    Examples:
        >>> escape("<b>5 & 6's</b>")
        '&lt;b&gt;5 &amp; 6&#39;s&lt;/b&gt;'
    """
    # Nearly every text is plain, which a table tells in a third of the steps.
    if text.isascii() and (plain := text.encode()).translate(_OTHERWISE) == plain:
        return text
    text = clean(text)
    for mark, written in _ESCAPED.items():
        text = text.replace(mark, written)
    return text


def narrative(*blocks: str) -> dict[str, str]:
    """Wrap ready blocks as the narrative of a resource."""
    return {"status": "generated", "div": f"{_OPEN}{''.join(blocks)}</div>"}


def paragraph(text: str) -> str:
    """Return one paragraph."""
    return f"<p>{escape(text)}</p>"


def bullets(items: Iterable[str]) -> str:
    """Return a list, or nothing when there are no items."""
    texts = list(filter(None, items))
    if not texts:
        return ""
    return f"<ul><li>{'</li><li>'.join(map(escape, texts))}</li></ul>"


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table with a head row."""
    top = "".join(f"<th>{escape(cell)}</th>" for cell in head)
    body = "".join(f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
