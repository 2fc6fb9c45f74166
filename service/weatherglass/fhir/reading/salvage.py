"""A Bundle too deep for the decoder, taken apart entry by entry.

JSON sets no limit to nesting, decoders do. One entry of a thousand brackets makes a
whole body unreadable that is JSON all the same, so the entries are told apart by their
brackets and each is then decoded as strictly as any other. A body that is not JSON is
never taken apart: where its entries end would be a guess.

Everything here runs only after the decoder has given up on a body.
"""

import re
from collections.abc import Iterator

from weatherglass.budget import watched
from weatherglass.model.plain import Plain

#: Whole strings and brackets; whatever stands between them does not nest. A string that is never
#: closed reaches to the end, so that no quote in it is a beginning of its own.
_TOKEN = re.compile(rb'"(?:[^"\\]++|\\.)*+"?|[{}\[\]]|[^\s"{}\[\]]++', re.DOTALL)
_CLOSED_BY = {b"{": b"}", b"[": b"]"}
_CLOSING = frozenset(_CLOSED_BY.values())


class Parts(Plain, frozen=True):
    """A body taken apart.

    Attributes:
        shell: The object with an empty list in their place.
        elements: The text of each element, unread.
    """

    shell: bytes
    elements: tuple[bytes, ...]


def take_apart(body: bytes, name: str) -> Parts | None:
    """Split an object at the elements of its list `name`; None when its brackets do not pair up.

    Examples:
        >>> take_apart(b'{"entry": [{"a": [[1]]}, {"b": [1, 2]}], "type": "batch"}', "entry").elements
        (b'{"a": [[1]]}', b'{"b": [1, 2]}')
        >>> take_apart(b'{"entry": [{"a": 1]}', "entry") is None
        True
    """
    wanted = f'"{name}"'.encode()
    spans: list[tuple[int, int]] = []
    key = b""
    start = opened = closed = 0
    try:
        for depth, mark, first, last in _marks(body):
            if depth == 1 and mark.startswith(b'"'):
                key = mark
            elif depth == 1 and mark == b"[" and key == wanted and not opened:
                opened = last
            elif closed or not opened:
                continue
            elif depth == 1 and mark == b"]":
                closed = first
            elif depth == 2 and mark in (b"{", b"["):
                start = first
            elif depth == 2 and mark in (b"}", b"]"):
                spans.append((start, last))
    except _UnpairedError:
        return None
    if not closed or not spans:
        return None
    return Parts(body[:opened] + body[closed:], tuple(body[first:last] for first, last in spans))


class _UnpairedError(ValueError):
    """The brackets of a body do not pair up."""


def _marks(body: bytes) -> Iterator[tuple[int, bytes, int, int]]:
    """Yield strings and brackets, each with how many brackets are open around it."""
    waiting: list[bytes] = []
    ended = False
    for token in watched(_TOKEN.finditer(body)):
        if ended:
            raise _UnpairedError
        mark = token.group()
        closing = _CLOSED_BY.get(mark)
        if closing is None and mark in _CLOSING:
            if not waiting or waiting.pop() != mark:
                raise _UnpairedError
            ended = not waiting
        elif closing is None and not waiting:
            raise _UnpairedError
        yield len(waiting), mark, token.start(), token.end()
        if closing is not None:
            waiting.append(closing)
    if not ended:
        raise _UnpairedError


def cut_out(text: bytes, name: str) -> tuple[bytes, bytes] | None:
    """Take one object out of the object around it.

    Returns:
        What is left, with an empty object in its place, and the text that was cut out.

    Examples:
        >>> cut_out(b'{"name": "record", "resource": {"x": [1]}}', "resource")
        (b'{"name": "record", "resource": {}}', b'{"x": [1]}')
    """
    wanted = f'"{name}"'.encode()
    key = b""
    start = 0
    try:
        for depth, mark, first, last in _marks(text):
            if depth == 1 and mark.startswith(b'"'):
                key = mark
            elif depth == 1 and mark == b"{" and key == wanted:
                start = first
            elif depth == 1 and mark == b"}" and start:
                return text[:start] + b"{}" + text[last:], text[start:last]
    except _UnpairedError:
        return None
    return None
