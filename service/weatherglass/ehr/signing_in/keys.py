"""Public keys of those who sign tokens, from the one address that was configured for each.

Keys are kept for as long as the server allows, within bounds. An unknown key id makes us
look again, but not more often than every half minute, so that made-up ids cannot make us
ask without end. When the server is away, known keys serve a while longer.
"""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import msgspec
from joserfc.errors import JoseError
from joserfc.jwk import ECKey, RSAKey, import_key
from msgspec import Raw, Struct

from weatherglass.ehr.client.faults import EhrError, UnexpectedAnswerError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.client.transport import Transport
from weatherglass.fhir.decoding import UNREADABLE

PublicKey = RSAKey | ECKey

_SHORTEST, _USUAL, _LONGEST = timedelta(minutes=1), timedelta(minutes=10), timedelta(hours=1)
_LOOK_AGAIN = timedelta(seconds=30)
_STALE = timedelta(minutes=15)
_RETRY = RetryPolicy(attempts=2, first_pause=0.2, timeout=5.0, max_bytes=256 * 1024)


class _KeySet(Struct, gc=False):
    keys: tuple[Raw, ...]


class _Use(Struct, gc=False):
    use: str | None = None
    kty: str = ""


class KeyStore:
    """The public keys at one address."""

    def __init__(
        self,
        url: str,
        *,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
        transport: Callable[[], Transport] | None = None,
    ) -> None:
        """Ask nothing yet.

        Args:
            url: Where the keys are; from our own settings, never from a token.
            clock: The present time.
            transport: Another way to the address, for tests.
        """
        self._url = url
        self._clock = clock
        self._transport = transport or (lambda: Transport(base=url, retry=_RETRY))
        self._lock = asyncio.Lock()
        self._keys: dict[str, PublicKey] = {}
        self._fresh_until: datetime | None = None
        self._asked_at: datetime | None = None

    async def find(self, kid: str) -> PublicKey | None:
        """Return the key of an id; None when its owner has no such key.

        Raises:
            EhrError: The keys cannot be had.
        """
        now = self._clock()
        if self._is_fresh(now) and (kid in self._keys or self._asked_lately(now)):
            return self._keys.get(kid)
        async with self._lock:
            if not (self._is_fresh(now) and (kid in self._keys or self._asked_lately(now))):
                await self._look(now)
        return self._keys.get(kid)

    def _is_fresh(self, now: datetime) -> bool:
        return self._fresh_until is not None and now < self._fresh_until

    def _asked_lately(self, now: datetime) -> bool:
        return self._asked_at is not None and now - self._asked_at < _LOOK_AGAIN

    async def _look(self, now: datetime) -> None:
        if not self._asked_lately(now):
            self._asked_at = now
            try:
                async with self._transport() as transport:
                    answer = await transport.ask(
                        "GET", self._url, "fetch keys", headers={"Accept": "application/json"}
                    )
                self._keys = _read(answer.body)
            except EhrError:
                if not self._may_be_stale(now):
                    raise
            else:
                self._fresh_until = now + _life(answer.headers.get("cache-control", ""))
        elif not self._may_be_stale(now):
            raise EhrError("fetch keys", "the keys could not be had a moment ago")

    def _may_be_stale(self, now: datetime) -> bool:
        return self._fresh_until is not None and now < self._fresh_until + _STALE


def _read(body: bytes) -> dict[str, PublicKey]:
    try:
        listed = msgspec.json.decode(body, type=_KeySet).keys
    except UNREADABLE:
        raise UnexpectedAnswerError("fetch keys", "the answer is not a key set") from None
    found: dict[str, PublicKey] = {}
    for raw in listed:
        try:
            described = msgspec.json.decode(raw, type=_Use)
            # A symmetric key in a public place is a mistake, and a key for encryption signs nothing.
            if described.kty not in ("RSA", "EC") or described.use not in (None, "sig"):
                continue
            key = import_key(msgspec.json.decode(raw))
        except (JoseError, *UNREADABLE, ValueError, TypeError, KeyError):
            continue
        if isinstance(key, RSAKey | ECKey) and key.kid:
            found[key.kid] = key
    return found


def _life(cache_control: str) -> timedelta:
    """Read how long keys may be kept.

    Examples:
        >>> _life("public, max-age=1800").total_seconds()
        1800.0
        >>> _life("no-store").total_seconds()
        60.0
    """
    parts = [part.strip().lower() for part in cache_control.split(",")]
    if "no-store" in parts or "no-cache" in parts:
        return _SHORTEST
    for part in parts:
        name, _, value = part.partition("=")
        if name == "max-age" and value.isdecimal() and len(value) < 10:
            return min(max(timedelta(seconds=int(value)), _SHORTEST), _LONGEST)
    return _USUAL
