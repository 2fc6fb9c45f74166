"""Sees every request from its head to the last byte of its answer, and tells who wants to know.

Plain ASGI and outermost, so that it also sees what the other layers make of a fault.
It hands on the route template and never the address: an address may hold what a
caller should not have put there.
"""

import asyncio
import logging
from typing import Any

from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from weatherglass.api.access.refusals import WithheldError
from weatherglass.api.requests.errors import answer_for
from weatherglass.api.telemetry.audit import AuditedRequest, Auditor
from weatherglass.api.telemetry.metrics import Metrics
from weatherglass.api.telemetry.request_facts import RequestFacts, begin
from weatherglass.api.telemetry.tracing import Tracing
from weatherglass.fhir.issues import IssueKey

_LOG = logging.getLogger("weatherglass.request")
#: What monitoring itself asks for is told at the level "debug" only.
_QUIET = frozenset({"/health/live", "/health/ready", "/metrics"})
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH"})
#: Not sent to anybody: the caller had gone, or did not take the answer.
_GONE = 499
#: Headers of an answer that are not true of another one sent in its place.
_OF_THE_BODY = frozenset(
    {b"content-type", b"content-length", b"content-encoding", b"vary", b"preference-applied"}
)
_WITHHELD = (
    "The answer is withheld: it has to be audited and the audit cannot be written now; send it again later."
)


class SlowReaderError(Exception):
    """The caller does not take the answer; the connection is given up."""


class Telemetry:
    """Wraps the application."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        metrics: Metrics,
        tracing: Tracing,
        auditor: Auditor | None,
        send_seconds: float,
    ) -> None:
        """Wrap an application.

        Args:
            app: What answers.
            metrics: Where requests are counted.
            tracing: Where spans go.
            auditor: Where audit events go; None when nobody wants them.
            send_seconds: How long a caller may take to accept one piece of an answer.
        """
        self._app = app
        self._metrics = metrics
        self._tracing = tracing
        self._auditor = auditor
        self._send_seconds = send_seconds

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request through."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        seen = _Seen(scope, begin())
        self._metrics.begin()
        span = self._tracing.request(scope)
        try:
            await self._app(scope, receive, _Sending(self, seen, send))
        except BaseException as error:
            seen.fault = type(error).__name__
            raise
        finally:
            span.end(
                method=seen.method,
                route=seen.route,
                status=seen.status,
                request_id=seen.request_id,
                facts=seen.facts,
            )
            self._metrics.end(method=seen.method, route=seen.route, status=seen.status, facts=seen.facts)
            level = logging.DEBUG if seen.route in _QUIET and seen.status < 400 else logging.INFO
            if _LOG.isEnabledFor(level):
                _LOG.log(level, "request", extra={"facts": seen.told()})

    async def pass_on(self, send: Send, message: Message) -> None:
        """Send a piece of an answer.

        Raises:
            SlowReaderError: The caller does not take it in time.
        """
        try:
            async with asyncio.timeout(self._send_seconds):
                await send(message)
        except TimeoutError:
            raise SlowReaderError from None

    def may_go(self, seen: "_Seen") -> bool:
        """Hand the audit event of a request over; tell whether the answer may go out."""
        auditor = self._auditor
        if auditor is None or not auditor.wants(seen.method):
            return True
        kept = auditor.record(
            AuditedRequest(
                request_id=seen.request_id,
                route=seen.route,
                status=seen.status,
                client=seen.facts.client,
                patients=seen.facts.records,
            )
        )
        if not kept:
            self._metrics.unstored()
            _LOG.error("an audit event was not stored", extra={"facts": {"request_id": seen.request_id}})
        return kept or not auditor.required


class _Seen:
    """One request as far as it has been seen."""

    def __init__(self, scope: Scope, facts: RequestFacts) -> None:
        self.scope = scope
        self.facts = facts
        self.status = _GONE
        self.sent_bytes = 0
        self.fault = ""

    @property
    def method(self) -> str:
        method = self.scope["method"]
        return method if method in _METHODS else "other"

    @property
    def route(self) -> str:
        """The template of the address; "none" when nothing is at the address."""
        route = self.scope.get("route")
        return str(getattr(route, "path_format", None) or getattr(route, "path", None) or "none")

    @property
    def request_id(self) -> str:
        return str(self.scope.get("state", {}).get("request_id", ""))

    def told(self) -> dict[str, Any]:
        """The request as a line of the log tells it."""
        facts = self.facts
        told: dict[str, Any] = {
            "request_id": self.request_id,
            "method": self.method,
            "route": self.route,
            "status": self.status,
            "ms": round(facts.seconds * 1000, 2),
            "sent_bytes": self.sent_bytes,
            "phases": {one.name: round((one.end - one.begin) * 1000, 2) for one in facts.phases},
            "patients": facts.records,
            "findings": sum(facts.findings.values()),
            "unusable": {reason: number for (reason, _), number in sorted(facts.unusable.items())},
            "client": facts.client,
            "fault": self.fault,
        }
        return {name: value for name, value in told.items() if value not in ("", {})}


class _Sending:
    """Passes the answer on, and only when its audit event is kept where the site wants that."""

    def __init__(self, telemetry: Telemetry, seen: _Seen, send: Send) -> None:
        self._telemetry = telemetry
        self._seen = seen
        self._send = send
        self._withheld = False

    async def __call__(self, message: Message) -> None:
        if self._withheld:
            return
        seen = self._seen
        if message["type"] == "http.response.start":
            seen.status = message["status"]
            if not self._telemetry.may_go(seen):
                self._withheld = True
                instead = await answer_for(Request(seen.scope), WithheldError.of(IssueKey.BUSY, _WITHHELD))
                seen.status = instead.status_code
                kept = [header for header in message["headers"] if header[0].lower() not in _OF_THE_BODY]
                start = {**message, "status": seen.status, "headers": [*kept, *instead.raw_headers]}
                await self._telemetry.pass_on(self._send, start)
                message = {"type": "http.response.body", "body": bytes(instead.body)}
        if message["type"] == "http.response.body":
            seen.sent_bytes += len(message.get("body", b""))
        await self._telemetry.pass_on(self._send, message)
