"""The audit: one AuditEvent a request to a sink of the operator's; off unless one is named.

A sink that does not take an event is never passed over in silence: it is logged and
counted, and where the site requires the audit, the answer is withheld.
"""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from threading import Lock
from typing import NamedTuple, Protocol

import msgspec

from weatherglass import __version__
from weatherglass.api.settings import Settings
from weatherglass.fhir.writing.audit_event import write_audit_event

_READS = frozenset({"GET", "HEAD", "OPTIONS"})


class AuditSinkError(ValueError):
    """The sink of the audit cannot be used; the message names the setting."""


class Sink(Protocol):
    """Where audit events go."""

    def take(self, event: bytes) -> bool:
        """Take one event, without a newline; tell whether it is kept."""
        ...

    def close(self) -> None:
        """Finish what is under way."""
        ...


class AuditedRequest(NamedTuple):
    """What the audit tells about one request."""

    request_id: str
    route: str
    status: int
    client: str
    patients: int


class FileSink:
    """Appends one event a line to a file that only this user can read."""

    def __init__(self, path: Path) -> None:
        """Open the file.

        Raises:
            OSError: It cannot be written; better known at the start than at the first request.
        """
        self._file = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_CLOEXEC, 0o600)
        self._half_written = False
        self._lock = Lock()

    def take(self, event: bytes) -> bool:
        """Append an event; a line that broke off stays alone on its line."""
        line = (b"\n" if self._half_written else b"") + event + b"\n"
        with self._lock:
            try:
                written = os.write(self._file, line)
            except OSError:
                return False
            self._half_written = written < len(line)
        return not self._half_written

    def close(self) -> None:
        """Close the file."""
        os.close(self._file)


class Auditor:
    """Writes the events of one application.

    Attributes:
        required: Whether an answer may go out only when its event is kept.
    """

    def __init__(
        self,
        sink: Sink,
        *,
        required: bool,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        """Write to a sink."""
        self.required = required
        self._sink = sink
        self._now = now

    @staticmethod
    def wants(method: str) -> bool:
        """Tell whether requests of a method are audited: all that bring data."""
        return method not in _READS

    def record(self, request: AuditedRequest) -> bool:
        """Write the event of one request; tell whether it is kept."""
        event = write_audit_event(
            recorded=self._now(),
            route=request.route,
            status=request.status,
            client=request.client,
            request_id=request.request_id,
            patients=request.patients,
            software=__version__,
        )
        return self._sink.take(msgspec.json.encode(event))

    def close(self) -> None:
        """Finish what is under way."""
        self._sink.close()


def make_auditor(settings: Settings, *, lost: Callable[[], None]) -> Auditor | None:
    """Return what writes the audit as the settings say; None when they name no sink.

    Args:
        settings: They name at most one sink.
        lost: Called for each event that was queued and could not be delivered.

    Raises:
        AuditSinkError: The sink cannot be used.
    """
    if settings.audit_file and settings.audit_url:
        raise AuditSinkError("name one sink for the audit: audit_file or audit_url")
    if not settings.audit_file and not settings.audit_url:
        if settings.audit_required:
            raise AuditSinkError("audit_required needs audit_file or audit_url")
        return None
    sink = _file_sink(settings.audit_file) if settings.audit_file else _http_sink(settings, lost)
    return Auditor(sink, required=settings.audit_required)


def _file_sink(path: str) -> Sink:
    try:
        return FileSink(Path(path))
    except OSError as error:
        raise AuditSinkError(f"audit_file {path}: {error.strerror}") from None


def _http_sink(settings: Settings, lost: Callable[[], None]) -> Sink:
    from weatherglass.ehr.client.audit_post import AuditPost
    from weatherglass.ehr.client.faults import EhrError

    token = Path(settings.audit_token_file) if settings.audit_token_file else None
    if token is not None and not token.is_file():
        raise AuditSinkError(f"audit_token_file {token}: no such file")
    try:
        return AuditPost(settings.audit_url or "", token_file=token, length=settings.audit_queue, lost=lost)
    except EhrError as error:
        raise AuditSinkError(f"audit_url: {error.why}") from None
