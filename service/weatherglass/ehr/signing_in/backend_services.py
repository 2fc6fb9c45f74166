"""Signing in as a system: SMART Backend Services with a signed assertion.

Discovery names the token endpoint; a short-lived assertion signed with our private key
is exchanged for a short-lived access token, which is renewed before it expires.
"""

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from urllib.parse import urlencode
from uuid import uuid4

import msgspec
from joserfc import jwt
from msgspec import Struct

from weatherglass.ehr.client.addresses import is_private_enough, without_slash
from weatherglass.ehr.client.faults import BUSY, EhrError, RefusedError, SignInError, UnreachableError
from weatherglass.ehr.client.transport import Answer, Tokens, Transport
from weatherglass.ehr.fetching.needed import NEEDED_TYPES
from weatherglass.ehr.signing_in.credentials import SigningKey, algorithm_of, secret_from, signing_key
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.writing.frame.outputs import OUTPUTS

_JWT_BEARER = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"
#: The standard allows five minutes; clocks differ, so we take four.
_ASSERTION_LIFE = timedelta(minutes=4)
#: Seconds after which we ask for a new token, however long the server says that one lives.
_LONGEST_LIFE = 86_400.0
_DEFAULT_LIFE = 300.0

READ_SCOPES = tuple(f"system/{kind}.rs" for kind in NEEDED_TYPES)
WRITE_SCOPES = tuple(f"system/{kind}.cruds" for kind in OUTPUTS)


class SmartConfiguration(Struct, gc=False):
    """What a server says about signing in."""

    token_endpoint: str = ""
    token_endpoint_auth_signing_alg_values_supported: tuple[str, ...] = ()
    capabilities: tuple[str, ...] = ()


class _TokenAnswer(Struct, gc=False):
    access_token: str = ""
    token_type: str = ""
    expires_in: float = _DEFAULT_LIFE
    scope: str = ""


class FixedToken:
    """A token that somebody else got for us; it cannot be renewed."""

    def __init__(self, token: str) -> None:
        """Keep the token."""
        self._token = token

    async def token(self, *, renew: bool = False) -> str:
        """Return the token."""
        del renew
        return self._token


class BackendServices:
    """An access token by private_key_jwt, renewed before it expires."""

    def __init__(
        self,
        transport: Callable[[], Transport],
        *,
        client_id: str,
        key: Callable[[], SigningKey],
        scopes: tuple[str, ...],
        token_url: str | None = None,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        """Take what was registered with the server.

        Args:
            transport: Opens the same server without a token, for discovery and the token endpoint.
            client_id: What the server calls us.
            key: Reads the private key whose public half the server knows; at each signing in, since keys
                are rotated.
            scopes: What we ask for; the server may grant less.
            token_url: Token endpoint, when discovery does not tell it.
            clock: The present time.
        """
        self._transport = transport
        self._client_id = client_id
        self._key = key
        self._scopes = scopes
        self._token_url = token_url
        self._clock = clock
        self._lock = asyncio.Lock()
        self._token = ""
        self._renew_at: datetime | None = None
        self.granted: tuple[str, ...] = ()

    async def token(self, *, renew: bool = False) -> str:
        """Return a token that is good for a while yet.

        Raises:
            SignInError: The server has no token endpoint, or gives no token.
        """
        stale = self._token if renew else ""
        async with self._lock:
            # Whoever waited for the lock takes the token that another request just got.
            good = self._renew_at is not None and self._clock() < self._renew_at
            if not good or (renew and self._token == stale):
                await self._sign_in()
            return self._token

    async def _sign_in(self) -> None:
        async with self._transport() as transport:
            url = self._token_url or await self._discover(transport)
            if not is_private_enough(url):
                raise SignInError("sign in", "the token endpoint is not https")
            # A new assertion for each attempt: one is used once.
            answer = await transport.retried(lambda: self._exchange(transport, url), _may_help)
        try:
            given = msgspec.json.decode(answer.body, type=_TokenAnswer)
        except UNREADABLE:
            raise SignInError("sign in", "the token endpoint's answer is not readable") from None
        if not given.access_token or given.token_type.lower() != "bearer":
            raise SignInError("sign in", "the token endpoint gave no bearer token")
        life = min(max(0.0, given.expires_in), _LONGEST_LIFE)
        self._token = given.access_token
        self.granted = tuple((given.scope or " ".join(self._scopes)).split())
        self._renew_at = self._clock() + timedelta(seconds=life - min(30.0, life / 4))

    def _form(self, url: str) -> dict[str, str]:
        return {
            "grant_type": "client_credentials",
            "scope": " ".join(self._scopes),
            "client_assertion_type": _JWT_BEARER,
            "client_assertion": self._assertion(url),
        }

    async def _exchange(self, transport: Transport, url: str) -> Answer:
        try:
            return await transport.ask(
                "POST",
                url,
                "sign in",
                headers={
                    "Content-Type": "application/x-www-form-urlencoded",
                    "Accept": "application/json",
                },
                content=urlencode(self._form(url)).encode(),
                authorised=False,
                repeatable=False,
            )
        except RefusedError as refused:
            raise SignInError(
                "sign in",
                "the token endpoint refused; check client id, key and scopes",
                status=refused.status,
            ) from None

    async def _discover(self, transport: Transport) -> str:
        configuration = await discover(transport)
        algorithms = configuration.token_endpoint_auth_signing_alg_values_supported
        ours = algorithm_of(self._key())
        if algorithms and ours not in algorithms:
            raise SignInError("sign in", f"the server does not accept {ours} signatures")
        self._token_url = configuration.token_endpoint
        return self._token_url

    def _assertion(self, token_url: str) -> str:
        now = self._clock()
        claims = {
            "iss": self._client_id,
            "sub": self._client_id,
            "aud": token_url,
            "iat": int(now.timestamp()),
            "exp": int((now + _ASSERTION_LIFE).timestamp()),
            "jti": str(uuid4()),
        }
        key = self._key()
        algorithm = algorithm_of(key)
        header = {"alg": algorithm, "kid": key.kid or key.thumbprint(), "typ": "JWT"}
        return jwt.encode(header, claims, key, algorithms=[algorithm])


def tokens_from(
    transport: Callable[[], Transport],
    *,
    token_file: str | None,
    token_variable: str,
    client_id: str | None,
    key_file: str | None,
    scopes: tuple[str, ...],
    token_url: str | None = None,
) -> Tokens | None:
    """Return where tokens come from: a ready one, or what our key gets us; None where there is neither.

    Args:
        transport: Opens the server without a token.
        token_file: File with a ready access token.
        token_variable: The environment's variable for one.
        client_id: What the server calls us.
        key_file: File with our private key.
        scopes: What we ask for.
        token_url: Token endpoint, when discovery does not tell it.

    Raises:
        SignInError: A file cannot be used.
    """
    ready = secret_from(token_file, token_variable)
    if ready is not None:
        return FixedToken(ready)
    if client_id is None or key_file is None:
        return None
    key = partial(signing_key, key_file)
    key()  # What cannot be used is said before anything else is done.
    return BackendServices(transport, client_id=client_id, key=key, scopes=scopes, token_url=token_url)


def _may_help(fault: EhrError) -> bool:
    """Tell whether asking for a token again may come to something."""
    is_passing = isinstance(fault, UnreachableError | SignInError)
    return is_passing and (fault.status is None or fault.status in BUSY)


async def discover(transport: Transport) -> SmartConfiguration:
    """Read what the server says about signing in.

    Raises:
        SignInError: It says nothing readable, or names no token endpoint.
    """
    url = f"{without_slash(transport.base)}/.well-known/smart-configuration"
    try:
        answer = await transport.ask(
            "GET", url, "discover", headers={"Accept": "application/json"}, authorised=False
        )
        configuration = msgspec.json.decode(answer.body, type=SmartConfiguration)
    except EhrError as fault:
        raise SignInError("discover", fault.why, status=fault.status) from None
    except UNREADABLE:
        raise SignInError("discover", "the SMART configuration is not readable") from None
    if not configuration.token_endpoint:
        raise SignInError("discover", "the SMART configuration names no token endpoint")
    return configuration
