"""Keys of token issuers: how long they are kept, how large they may be, which count.

Expected: RFC 7517 (JWK Set), RFC 9111 (max-age); the bounds are ours.
"""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import httpx
import pytest
from joserfc.jwk import ECKey, OctKey, RSAKey

from tests.ehr.pretend import Pretend, json_answer, run
from weatherglass.ehr.client.faults import EhrError
from weatherglass.ehr.client.retry import RetryPolicy
from weatherglass.ehr.signing_in.keys import KeyStore, PublicKey

URL = "https://login.example/jwks.json"
NOW = datetime(2026, 3, 12, 7, 40, tzinfo=UTC)
KEY = ECKey.generate_key("P-384", parameters={"kid": "one"})


class _Store:
    """A key store, its server, and a clock that a test moves."""

    def __init__(self, handler: object) -> None:
        self.pretend = Pretend(handler)  # type: ignore[arg-type]
        self.now = NOW
        retry = RetryPolicy(attempts=1, max_bytes=256 * 1024)
        self.store = KeyStore(
            URL,
            clock=lambda: self.now,
            transport=lambda: self.pretend.transport(base=URL, retry=retry),
        )

    def find(self, kid: str = "one", later: timedelta = timedelta()) -> PublicKey | None:
        self.now = NOW + later
        return run(self.store.find(kid))


def _keys(*keys: Mapping[str, object], cache: str = "max-age=600") -> httpx.Response:
    return json_answer({"keys": list(keys)}, cache_control=cache)


@pytest.mark.parametrize(
    ("cache", "fresh", "stale"),
    [
        pytest.param("max-age=1800", 1799, 1801, id="as long as the server says"),
        pytest.param("max-age=5", 59, 61, id="a minute at least"),
        pytest.param("max-age=86400", 3599, 3601, id="an hour at most"),
        pytest.param("no-store", 59, 61, id="not to be kept: a minute"),
        pytest.param("", 599, 601, id="ten minutes when nothing is said"),
    ],
)
def test_keys_are_kept_within_bounds(cache: str, fresh: int, stale: int) -> None:
    place = _Store(lambda _: _keys(KEY.as_dict(private=False), cache=cache))
    assert place.find() is not None
    assert place.find(later=timedelta(seconds=fresh)) is not None
    assert len(place.pretend.asked) == 1
    assert place.find(later=timedelta(seconds=stale)) is not None
    assert len(place.pretend.asked) == 2


def test_only_public_keys_that_sign_count() -> None:
    shared = OctKey.generate_key(256, parameters={"kid": "shared"}).as_dict()
    locking = RSAKey.generate_key(2048, parameters={"kid": "enc", "use": "enc"}).as_dict(private=False)
    odd: dict[str, object] = {"kty": "EC", "crv": "P-999", "kid": "odd", "x": "AA", "y": "AA"}
    place = _Store(lambda _: _keys(shared, locking, odd, {}, KEY.as_dict(private=False)))
    assert place.find("one") is not None
    assert [place.find(kid) for kid in ("shared", "enc", "odd")] == [None, None, None]


@pytest.mark.parametrize(
    "answer",
    [
        pytest.param(httpx.Response(200, content=b"x" * 300_000), id="too large"),
        pytest.param(httpx.Response(200, content=b"<html>"), id="no JSON"),
        pytest.param(httpx.Response(200, json=[]), id="no key set"),
        pytest.param(httpx.Response(302, headers={"Location": "https://evil.example/jwks"}), id="moved"),
        pytest.param(httpx.Response(500), id="broken"),
    ],
)
def test_what_is_no_key_set_opens_nothing(answer: httpx.Response) -> None:
    place = _Store(lambda _: answer)
    with pytest.raises(EhrError):
        place.find()
    with pytest.raises(EhrError, match="a moment ago"):
        place.find(later=timedelta(seconds=1))
    assert len(place.pretend.asked) == 1


def test_a_key_that_was_withdrawn_is_forgotten_with_the_next_look() -> None:
    answers = iter([_keys(KEY.as_dict(private=False)), _keys()])
    place = _Store(lambda _: next(answers))
    assert place.find() is not None
    assert place.find(later=timedelta(minutes=11)) is None
