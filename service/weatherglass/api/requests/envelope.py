"""What surrounds every answer: a request id, the safety headers, and an answer to any fault not met before.

Plain ASGI, because it runs for every request.
"""

import re
import secrets
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from weatherglass.api.requests.errors import answer_for

#: Ids from outside end in logs and headers, so only what cannot do harm there is taken.
_SAFE_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:\-]{0,63}")
#: Set unless the answer has its own: a page that runs scripts says from where.
_USUAL = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class Envelope:
    """Wraps the application."""

    def __init__(self, app: ASGIApp) -> None:
        """Wrap an application."""
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request through."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        path: str = scope["path"]
        if len(path) > 1 and path.endswith("/"):
            # FHIR clients post to the base with a slash; a redirect would lose the body of some.
            scope["path"] = path.rstrip("/") or "/"
        has_body = scope["method"] != "HEAD"
        if not has_body:  # RFC 9110, 9.3.2: as GET, and no content is sent.
            scope["method"] = "GET"
        request_id = secrets.token_hex(16)
        correlation = _correlation(Headers(scope=scope))
        scope.setdefault("state", {})["request_id"] = request_id
        started = False

        async def send_dressed(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                _dress(message, request_id, correlation)
            elif not has_body:
                message = {**message, "body": b""}
            await send(message)

        try:
            await self._app(scope, receive, send_dressed)
        except Exception as error:
            if started:  # Too late for another answer: the cut-off body tells the caller.
                raise
            answer = await answer_for(Request(scope), error)
            await answer(scope, receive, send_dressed)


def _correlation(headers: Headers) -> str:
    given = headers.get("x-correlation-id") or headers.get("x-request-id") or ""
    return given if _SAFE_ID.fullmatch(given) else ""


def _dress(message: dict[str, Any] | Message, request_id: str, correlation: str) -> None:
    headers = MutableHeaders(scope=message)
    headers["X-Request-Id"] = request_id
    if correlation:
        headers["X-Correlation-Id"] = correlation
    for name, value in _USUAL.items():
        headers.setdefault(name, value)
