"""Remembering what a text came to, without remembering the text.

What a sender wrote may name a person, and a long text kept for its answer is memory that
never comes back. So an answer is kept under a digest, with a key that this process made up,
and the answers themselves are words and codes of ours.
"""

from collections.abc import Callable
from functools import wraps
from hashlib import blake2b
from secrets import token_bytes
from typing import ParamSpec, TypeVar

_Asked = ParamSpec("_Asked")
_Answer = TypeVar("_Answer")
_KEY = token_bytes(16)
_DIGEST_BYTES = 16


def remembered(most: int) -> Callable[[Callable[_Asked, _Answer]], Callable[_Asked, _Answer]]:
    """Keep the last answers of a function of texts; when there are too many, all are forgotten."""

    def around(function: Callable[_Asked, _Answer]) -> Callable[_Asked, _Answer]:
        known: dict[bytes, _Answer] = {}

        @wraps(function)
        def ask(*asked: _Asked.args, **named: _Asked.kwargs) -> _Answer:
            # Written out as text: the same for equal questions, and different for all others.
            written = repr((asked, named)).encode("utf-8", "surrogatepass")
            digest = blake2b(written, digest_size=_DIGEST_BYTES, key=_KEY).digest()
            if digest in known:
                return known[digest]
            answer = function(*asked, **named)
            if len(known) >= most:
                known.clear()
            known[digest] = answer
            return answer

        return ask

    return around
