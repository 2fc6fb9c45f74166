"""Principals, who calls: by access tokens at the FHIR endpoints, by signed tokens of CDS clients.

Both end in a `Principal`. Which keys count, who may issue and what a token must be for are
settings; nothing of that comes from the token.
"""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from weatherglass.api.access.settings import AccessSettings
from weatherglass.api.access.tokens import (
    Demands,
    TokenRefusedError,
    check_claims,
    header_of,
    unverified_issuer,
    verify,
)
from weatherglass.ehr.signing_in.introspection import Introspector
from weatherglass.ehr.signing_in.keys import KeyStore

#: RFC 9068 wants RS256; the others are what SMART names and their elliptic kin.
_ACCESS_ALGORITHMS = ("RS256", "RS384", "ES256", "ES384")
#: CDS Hooks recommends these two.
_CDS_ALGORITHMS = ("RS384", "ES384")
_CDS_LIFE = 300.0
#: Token ids that one process remembers; more than that many at once push out the oldest.
_MOST_REMEMBERED = 100_000


class ScopeError(Exception):
    """A token is good, but not for this.

    Attributes:
        needed: Scopes of which one would do.
    """

    def __init__(self, why: str, needed: tuple[str, ...]) -> None:
        self.why = why
        self.needed = needed
        super().__init__(why)


@dataclass(frozen=True, slots=True, kw_only=True)
class Principal:
    """Somebody who has signed in.

    Attributes:
        client: Who it is, as the token says.
        patient: The one patient whose record may be sent; any when None.
    """

    client: str
    patient: str | None = None


class AccessTokens:
    """Checks bearer tokens of the FHIR endpoints."""

    def __init__(
        self,
        settings: AccessSettings,
        audiences: tuple[str, ...],
        *,
        clock: Callable[[], datetime],
        keys: KeyStore | None,
        introspector: Introspector | None,
    ) -> None:
        """Take the settings and where to look things up."""
        self._settings = settings
        self._audiences = frozenset(audiences)
        self._clock = clock
        self._keys = keys
        self._introspector = introspector

    async def principal(self, token: str) -> Principal:
        """Return who sends a token.

        Raises:
            TokenRefusedError: The token is not believed.
            ScopeError: It is, but its scopes do not reach.
            EhrError: Its keys, or its issuer, cannot be asked.
        """
        if self._keys is not None and (self._introspector is None or token.count(".") == 2):
            claims = await verify(token, self._keys.find, self._demands(), self._clock())
        elif self._introspector is not None:
            claims = await self._introspector.look_up(token)
            self._check_looked_up(claims)
        else:
            raise TokenRefusedError("Tokens of this kind are not taken.")
        return self._authorised(claims)

    def _demands(self) -> Demands:
        return Demands(
            algorithms=_ACCESS_ALGORITHMS,
            types=frozenset(kind.lower() for kind in self._settings.smart_token_types),
            issuer=self._settings.smart_issuer or "",
            audiences=self._audiences,
            needed=("sub", "client_id", "iat", "jti"),
            skew=self._settings.clock_skew_seconds,
        )

    def _check_looked_up(self, claims: Mapping[str, Any]) -> None:
        if not claims:
            raise TokenRefusedError("The token is not active.")
        # SMART wants these three in the answer; the others are checked where they are.
        for name in ("scope", "client_id", "exp"):
            if not claims.get(name):
                raise TokenRefusedError(f"The token's look-up has no '{name}'.")
        now = self._clock()
        check_claims(
            claims,
            now,
            self._settings.clock_skew_seconds,
            issuer=self._settings.smart_issuer,
            audiences=self._audiences,
        )
        if claims["exp"] <= now.timestamp():  # By its issuer's own clock.
            raise TokenRefusedError("The token has expired.", has_expired=True)

    def _authorised(self, claims: Mapping[str, Any]) -> Principal:
        scope = claims.get("scope")
        granted = scope.split() if isinstance(scope, str) else []
        contexts = granted_contexts(granted, self._settings.smart_scopes)
        if not contexts:
            raise ScopeError("The token's scopes do not reach.", self._settings.smart_scopes)
        patient = claims.get("patient")
        patient = patient if isinstance(patient, str) and patient else None
        if contexts == {"patient"} and patient is None:
            raise ScopeError("The token is for one patient and does not say for whom.", ())
        return Principal(client=str(claims.get("client_id", "")), patient=patient)


class CdsClients:
    """Checks the signed tokens of CDS clients."""

    def __init__(
        self,
        settings: AccessSettings,
        *,
        clock: Callable[[], datetime],
        stores: Mapping[str, KeyStore],
    ) -> None:
        """Take the settings, and the keys of each issuer on the list."""
        self._settings = settings
        self._clock = clock
        self._stores = stores
        self._seen: OrderedDict[tuple[str, str], float] = OrderedDict()

    async def principal(self, token: str, url: str) -> Principal:
        """Return who calls a service.

        Args:
            token: The bearer token.
            url: The address that was called, as the client had to write it into the token.

        Raises:
            TokenRefusedError: The token is not believed.
            EhrError: The keys of its issuer cannot be had.
        """
        issuer = unverified_issuer(token)
        store = self._stores.get(issuer)
        if store is None:
            raise TokenRefusedError("The token is from an issuer that is not on the list.")
        # A foreign address of keys is not looked at, and one that differs is no mistake to pass over.
        named = header_of(token).get("jku")
        if named is not None and named != self._settings.cds_clients[issuer]:
            raise TokenRefusedError("The token names keys at another address than was configured.")
        claims = await verify(token, store.find, self._demands(issuer, url), self._clock())
        self._once(issuer, str(claims["jti"]), float(claims["exp"]))
        return Principal(client=issuer)

    def _demands(self, issuer: str, url: str) -> Demands:
        return Demands(
            algorithms=_CDS_ALGORITHMS,
            types=frozenset({"jwt"}),
            issuer=issuer,
            # The address is compared without the slash that a client may have called it with.
            audiences=frozenset({url, f"{url}/"}),
            needed=("iat", "jti"),
            longest_life=_CDS_LIFE,
            skew=self._settings.clock_skew_seconds,
        )

    def _once(self, issuer: str, name: str, expires: float) -> None:
        """Refuse a token id that was seen before, as far as this process remembers."""
        now = self._clock().timestamp()
        while self._seen:
            oldest = next(iter(self._seen.values()))
            if oldest + self._settings.clock_skew_seconds > now and len(self._seen) < _MOST_REMEMBERED:
                break
            self._seen.popitem(last=False)
        if (issuer, name) in self._seen:
            raise TokenRefusedError("The token was used before.")
        self._seen[issuer, name] = expires


# SMART scopes: whether what was granted covers what is needed.
#
# Version 2 names letters (`system/Observation.rs`), version 1 words (`.read`). A scope that
# is narrowed by a query does not cover a request for all of a type.

_VERSION_1 = {"read": "rs", "write": "cud", "*": "cruds"}
_LETTERS = "cruds"


def covers(granted: str, needed: str) -> bool:
    """Tell whether one granted scope covers one that is needed.

    Examples:
        >>> covers("system/*.rs", "system/Observation.r")
        True
        >>> covers("system/Observation.read", "system/Observation.r")
        True
        >>> covers("system/Observation.rs?category=laboratory", "system/Observation.r")
        False
        >>> covers("patient/Observation.rs", "system/Observation.r")
        False
        >>> covers("weatherglass.review", "weatherglass.review")
        True
    """
    if granted == needed:
        return True
    one, other = _parse(granted), _parse(needed)
    if one is None or other is None:
        return False
    (context, kind, letters), (wanted_context, wanted_kind, wanted_letters) = one, other
    return context == wanted_context and kind in ("*", wanted_kind) and set(wanted_letters) <= set(letters)


def granted_contexts(granted: Iterable[str], needed: Iterable[str]) -> set[str]:
    """Return through which contexts ("system", "user", "patient", "") a need is covered."""
    wanted = tuple(needed)
    found: set[str] = set()
    for scope in granted:
        if any(covers(scope, need) for need in wanted):
            parsed = _parse(scope)
            found.add(parsed[0] if parsed is not None else "")
    return found


def _parse(scope: str) -> tuple[str, str, str] | None:
    context, slash, rest = scope.partition("/")
    kind, dot, actions = rest.partition(".")
    if context not in ("patient", "user", "system") or not slash or not dot or not kind:
        return None
    letters = _VERSION_1.get(actions, actions)
    if not letters or any(letter not in _LETTERS for letter in letters):
        return None
    return context, kind, letters
