"""Signed tokens: what is checked, and in which order, before anything in them is believed.

Keys come from configured addresses only. A header that brings a key or the address of
one (`jwk`, `jku`, `x5u`, `x5c`) changes nothing: at most it is a reason to refuse.
"""

from collections.abc import Awaitable, Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import ECKey, RSAKey
from joserfc.jws import extract_compact

from weatherglass.fhir.r4 import UNREADABLE

_LONGEST_TOKEN = 16 * 1024
#: Seconds since 1970: the year 5138. Milliseconds, which some issuers send, lie beyond.
LATEST = 1e11

FindKey = Callable[[str], Awaitable[RSAKey | ECKey | None]]


class TokenRefusedError(Exception):
    """A token is not believed.

    Attributes:
        why: What is wrong with it, without anything that was in it.
        has_expired: Whether it was good once.
    """

    def __init__(self, why: str, *, has_expired: bool = False) -> None:
        self.why = why
        self.has_expired = has_expired
        super().__init__(why)


@dataclass(frozen=True, slots=True, kw_only=True)
class Demands:
    """What a token has to be.

    Attributes:
        algorithms: Signature algorithms that are taken; never `none`, never a shared secret.
        types: Values of the header `typ`, in lower case.
        issuer: Who must have issued it.
        audiences: Whom it must be for: one of these.
        needed: Further claims that must be there.
        longest_life: How far ahead it may expire, in seconds; None for any.
        skew: How far clocks may differ, in seconds.
    """

    algorithms: Collection[str]
    types: Collection[str]
    issuer: str
    audiences: Collection[str]
    needed: tuple[str, ...] = ()
    longest_life: float | None = None
    skew: float = 30.0


def header_of(token: str) -> Mapping[str, Any]:
    """Return the header of a token, unverified: good for choosing a key and for nothing else.

    Raises:
        TokenRefusedError: It is no token.
    """
    if len(token) > _LONGEST_TOKEN or not token.isascii():
        raise TokenRefusedError("The token is not readable.")
    try:
        return extract_compact(token.encode()).headers()
    except (JoseError, ValueError):
        raise TokenRefusedError("The token is not readable.") from None


def unverified_issuer(token: str) -> str:
    """Return who a token says has issued it: good for choosing where its keys are.

    Raises:
        TokenRefusedError: It is no token.
    """
    import msgspec

    header_of(token)
    try:
        claims = msgspec.json.decode(extract_compact(token.encode()).payload, type=dict[str, Any])
    except (JoseError, *UNREADABLE, ValueError, RecursionError):
        raise TokenRefusedError("The token is not readable.") from None
    issuer = claims.get("iss")
    return issuer if isinstance(issuer, str) else ""


async def verify(token: str, find_key: FindKey, demands: Demands, now: datetime) -> dict[str, Any]:
    """Return the claims of a token that is what it has to be.

    Raises:
        TokenRefusedError: It is not.
    """
    header = header_of(token)
    # Before a key is even looked for: the algorithm is ours to choose, not the token's.
    if header.get("alg") not in demands.algorithms:
        raise TokenRefusedError("The token is signed with an algorithm that is not taken.")
    kind = header.get("typ")
    if not isinstance(kind, str) or kind.lower() not in demands.types:
        raise TokenRefusedError("The token is of another type.")
    kid = header.get("kid")
    if not isinstance(kid, str) or not kid:
        raise TokenRefusedError("The token does not name its key.")
    key = await find_key(kid)
    if key is None:
        raise TokenRefusedError("The token is signed with a key that is not known.")
    try:
        claims = jwt.decode(token, key, algorithms=list(demands.algorithms)).claims
    except (JoseError, ValueError, TypeError):
        raise TokenRefusedError("The token's signature is not right.") from None
    _check_claims(claims, demands, now.timestamp())
    return claims


def _check_claims(claims: Mapping[str, Any], demands: Demands, now: float) -> None:
    if claims.get("iss") != demands.issuer:
        raise TokenRefusedError("The token is from another issuer.")
    audience = claims.get("aud")
    listed = audience if isinstance(audience, list) else [audience]
    if not any(isinstance(one, str) and one in demands.audiences for one in listed):
        raise TokenRefusedError("The token is for somebody else.")
    expires = moment_of(claims, "exp")
    if expires is None:
        raise TokenRefusedError("The token does not say when it expires.")
    if expires + demands.skew <= now:
        raise TokenRefusedError("The token has expired.", has_expired=True)
    if demands.longest_life is not None and expires > now + demands.longest_life + demands.skew:
        raise TokenRefusedError("The token lives longer than is taken.")
    for name in ("iat", "nbf"):
        moment = moment_of(claims, name)
        if moment is not None and moment > now + demands.skew:
            raise TokenRefusedError("The token is from the future.")
    for name in demands.needed:
        if not claims.get(name):
            raise TokenRefusedError(f"The token has no '{name}'.")


def moment_of(claims: Mapping[str, Any], name: str) -> float | None:
    """Return a claim that is a time, in seconds; None when it is not there.

    Raises:
        TokenRefusedError: It is not a number, or not one that a clock can show.
    """
    value = claims.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TokenRefusedError(f"The token's '{name}' is not a time.")
    # Not a number compares as false: such a token would never expire.
    if not -LATEST <= value <= LATEST:
        raise TokenRefusedError(f"The token's '{name}' is not a time.")
    return float(value)
