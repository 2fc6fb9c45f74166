"""Connections that do not wait for ever: a head has to arrive whole, soon and short.

The server below has no limit of its own for a head that never ends or never stops
growing. A body is counted and timed where it is read.
"""

import asyncio
from typing import Any, ClassVar

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

#: Room for a signed token of 32 kB and what a browser sends besides.
MAX_HEAD_BYTES = 64 * 1024
_END = b"\r\n\r\n"


class Connection(HttpToolsProtocol):
    """One connection.

    Attributes:
        head_seconds: How long a head may take to arrive; set once, before serving.
    """

    head_seconds: ClassVar[float] = 10.0

    _waiting: asyncio.TimerHandle | None = None
    _in_body = False
    _head_bytes = 0
    _tail = b""

    def connection_made(self, transport: Any) -> None:
        """Wait for the first head."""
        super().connection_made(transport)
        self._expect_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._stop_waiting()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what has arrived, unless a head has grown too long.

        What is left of a body that nobody wanted is no head: it goes on until its end.
        """
        if not self._in_body:
            if self._waiting is None:
                self._expect_head()
            if self._is_too_long(data):
                self._refuse("431 Request Header Fields Too Large")
                return
        super().data_received(data)

    def on_message_begin(self) -> None:
        """A head begins; it may stand behind the end of a body in the same piece."""
        if self._waiting is None:
            self._expect_head()
        super().on_message_begin()

    def on_headers_complete(self) -> None:
        """The head is whole."""
        self._stop_waiting()
        self._in_body = True
        super().on_headers_complete()

    def on_message_complete(self) -> None:
        """The body is whole."""
        self._in_body = False
        super().on_message_complete()

    def _is_too_long(self, data: bytes) -> bool:
        joined = self._tail + data
        end = joined.find(_END)
        self._head_bytes += len(data) if end < 0 else max(end - len(self._tail), 0)
        self._tail = joined[-3:]
        return self._head_bytes > MAX_HEAD_BYTES

    def _expect_head(self) -> None:
        self._head_bytes, self._tail = 0, b""
        self._waiting = self.loop.call_later(self.head_seconds, self._too_slow)

    def _stop_waiting(self) -> None:
        if self._waiting is not None:
            self._waiting.cancel()
            self._waiting = None

    def _too_slow(self) -> None:
        self._waiting = None
        if self._head_bytes:
            self._refuse("408 Request Timeout")
        elif not self.transport.is_closing():
            self.transport.close()  # Opened and never used: nothing to answer.

    def _refuse(self, status: str) -> None:
        self._stop_waiting()
        if not self.transport.is_closing():
            self.transport.write(
                f"HTTP/1.1 {status}\r\ncontent-length: 0\r\nconnection: close\r\n"
                "cache-control: no-store\r\n\r\n".encode("ascii")
            )
            self.transport.close()
