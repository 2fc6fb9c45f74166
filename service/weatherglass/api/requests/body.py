"""The body of a request, read as a stream and counted, never written to disk."""

import time
import zlib
from asyncio import timeout
from collections.abc import AsyncIterator

from starlette.requests import Request

from weatherglass.api.access.refusals import SlowError, TooLargeError, UnsupportedMediaError
from weatherglass.api.requests.limiter import Slot
from weatherglass.fhir.issues import IssueKey, Severity, UnreadableError

_GZIP = zlib.MAX_WBITS | 16
#: Ours: a body may unpack to so many times its size, once it is larger than this. Records come to 10 to 30.
_MOST_EXPANSION, _EXPANSION_FROM = 50, 1024 * 1024
#: Ours: parts that a gzip body may be put together from.
_MOST_MEMBERS = 1000
#: How much is unpacked at a time: what a few bytes unpack to is looked at in between.
_PIECE = 1024 * 1024
#: Ours: brackets that open in a body, beside one in so many bytes; a record has one in 30 or so.
_BRACKETS, _BYTES_A_BRACKET = 50_000, 12


async def read_body(request: Request, slot: Slot) -> bytes:
    """Read a body, and take the slot once it is whole.

    Args:
        request: The request.
        slot: Where it is held, with the limits: bytes as they come and unpacked, time and pace.

    Raises:
        BusyError: All bodies together would be more than the service holds, or no slot is free.
        SlowError: It does not arrive in time, or too slowly.
        TooLargeError: There is more, it unpacks to too much, or it holds too many objects.
        UnsupportedMediaError: It is packed in a way that we do not unpack.
        UnreadableError: It says that it is gzip and is not, or is cut off.
    """
    most = slot.settings.max_body_bytes
    encoding = request.headers.get("content-encoding", "identity").strip().lower()
    if encoding not in ("identity", "", "gzip", "x-gzip"):
        raise UnsupportedMediaError.of(
            IssueKey.WRONG_FORMAT, "Send the body as it is, or with Content-Encoding: gzip."
        )
    announced = request.headers.get("content-length", "0")
    if announced.isdecimal() and (len(announced) > 15 or int(announced) > most):
        raise _too_large(most)
    taking: _Plain | _Unpacking = (
        _Plain(most, slot) if encoding in ("identity", "") else _Unpacking(most, slot)
    )
    try:
        async with timeout(slot.settings.body_seconds):
            async for chunk in _at_pace(request, slot):
                taking.take(chunk)
    except TimeoutError:
        raise _too_slow(f"within {slot.settings.body_seconds:g} seconds") from None
    body = taking.whole().removeprefix(b"\xef\xbb\xbf")
    if body.count(b"{") + body.count(b"[") > _BRACKETS + len(body) // _BYTES_A_BRACKET:
        raise TooLargeError.of(
            IssueKey.TOO_LARGE, "The body holds far more objects than a record of its length."
        )
    slot.take()
    return body


async def _at_pace(request: Request, slot: Slot) -> AsyncIterator[bytes]:
    """Pass the pieces of a body on while they keep coming fast enough.

    Raises:
        SlowError: After some grace they have come more slowly, on the whole, than the least rate.
    """
    settings = slot.settings
    pieces = request.stream().__aiter__()
    began, arrived = time.monotonic(), 0
    while True:
        allowed = settings.body_grace_seconds + arrived / settings.body_bytes_per_second
        try:
            async with timeout(began + allowed - time.monotonic()):
                piece = await anext(pieces, None)
        except TimeoutError:
            raise _too_slow(f"at {settings.body_bytes_per_second} bytes a second or more") from None
        if piece is None:
            return
        arrived += len(piece)
        yield piece


class _Plain:
    """Pieces of a body as they come."""

    def __init__(self, most: int, slot: Slot) -> None:
        self._most = most
        self._slot = slot
        self._pieces: list[bytes] = []
        self._size = 0

    def take(self, chunk: bytes) -> None:
        self._size += len(chunk)
        if self._size > self._most:
            raise _too_large(self._most)
        self._slot.hold(len(chunk))
        self._pieces.append(chunk)

    def whole(self) -> bytes:
        return b"".join(self._pieces)


class _Unpacking:
    """Pieces of a gzip body, unpacked no further than the limits: a few bytes can hold gigabytes."""

    def __init__(self, most: int, slot: Slot) -> None:
        self._plain = _Plain(most, slot)
        self._most = most
        self._packed = self._unpacked = 0
        self._members = 1
        self._begun_at = 0
        self._member = zlib.decompressobj(_GZIP)

    def take(self, chunk: bytes) -> None:
        self._packed += len(chunk)
        if self._packed > self._most:
            raise _too_large(self._most)
        waiting = chunk
        while waiting:
            if self._member.eof:
                self._next_member()
            try:
                piece = self._member.decompress(waiting, min(_PIECE, self._most - self._unpacked + 1))
            except zlib.error:
                raise _not_gzip() from None
            self._unpacked += len(piece)
            self._plain.take(piece)
            if self._unpacked > max(_EXPANSION_FROM, _MOST_EXPANSION * self._packed):
                raise _too_packed()
            waiting = self._member.unused_data or self._member.unconsumed_tail

    def _next_member(self) -> None:
        """Begin the next part of a body put together from several; one that holds nothing is not sent."""
        self._members += 1
        if self._unpacked == self._begun_at or self._members > _MOST_MEMBERS:
            raise _not_gzip("The gzip body has an empty part, or too many parts.")
        self._begun_at = self._unpacked
        self._member = zlib.decompressobj(_GZIP)

    def whole(self) -> bytes:
        if not self._member.eof:
            raise _not_gzip()
        return self._plain.whole()


def _too_slow(how: str) -> SlowError:
    return SlowError.of(IssueKey.BUSY, f"The body did not arrive {how}; send it again.")


def _too_large(most: int) -> TooLargeError:
    return TooLargeError.of(
        IssueKey.TOO_LARGE,
        f"The body is larger than {most} bytes; send fewer patients or a shorter time at once.",
    )


def _too_packed() -> TooLargeError:
    text = f"The gzip body unpacks to more than {_MOST_EXPANSION} times its size; send it as it is."
    return TooLargeError.of(IssueKey.TOO_LARGE, text)


def _not_gzip(text: str = "The body is not complete gzip.") -> UnreadableError:
    return UnreadableError.of(IssueKey.NOT_JSON, text, severity=Severity.FATAL)
