"""Audit events to an audit record repository over HTTP, off the path of the requests.

Events wait in a queue of bounded length. A thread posts them one by one and tries
again while the repository is away. What finds the queue full, or is still waiting
when the service stops, is reported as not stored.
"""

import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic

import httpx

from weatherglass.ehr.client.addresses import is_private_enough
from weatherglass.ehr.client.faults import EhrError

_TYPE = {"Content-Type": "application/fhir+json; charset=utf-8"}
#: Statuses after which the same event may be sent again.
_LATER = frozenset({408, 425, 429, 500, 502, 503, 504})


class AuditPost:
    """Posts events to one address."""

    def __init__(
        self,
        address: str,
        *,
        token_file: Path | None = None,
        length: int = 1000,
        lost: Callable[[], None] = lambda: None,
        pause: float = 1.0,
        closing: float = 10.0,
        transport: httpx.BaseTransport | None = None,
    ) -> None:
        """Start the thread that posts.

        Args:
            address: Where AuditEvents are posted to, like https://host/fhir/AuditEvent.
            token_file: File with the bearer token; read anew for each event, so that it may change.
            length: How many events may wait.
            lost: Called for each event that was taken and could not be delivered.
            pause: Seconds between attempts.
            closing: Seconds that what still waits may take when the service stops.
            transport: For tests.

        Raises:
            EhrError: The address would carry the token over an open network.
        """
        if not is_private_enough(address):
            raise EhrError("audit", "the sink must be an https address, or on this machine")
        self._address = address
        self._token_file = token_file
        self._waiting: queue.Queue[bytes | None] = queue.Queue(length)
        self._lost = lost
        self._pause = pause
        self._closing = closing
        self._stopping = threading.Event()
        self._give_up_at = float("inf")
        self._client = httpx.Client(timeout=10.0, follow_redirects=False, transport=transport)
        self._thread = threading.Thread(target=self._run, name="audit", daemon=True)
        self._thread.start()

    def take(self, event: bytes) -> bool:
        """Put an event in the queue; tell whether there was room."""
        try:
            self._waiting.put_nowait(event)
        except queue.Full:
            return False
        return True

    def close(self) -> None:
        """Deliver what waits, within the time for closing, and stop."""
        self._give_up_at = monotonic() + self._closing
        self._stopping.set()
        with suppress(queue.Full):
            self._waiting.put(None, timeout=self._closing)
        self._thread.join(self._closing + 1)
        self._client.close()

    def _run(self) -> None:
        while (event := self._waiting.get()) is not None:
            if not self._delivered(event):
                self._lost()

    def _delivered(self, event: bytes) -> bool:
        while monotonic() < self._give_up_at:
            with suppress(httpx.HTTPError, OSError):  # Away for now, or its token is: try again.
                answer = self._client.post(self._address, content=event, headers={**_TYPE, **self._token()})
                if answer.status_code not in _LATER:
                    return answer.is_success
            if self._stopping.is_set():
                threading.Event().wait(min(self._pause, 0.2))
            else:
                self._stopping.wait(self._pause)
        return False

    def _token(self) -> dict[str, str]:
        if self._token_file is None:
            return {}
        return {"Authorization": f"Bearer {self._token_file.read_text('utf-8').strip()}"}
