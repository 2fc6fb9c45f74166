"""Looking up an opaque token at the server that issued it (RFC 7662).

An answer is kept for half a minute at most and never beyond the token's own life, under
a digest: the token itself is not kept.
"""

from base64 import b64encode
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any
from urllib.parse import quote, urlencode

import msgspec

from weatherglass.ehr.client.faults import UnexpectedAnswerError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.client.transport import Transport
from weatherglass.fhir.decoding import UNREADABLE

_KEPT = timedelta(seconds=30)
_MOST = 10_000
#: Seconds since 1970 that a calendar can show.
_LATEST = 1e11
_RETRY = RetryPolicy(attempts=2, first_pause=0.2, timeout=5.0, max_bytes=64 * 1024)


class Introspector:
    """Asks one authorization server about tokens."""

    def __init__(
        self,
        url: str,
        *,
        client_id: str,
        secret: str,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        transport: Callable[[], Transport] | None = None,
    ) -> None:
        """Take our own credentials for that server."""
        self._url = url
        pair = f"{quote(client_id, safe='')}:{quote(secret, safe='')}"
        self._authorization = f"Basic {b64encode(pair.encode()).decode()}"
        self._clock = clock
        self._transport = transport or (lambda: Transport(base=url, retry=_RETRY))
        self._known: dict[bytes, tuple[datetime, dict[str, Any]]] = {}

    async def look_up(self, token: str) -> dict[str, Any]:
        """Return what the server says of a token; nothing when it is not active.

        Raises:
            EhrError: The server could not be asked.
        """
        now = self._clock()
        name = sha256(token.encode()).digest()
        kept = self._known.get(name)
        if kept is not None and now < kept[0]:
            return kept[1]
        claims = await self._ask(token)
        until = now + _KEPT
        expires = claims.get("exp")
        if isinstance(expires, int | float) and not isinstance(expires, bool):
            # What no clock can show is refused by whoever reads the claims, and is not kept.
            until = min(until, now + timedelta(seconds=_left(expires, now)))
        if len(self._known) >= _MOST:
            self._known = {key: value for key, value in self._known.items() if now < value[0]}
            if len(self._known) >= _MOST:
                self._known.clear()
        self._known[name] = (until, claims)
        return claims

    async def _ask(self, token: str) -> dict[str, Any]:
        async with self._transport() as transport:
            answer = await transport.ask(
                "POST",
                self._url,
                "look up a token",
                headers={
                    "Accept": "application/json",
                    "Authorization": self._authorization,
                    "Content-Type": "application/x-www-form-urlencoded",
                },
                content=urlencode({"token": token, "token_type_hint": "access_token"}).encode(),
            )
        try:
            claims = msgspec.json.decode(answer.body, type=dict[str, Any])
        except UNREADABLE:
            raise UnexpectedAnswerError("look up a token", "the answer is not readable") from None
        return claims if claims.get("active") is True else {}


def _left(expires: float, now: datetime) -> float:
    """Return the seconds that are left, between none and as long as an answer is kept."""
    longest = _KEPT.total_seconds()
    return max(0.0, min(expires - now.timestamp(), longest)) if -_LATEST <= expires <= _LATEST else 0.0
