"""Asking a FHIR server: patient where it is busy, bounded, and careful with the token.

What may be asked again is asked again, with growing pauses and some chance in them so
that many clients do not come back together; `Retry-After` is obeyed. A token goes to
https or to this machine only. Redirects are not followed.
"""

import asyncio
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import NamedTuple, Protocol, Self, TypeVar

import httpx
import msgspec

from weatherglass import __version__
from weatherglass.ehr.client.addresses import is_private_enough, without_slash
from weatherglass.ehr.client.faults import (
    BUSY,
    BrokenOffError,
    EhrError,
    RefusedError,
    UnreachableError,
    outcome_codes,
)
from weatherglass.ehr.client.retry import RetryPolicy, seconds_asked
from weatherglass.fhir.decoding import UNREADABLE

_Result = TypeVar("_Result")
FHIR_JSON = "application/fhir+json"
_OWN_MACHINE = ("all://localhost", "all://127.0.0.1", "all://[::1]")


class Tokens(Protocol):
    """Where access tokens come from."""

    async def token(self, *, renew: bool = False) -> str:
        """Return a token that is still good for a while; a new one when asked to renew."""
        ...


@dataclass(slots=True)
class Counted:
    """What was asked, for the report."""

    requests: int = 0
    repeats: int = 0


class Answer(NamedTuple):
    """A whole answer."""

    status: int
    headers: Mapping[str, str]
    body: bytes


class Request(NamedTuple):
    """One request; see `Transport.ask` for what its fields mean."""

    method: str
    path: str
    what: str
    headers: Mapping[str, str] = {}
    content: bytes | None = None
    authorised: bool = True
    repeatable: bool = True
    expected: tuple[int, ...] = (200,)


@dataclass(slots=True, kw_only=True)
class Transport:
    """A FHIR server, its token, and how often it is asked.

    Attributes:
        base: Base address of the server, without a slash at the end.
        tokens: Where access tokens come from; none when the server is open.
    """

    base: str
    tokens: Tokens | None = None
    retry: RetryPolicy = field(default_factory=RetryPolicy)
    sleep: Callable[[float], Awaitable[None]] = asyncio.sleep
    client: httpx.AsyncClient | None = None
    counted: Counted = field(default_factory=Counted)
    _gate: asyncio.Semaphore | None = None
    _told: tuple[datetime, float] | None = None

    def present(self, ours: datetime) -> datetime:
        """Return the present by the server's clock, as far as it has told; otherwise ours."""
        if self._told is None:
            return ours
        told, at = self._told
        return told + timedelta(seconds=time.monotonic() - at)

    async def __aenter__(self) -> Self:
        """Open the connections."""
        self.base = without_slash(self.base)
        self._gate = asyncio.Semaphore(self.retry.concurrency)
        if self.client is None:
            self.client = httpx.AsyncClient(
                timeout=self.retry.timeout,
                follow_redirects=False,
                headers={"User-Agent": f"weatherglass/{__version__}"},
                limits=httpx.Limits(max_connections=self.retry.concurrency * 2),
                # What is meant for this machine does not go through a proxy on its way.
                mounts=dict.fromkeys(_OWN_MACHINE),
            )
        return self

    async def __aexit__(self, *_: object) -> None:
        """Close the connections."""
        if self.client is not None:
            await self.client.aclose()

    def url(self, path: str) -> str:
        """Return the full address of a path under the base; a full address stays as it is."""
        return path if path.startswith(("http://", "https://")) else f"{self.base}/{path.lstrip('/')}"

    async def ask(
        self,
        method: str,
        path: str,
        what: str,
        *,
        headers: Mapping[str, str] | None = None,
        content: bytes | None = None,
        authorised: bool = True,
        repeatable: bool = True,
        expected: tuple[int, ...] = (200,),
    ) -> Answer:
        """Send one request and return the whole answer.

        Args:
            method: HTTP method.
            path: Path under the base, or a full address.
            what: What this request is for, in words for a message.
            headers: Headers beside Accept and Authorization.
            content: Body, sent as FHIR JSON unless the headers say otherwise.
            authorised: Whether the access token goes with it.
            repeatable: Whether sending it twice does no harm.
            expected: Statuses that are an answer; every other one is an error.

        Raises:
            EhrError: The server could not be reached, or refused.
        """
        request = Request(method, path, what, headers or {}, content, authorised, repeatable, expected)
        for attempt in range(1, self.retry.attempts + 1):
            try:
                async with self.open(request) as response:
                    body = await self._read(response, what)
                    last = attempt == self.retry.attempts or not repeatable
                    if last or _is_readable(request, body):
                        return Answer(response.status_code, response.headers, body)
                await self._pause(attempt, None, what)
            except BrokenOffError:
                if attempt == self.retry.attempts or not repeatable:
                    raise
                await self._pause(attempt, None, what)
        raise UnreachableError(what, "no attempt was allowed")

    async def retried(
        self, work: Callable[[], Awaitable[_Result]], again: Callable[[EhrError], bool]
    ) -> _Result:
        """Do something that is more than one request, from its beginning again while that may help."""
        for attempt in range(1, self.retry.attempts):
            try:
                return await work()
            except EhrError as fault:
                if not again(fault):
                    raise
            await self.sleep(self.retry.pause_after(attempt))
        return await work()

    @asynccontextmanager
    async def open(self, request: Request) -> AsyncIterator[httpx.Response]:
        """Send one request and hand over the answer with its body still on the way."""
        if self._gate is None:
            raise RuntimeError("A Transport is used inside 'async with'.")
        async with self._gate:
            response = await self._persist(request)
            try:
                if response.status_code not in request.expected:
                    raise await _refusal(response, request.what)
                yield response
            finally:
                await response.aclose()

    async def _persist(self, request: Request) -> httpx.Response:
        attempt, renewed = 0, False
        while True:
            attempt += 1
            last = attempt >= self.retry.attempts or not request.repeatable
            try:
                response = await self._send(request, renew=renewed and attempt == 1)
            except httpx.TransportError as fault:
                if last:
                    raise UnreachableError(request.what, words_of(fault)) from None
                await self._pause(attempt, None, request.what)
                continue
            status = response.status_code
            if status == 401 and request.authorised and self.tokens is not None and not renewed:
                # The token may have been withdrawn early: one new one, then it is a refusal.
                renewed, attempt = True, 0
                await response.aclose()
                continue
            if status in request.expected or status not in BUSY or last:
                return response
            asked = response.headers.get("retry-after")
            await response.aclose()
            await self._pause(attempt, asked, request.what)

    async def _send(self, request: Request, *, renew: bool) -> httpx.Response:
        if self.client is None:
            raise RuntimeError("A Transport is used inside 'async with'.")
        url = self.url(request.path)
        sent = {"Accept": FHIR_JSON, **request.headers}
        if request.content is not None:
            sent.setdefault("Content-Type", FHIR_JSON)
        if request.authorised and self.tokens is not None:
            if not is_private_enough(url):
                raise EhrError("sign in", "an access token is sent over https or to this machine only")
            sent["Authorization"] = f"Bearer {await self.tokens.token(renew=renew)}"
        self.counted.requests += 1
        built = self.client.build_request(request.method, url, headers=sent, content=request.content)
        response = await self.client.send(built, stream=True)
        self._hear(response.headers.get("date"))
        return response

    def _hear(self, date: str | None) -> None:
        """Keep what the server's clock shows: ours may be stepped."""
        try:
            told = parsedate_to_datetime(date or "")
        except ValueError:
            return
        self._told = (told if told.tzinfo else told.replace(tzinfo=UTC), time.monotonic())

    async def _pause(self, attempt: int, asked: str | None, what: str) -> None:
        self.counted.repeats += 1
        wanted = seconds_asked(asked, self.present(datetime.now(UTC))) if asked else None
        if wanted is not None and wanted > self.retry.longest_pause:
            raise UnreachableError(
                what, f"the server asks to wait {wanted:.0f} s, which is longer than we do"
            )
        await self.sleep(wanted if wanted is not None else self.retry.pause_after(attempt))

    async def _read(self, response: httpx.Response, what: str) -> bytes:
        parts: list[bytes] = []
        size = 0
        async for part in bytes_of(response, what):
            size += len(part)
            if size > self.retry.max_bytes:
                raise RefusedError(what, f"the answer is larger than {self.retry.max_bytes} bytes")
            parts.append(part)
        return b"".join(parts)


def _is_readable(request: Request, body: bytes) -> bool:
    """Tell whether an answer is JSON where JSON was asked for; nothing at all is no fault."""
    if "json" not in request.headers.get("Accept", FHIR_JSON) or not body.strip():
        return True
    try:
        body.decode()
        msgspec.json.decode(body, type=msgspec.Raw)
    except UNREADABLE:
        return False
    return True


async def bytes_of(response: httpx.Response, what: str) -> AsyncIterator[bytes]:
    """Hand over a body part by part.

    Raises:
        BrokenOffError: It broke off on the way.
    """
    try:
        async for part in response.aiter_bytes():
            yield part
    except httpx.TransportError as fault:
        raise BrokenOffError(what, words_of(fault)) from None
    except httpx.DecodingError:
        raise RefusedError(what, "the answer's compression is broken") from None


async def _refusal(response: httpx.Response, what: str) -> EhrError:
    body = b""
    with suppress(EhrError):
        async for part in bytes_of(response, what):
            body += part
            if len(body) > 256 * 1024:
                break
    status = response.status_code
    return RefusedError(what, _REASONS.get(status, "refused"), status=status, codes=outcome_codes(body))


_REASONS = {
    301: "moved; give the address that the server names itself",
    302: "moved; give the address that the server names itself",
    307: "moved; give the address that the server names itself",
    308: "moved; give the address that the server names itself",
    401: "not signed in, or the token is not accepted",
    403: "signed in, but not allowed",
    404: "not found",
    410: "gone",
    412: "a condition was not met, or matched more than one resource",
    429: "too many requests",
}


def words_of(fault: httpx.TransportError) -> str:
    """Say what broke, without the address."""
    if isinstance(fault, httpx.TimeoutException):
        return "no answer in time"
    if isinstance(fault, httpx.ConnectError):
        return "no connection; is the address right and the server up?"
    return "the connection broke"
