"""The body of a request, read as a stream and counted, never written to disk."""

import asyncio
import zlib

from starlette.requests import Request

from weatherglass.api.desk import Seat
from weatherglass.api.refusals import SlowError, TooLargeError, UnsupportedMediaError
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError

_GZIP = zlib.MAX_WBITS | 16


async def read_body(request: Request, seat: Seat) -> bytes:
    """Read a body.

    Args:
        request: The request.
        seat: Where it is held, with the limits: bytes after decompression, and time.

    Raises:
        BusyError: All bodies together would be more than the service holds.
        SlowError: It has not arrived in time.
        TooLargeError: There is more; what is left is not read.
        UnsupportedMediaError: It is packed in a way that we do not unpack.
        UnreadableError: It says that it is gzip and is not, or is cut off.
    """
    most, seconds = seat.settings.max_body_bytes, seat.settings.body_seconds
    encoding = request.headers.get("content-encoding", "identity").strip().lower()
    if encoding not in ("identity", "", "gzip", "x-gzip"):
        raise UnsupportedMediaError(
            Issue(
                Severity.ERROR,
                IssueKey.WRONG_FORMAT,
                "",
                "Send the body as it is, or with Content-Encoding: gzip.",
            )
        )
    announced = request.headers.get("content-length", "0")
    if announced.isdecimal() and (len(announced) > 15 or int(announced) > most):
        raise _too_large(most)
    taking: _Plain | _Unpacking = (
        _Plain(most, seat) if encoding in ("identity", "") else _Unpacking(most, seat)
    )
    try:
        async with asyncio.timeout(seconds):
            async for chunk in request.stream():
                taking.take(chunk)
    except TimeoutError:
        raise SlowError(
            Issue(
                Severity.ERROR,
                IssueKey.BUSY,
                "",
                f"The body did not arrive within {seconds:g} seconds; send it again.",
            )
        ) from None
    return taking.whole().removeprefix(b"\xef\xbb\xbf")


class _Plain:
    """Pieces of a body as they come."""

    def __init__(self, most: int, seat: Seat) -> None:
        self._most = most
        self._seat = seat
        self._pieces: list[bytes] = []
        self._size = 0

    def take(self, chunk: bytes) -> None:
        self._size += len(chunk)
        if self._size > self._most:
            raise _too_large(self._most)
        self._seat.hold(len(chunk))
        self._pieces.append(chunk)

    def whole(self) -> bytes:
        return b"".join(self._pieces)


class _Unpacking:
    """Pieces of a gzip body, unpacked no further than the limit: a few bytes can hold gigabytes."""

    def __init__(self, most: int, seat: Seat) -> None:
        self._plain = _Plain(most, seat)
        self._left = most
        self._most = most
        self._member = zlib.decompressobj(_GZIP)

    def take(self, chunk: bytes) -> None:
        waiting = chunk
        while waiting:
            if self._member.eof:  # A gzip body may have several members.
                self._member = zlib.decompressobj(_GZIP)
            try:
                piece = self._member.decompress(waiting, self._left + 1)
            except zlib.error:
                raise _not_gzip() from None
            self._left -= len(piece)
            self._plain.take(piece)
            waiting = self._member.unused_data or self._member.unconsumed_tail

    def whole(self) -> bytes:
        if not self._member.eof:
            raise _not_gzip()
        return self._plain.whole()


def _too_large(most: int) -> TooLargeError:
    return TooLargeError(
        Issue(
            Severity.ERROR,
            IssueKey.TOO_LARGE,
            "",
            f"The body is larger than {most} bytes; send fewer patients or a shorter time at once.",
        )
    )


def _not_gzip() -> UnreadableError:
    return UnreadableError(Issue(Severity.FATAL, IssueKey.NOT_JSON, "", "The body is not complete gzip."))
