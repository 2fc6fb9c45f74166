"""SMART Backend Services: discovery, the signed assertion, renewal.

Expected: SMART App Launch 2.2.0, Backend Services and client-confidential-asymmetric.
"""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import parse_qs

import httpx
import pytest
from joserfc import jwt
from joserfc.jwk import ECKey, RSAKey

from tests.ehr.pretend import BASE, Pretend, json_answer, run
from weatherglass.ehr.client.faults import SignInError
from weatherglass.ehr.signing_in.backend_services import BackendServices
from weatherglass.ehr.signing_in.credentials import SigningKey, signing_key

TOKEN_URL = "https://ehr.example/auth/token"
NOW = datetime(2026, 3, 12, 7, 30, tzinfo=UTC)


class _Clock:
    """A clock that a test moves."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> datetime:
        return self.now


def _server(**answer: object) -> Pretend:
    given = {"access_token": "a", "token_type": "bearer", "expires_in": 300, "scope": "system/Patient.rs"}
    count = 0

    def handle(request: httpx.Request) -> httpx.Response:
        nonlocal count
        if request.url.path.endswith("smart-configuration"):
            return json_answer(
                {
                    "token_endpoint": TOKEN_URL,
                    "token_endpoint_auth_signing_alg_values_supported": ["RS384", "ES384"],
                }
            )
        count += 1
        return json_answer({**given, "access_token": f"a{count}", **answer})

    return Pretend(handle)


def _client(pretend: Pretend, key: SigningKey, clock: _Clock) -> BackendServices:
    return BackendServices(
        pretend.transport,
        client_id="weatherglass",
        key=lambda: key,
        scopes=("system/Patient.rs",),
        clock=clock,
    )


async def _opened(client: BackendServices, times: int = 1, **renew: bool) -> list[str]:
    return [await client.token(**renew) for _ in range(times)]


@pytest.mark.parametrize(
    ("key", "algorithm"),
    [
        pytest.param(RSAKey.generate_key(2048), "RS384", id="RSA"),
        pytest.param(ECKey.generate_key("P-384"), "ES384", id="P-384"),
    ],
)
def test_the_assertion_says_what_the_standard_asks_for(key: SigningKey, algorithm: str) -> None:
    """Header alg, kid, typ JWT; iss = sub = client id, aud = token URL, exp within five minutes, jti."""
    pretend = _server()
    client = _client(pretend, key, _Clock())
    assert run(_opened(client)) == ["a1"]
    request = pretend.asked[-1]
    assert str(request.url) == TOKEN_URL
    assert request.headers["content-type"] == "application/x-www-form-urlencoded"
    form = {name: values[0] for name, values in parse_qs(request.content.decode()).items()}
    assert form["grant_type"] == "client_credentials"
    assert form["scope"] == "system/Patient.rs"
    assert form["client_assertion_type"] == "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"
    token = jwt.decode(form["client_assertion"], key, algorithms=[algorithm])
    assert token.header["alg"] == algorithm
    assert token.header["typ"] == "JWT"
    assert token.header["kid"]
    claims = token.claims
    assert claims["iss"] == claims["sub"] == "weatherglass"
    assert claims["aud"] == TOKEN_URL
    assert claims["iat"] == NOW.timestamp()
    assert claims["iat"] < claims["exp"] <= claims["iat"] + 300
    assert claims["jti"]


def test_a_token_is_used_until_shortly_before_it_expires_and_then_renewed() -> None:
    pretend = _server()
    clock = _Clock()
    client = _client(pretend, ECKey.generate_key("P-384"), clock)

    async def work() -> list[str]:
        tokens = [await client.token()]
        for seconds in (100, 269, 271):
            clock.now = NOW + timedelta(seconds=seconds)
            tokens.append(await client.token())
        return tokens

    assert run(work()) == ["a1", "a1", "a1", "a2"]


def test_the_key_is_read_again_at_each_signing_in() -> None:
    """A key that was rotated is used without a restart: common practice, no source."""
    pretend = _server(expires_in=0)
    keys = [ECKey.generate_key("P-384", {"kid": name}) for name in ("old", "new")]
    client = BackendServices(
        pretend.transport, client_id="weatherglass", key=lambda: keys[0], scopes=(), clock=_Clock()
    )
    run(_opened(client))
    del keys[0]
    run(_opened(client))
    form = parse_qs(pretend.asked[-1].content.decode())
    assert jwt.decode(form["client_assertion"][0], keys[0], algorithms=["ES384"]).header["kid"] == "new"


@pytest.mark.parametrize(("status", "good"), [(429, True), (503, True), (400, False), (401, False)])
def test_a_token_endpoint_that_is_busy_is_asked_again_with_another_assertion(status: int, good: bool) -> None:
    """RFC 7523: an assertion may be used once, so that a second attempt brings its own."""
    forms: list[str] = []

    def handle(request: httpx.Request) -> httpx.Response:
        if request.url.path.endswith("smart-configuration"):
            return json_answer({"token_endpoint": TOKEN_URL})
        forms.append(parse_qs(request.content.decode())["client_assertion"][0])
        if len(forms) < 3:
            return httpx.Response(status)
        return json_answer({"access_token": "a", "token_type": "bearer", "expires_in": 300})

    client = _client(Pretend(handle), ECKey.generate_key("P-384"), _Clock())
    if good:
        assert run(_opened(client)) == ["a"]
        assert len(set(forms)) == 3
    else:
        with pytest.raises(SignInError):
            run(_opened(client))
        assert len(forms) == 1


def test_each_assertion_has_its_own_jti() -> None:
    pretend = _server(expires_in=0)
    client = _client(pretend, ECKey.generate_key("P-384"), _Clock())
    run(_opened(client, times=3))
    forms = [parse_qs(r.content.decode()) for r in pretend.asked if r.method == "POST"]
    keys = {form["client_assertion"][0] for form in forms}
    assert len(keys) == 3


def test_requests_at_once_sign_in_once() -> None:
    import asyncio

    pretend = _server()
    client = _client(pretend, ECKey.generate_key("P-384"), _Clock())

    async def work() -> list[str]:
        return await asyncio.gather(*(client.token() for _ in range(5)))

    assert run(work()) == ["a1"] * 5


def test_a_refused_sign_in_says_what_to_check_and_repeats_no_secret() -> None:
    def handle(request: httpx.Request) -> httpx.Response:
        if request.url.path.endswith("smart-configuration"):
            return json_answer({"token_endpoint": TOKEN_URL})
        return json_answer({"error": "invalid_client"}, 401)

    client = _client(Pretend(handle), ECKey.generate_key("P-384"), _Clock())
    with pytest.raises(SignInError, match="check client id, key and scopes") as caught:
        run(_opened(client))
    assert "eyJ" not in str(caught.value)


@pytest.mark.parametrize(
    ("configuration", "said"),
    [
        pytest.param({}, "names no token endpoint", id="none"),
        pytest.param({"token_endpoint": "http://ehr.example/token"}, "not https", id="plain http"),
        pytest.param(
            {
                "token_endpoint": TOKEN_URL,
                "token_endpoint_auth_signing_alg_values_supported": ["RS384"],
            },
            "does not accept ES384",
            id="algorithm",
        ),
    ],
)
def test_a_server_that_cannot_sign_us_in_is_named(configuration: dict[str, object], said: str) -> None:
    pretend = Pretend(lambda _: json_answer(configuration))
    client = _client(pretend, ECKey.generate_key("P-384"), _Clock())
    with pytest.raises(SignInError, match=said):
        run(_opened(client))
    assert all(request.method == "GET" for request in pretend.asked)


def test_keys_are_read_as_pem_jwk_and_jwk_set(tmp_path: Path) -> None:
    import json

    key = ECKey.generate_key("P-384", auto_kid=True)
    private = key.as_dict(private=True)
    (tmp_path / "k.pem").write_bytes(key.as_pem(private=True))
    (tmp_path / "k.json").write_text(json.dumps(private))
    (tmp_path / "set.json").write_text(json.dumps({"keys": [key.as_dict(private=False), private]}))
    for name in ("k.pem", "k.json", "set.json"):
        read = signing_key(str(tmp_path / name))
        assert read.thumbprint() == key.thumbprint()
    (tmp_path / "public.json").write_text(json.dumps(key.as_dict(private=False)))
    with pytest.raises(SignInError, match="no RSA or P-384 private key"):
        signing_key(str(tmp_path / "public.json"))
    with pytest.raises(SignInError, match="cannot read"):
        signing_key(str(tmp_path / "absent.pem"))


def test_the_base_is_where_discovery_asks() -> None:
    pretend = _server()
    run(_opened(_client(pretend, ECKey.generate_key("P-384"), _Clock())))
    assert str(pretend.asked[0].url) == f"{BASE}/.well-known/smart-configuration"
    assert "authorization" not in pretend.asked[0].headers
