"""Signed tokens: what is checked, and in which order, before anything in them is believed.

Keys come from configured addresses only. A header that brings a key or the address of
one (`jwk`, `jku`, `x5u`, `x5c`) changes nothing: at most it is a reason to refuse.
"""

from collections.abc import Awaitable, Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from joserfc import jwt
from joserfc.errors import ExpiredTokenError, InvalidClaimError, JoseError, MissingClaimError
from joserfc.jwk import ECKey, RSAKey
from joserfc.jws import extract_compact

from weatherglass.fhir.decoding import UNREADABLE

_LONGEST_TOKEN = 16 * 1024
#: Seconds since 1970: the year 5138. Milliseconds, which some issuers send, lie beyond.
_LATEST = 1e11

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
    skew: int = 30


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
    needed = ("iss", "aud", "exp", *demands.needed)
    check_claims(claims, now, demands.skew, issuer=demands.issuer, audiences=demands.audiences, needed=needed)
    latest = now.timestamp() + demands.skew + (demands.longest_life or _LATEST)
    if claims["exp"] > latest:
        raise TokenRefusedError("The token lives longer than is taken.")
    return claims


def check_claims(
    claims: Mapping[str, Any],
    now: datetime,
    skew: int,
    *,
    issuer: str | None,
    audiences: Collection[str],
    needed: Collection[str] = (),
) -> None:
    """Check the registered claims (RFC 7519, 4.1).

    Args:
        claims: What the token says.
        now: The present time.
        skew: How far clocks may differ, in seconds.
        issuer: Who must have issued it, where it says who; None for anybody.
        audiences: Whom it must be for, where it says for whom: one of these.
        needed: Claims that must be there.

    Raises:
        TokenRefusedError: One of them is not what it has to be.
    """
    said = {name: value for name, value in claims.items() if value is not None}
    for name in ("exp", "iat", "nbf"):
        value = said.get(name, 0)
        # Any number is a time to the library: milliseconds would be a token that lives for ever.
        if isinstance(value, bool) or not (isinstance(value, int | float) and -_LATEST <= value <= _LATEST):
            raise TokenRefusedError(f"The token's '{name}' is not a time.")
    wanted: dict[str, jwt.ClaimsOption] = {name: {"essential": True} for name in needed}
    wanted.setdefault("aud", {})["values"] = sorted(audiences)
    if issuer is not None:
        wanted.setdefault("iss", {})["value"] = issuer
    try:
        jwt.JWTClaimsRegistry(int(now.timestamp()), skew, **wanted).validate(said)
    except ExpiredTokenError:
        raise TokenRefusedError("The token has expired.", has_expired=True) from None
    except (MissingClaimError, InvalidClaimError) as fault:
        name = fault.claim.partition(",")[0]
        raise TokenRefusedError(_WRONG.get(name, f"The token has no '{name}'.")) from None


_WRONG = {
    "iss": "The token is from another issuer.",
    "aud": "The token is for somebody else.",
    "exp": "The token does not say when it expires.",
    "iat": "The token's 'iat' is missing or in the future.",
    "nbf": "The token is from the future.",
}
