"""CDS clients: every way to be refused, and the few to be let in; browsers and their origins.

Expected: CDS Hooks 2.0.1, "Security and Safety" (RS384 or ES384, iss, aud, exp, jti, keys of
known clients) and "Cross-Origin Resource Sharing"; Fetch standard for the preflight.
"""

import json
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from joserfc.jwk import ECKey
from starlette.testclient import TestClient

from tests.api.issuer import Issuer, Json, issuing, new_id, part, signed_with_a_public_key, unsigned
from tests.cds_hooks.calls import INSTANCE, PRESENT, view
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

EHR = "https://ehr.example/fhir"
BASE = "http://127.0.0.1:8080"
DISCOVERY = "/cds-services"
VIEW = "/cds-services/deterioration-review"
FEEDBACK = f"{VIEW}/feedback"


@pytest.fixture
def ehr() -> Iterator[Issuer]:
    """A client's keys."""
    with issuing() as running:
        yield running


@pytest.fixture
def client(ehr: Issuer) -> Iterator[TestClient]:
    """The application, with one CDS client on its list."""
    app = create_app(Settings(_env_file=None, cds_clients={EHR: ehr.jwks_url}))
    app.state.clock = lambda: PRESENT
    with TestClient(app) as started:
        yield started


def _claims(path: str, **changes: Any) -> Json:
    return {
        "iss": EHR,
        "aud": BASE + path,
        "iat": int(PRESENT.timestamp()),
        "exp": int((PRESENT + timedelta(minutes=5)).timestamp()),
        "jti": new_id(),
        **changes,
    }


def _token(ehr: Issuer, path: str, header: Json | None = None, **claims: Any) -> str:
    return ehr.sign({"alg": "ES384", "typ": "JWT", **(header or {})}, _claims(path, **claims))


def _call(client: TestClient, path: str, token: str | None) -> Any:
    headers = {} if token is None else {"Authorization": f"Bearer {token}"}
    if path == DISCOVERY:
        return client.get(path, headers=headers)
    body = view("08-well-going-home")
    if path == FEEDBACK:
        body = {
            "feedback": [
                {"card": INSTANCE, "outcome": "overridden", "outcomeTimestamp": "2026-03-12T07:45:00Z"}
            ]
        }
    return client.post(path, json=body, headers=headers)


@pytest.mark.parametrize("path", [DISCOVERY, VIEW, FEEDBACK])
@pytest.mark.parametrize("algorithm", ["ES384", "RS384"])
def test_a_client_on_the_list_is_let_in_at_every_door(
    client: TestClient, ehr: Issuer, path: str, algorithm: str
) -> None:
    assert _call(client, path, _token(ehr, path, {"alg": algorithm})).status_code == 200


@pytest.mark.parametrize("path", [DISCOVERY, VIEW, FEEDBACK, "/cds-services/unknown"])
def test_without_a_token_every_door_is_401(client: TestClient, path: str) -> None:
    """Discovery needs a token too, and a stranger does not learn which services there are."""
    answer = _call(client, path, None)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert answer.json()["resourceType"] == "OperationOutcome"


REFUSED = [
    pytest.param({"alg": "RS256"}, {}, "algorithm", id="RS256"),
    pytest.param({"alg": "ES256", "kid": "x"}, {}, "", id="ES256"),
    pytest.param({"typ": "at+jwt"}, {}, "type", id="an access token"),
    pytest.param({"kid": "another"}, {}, "not known", id="unknown key"),
    pytest.param({"kid": None}, {}, "name its key", id="no key id"),
    pytest.param({"jku": "https://evil.example/jwks.json"}, {}, "another address", id="foreign jku"),
    pytest.param({}, {"iss": "https://evil.example"}, "not on the list", id="unknown issuer"),
    pytest.param({}, {"iss": None}, "not on the list", id="no issuer"),
    pytest.param({}, {"iss": [EHR]}, "not on the list", id="issuer of a wrong kind"),
    pytest.param({}, {"aud": BASE + DISCOVERY}, "somebody else", id="for another address of ours"),
    pytest.param({}, {"aud": BASE}, "somebody else", id="for the base"),
    pytest.param({}, {"aud": "https://evil.example" + VIEW}, "somebody else", id="for another server"),
    pytest.param({}, {"exp": None}, "when it expires", id="no expiry"),
    pytest.param({}, {"exp": int(PRESENT.timestamp()) - 60}, "expired", id="expired"),
    pytest.param({}, {"exp": int(PRESENT.timestamp()) + 3600}, "lives longer", id="lives an hour"),
    pytest.param({}, {"iat": int(PRESENT.timestamp()) + 300}, "future", id="from the future"),
    pytest.param({}, {"jti": None}, "'jti'", id="no id"),
    pytest.param({}, {"iat": None}, "'iat'", id="no time of issue"),
]


@pytest.mark.parametrize(("header", "claims", "said"), REFUSED)
def test_a_token_that_is_not_believed_is_401(
    client: TestClient, ehr: Issuer, header: Json, claims: Json, said: str
) -> None:
    if header.get("alg") == "ES256":
        short = ECKey.generate_key("P-256", auto_kid=True)
        ehr.extra_keys.append(short.as_dict(private=False))
        token = ehr.sign({"typ": "JWT", "alg": "ES256", "kid": short.kid}, _claims(VIEW), short)
        said = "algorithm"
    else:
        token = _token(ehr, VIEW, header, **claims)
    answer = _call(client, VIEW, token)
    assert answer.status_code == 401
    assert 'error="invalid_token"' in answer.headers["www-authenticate"]
    assert said in answer.headers["www-authenticate"]


def test_an_unsigned_token_is_401(client: TestClient, ehr: Issuer) -> None:
    token = unsigned(_claims(VIEW), str(ehr.key.kid), "JWT")
    assert "algorithm" in _call(client, VIEW, token).headers["www-authenticate"]


def test_a_shared_secret_is_401(client: TestClient, ehr: Issuer) -> None:
    """CDS Hooks 2.0.1 forbids symmetric algorithms; a public key is no secret."""
    secret = ehr.rsa.as_pem(private=False)
    token = signed_with_a_public_key(_claims(VIEW), secret, str(ehr.rsa.kid), "JWT")
    assert "algorithm" in _call(client, VIEW, token).headers["www-authenticate"]


def test_a_forged_signature_is_401(client: TestClient, ehr: Issuer) -> None:
    forger = ECKey.generate_key("P-384")
    token = ehr.sign({"alg": "ES384", "typ": "JWT", "kid": ehr.key.kid}, _claims(VIEW), forger)
    assert "signature" in _call(client, VIEW, token).headers["www-authenticate"]
    head, _, signature = _token(ehr, VIEW).split(".")
    changed = f"{head}.{part(_claims(VIEW, sub='x'))}.{signature}"
    assert "signature" in _call(client, VIEW, changed).headers["www-authenticate"]


def test_a_foreign_address_of_keys_is_never_asked(client: TestClient, ehr: Issuer) -> None:
    """The forger's keys are real and at the address the token names: it is not asked."""
    with issuing() as forger:
        forger.key = ECKey.generate_key("P-384", auto_kid=True)
        for kid in (forger.key.kid, ehr.key.kid):
            header = {"alg": "ES384", "typ": "JWT", "jku": forger.jwks_url, "kid": kid}
            token = forger.sign(header, _claims(VIEW), forger.key)
            assert _call(client, VIEW, token).status_code == 401
        assert forger.keys_asked == 0


def test_the_configured_address_of_keys_may_be_named(client: TestClient, ehr: Issuer) -> None:
    assert _call(client, VIEW, _token(ehr, VIEW, {"jku": ehr.jwks_url})).status_code == 200


def test_a_token_is_used_once(client: TestClient, ehr: Issuer) -> None:
    token = _token(ehr, VIEW)
    assert _call(client, VIEW, token).status_code == 200
    again = _call(client, VIEW, token)
    assert again.status_code == 401
    assert "used before" in again.headers["www-authenticate"]
    assert _call(client, VIEW, _token(ehr, VIEW)).status_code == 200


def test_a_refused_token_is_not_used_up(client: TestClient, ehr: Issuer) -> None:
    """Only a believed token is remembered, or anybody could use up a client's ids."""
    name = new_id()
    forger = ECKey.generate_key("P-384")
    forged = ehr.sign({"alg": "ES384", "typ": "JWT", "kid": ehr.key.kid}, _claims(VIEW, jti=name), forger)
    assert _call(client, VIEW, forged).status_code == 401
    assert _call(client, VIEW, _token(ehr, VIEW, jti=name)).status_code == 200


def test_ids_are_forgotten_when_no_token_could_carry_them_any_more(client: TestClient, ehr: Issuer) -> None:
    guard = client.app
    for minutes in range(0, 60, 10):
        moment = PRESENT + timedelta(minutes=minutes)
        client.app.state.clock = lambda moment=moment: moment  # type: ignore[attr-defined]
        for _ in range(3):
            claims: Json = {"iat": int(moment.timestamp()), "exp": int(moment.timestamp()) + 300}
            assert _call(client, VIEW, _token(ehr, VIEW, **claims)).status_code == 200
    assert len(_clients_of(guard)._seen) == 3


def _clients_of(app: Any) -> Any:
    layer = app.middleware_stack
    while not hasattr(layer, "_clients"):
        layer = getattr(layer, "_app", None) or layer.app
    return layer._clients


def test_keys_that_cannot_be_had_are_503(client: TestClient, ehr: Issuer) -> None:
    ehr.is_away = True
    assert _call(client, VIEW, _token(ehr, VIEW)).status_code == 503


def test_known_keys_serve_while_their_owner_is_away(client: TestClient, ehr: Issuer) -> None:
    assert _call(client, VIEW, _token(ehr, VIEW)).status_code == 200
    ehr.is_away = True
    for minutes, status in ((9, 200), (20, 200), (26, 503)):
        moment = PRESENT + timedelta(minutes=minutes)
        client.app.state.clock = lambda moment=moment: moment  # type: ignore[attr-defined]
        claims: Json = {"iat": int(moment.timestamp()), "exp": int(moment.timestamp()) + 300}
        assert _call(client, VIEW, _token(ehr, VIEW, **claims)).status_code == status


def test_a_cds_client_opens_no_other_door(client: TestClient, ehr: Issuer) -> None:
    """Once anybody has to sign in, a door without a way to sign in is closed."""
    path = "/fhir/$review-deterioration"
    token = _token(ehr, path)
    answer = client.post(path, json={}, headers={"Authorization": f"Bearer {token}"})
    assert answer.status_code == 403
    assert client.get("/fhir/metadata").status_code == 200


def test_an_access_token_opens_no_cds_service() -> None:
    with issuing() as login:
        app = create_app(
            Settings(_env_file=None, smart_issuer="https://login.example", smart_jwks_url=login.jwks_url)
        )
        app.state.clock = lambda: PRESENT
        token = login.sign(
            {"alg": "ES384", "typ": "at+jwt"},
            _claims(VIEW, iss="https://login.example", scope="system/Observation.rs", client_id="x", sub="x"),
        )
        assert _call(TestClient(app), VIEW, token).status_code == 403


class TestCors:
    """Browsers: only the origins that were set, and also for refusals."""

    ORIGIN = "https://ehr.example"

    def _client(self, *origins: str, **settings: Any) -> TestClient:
        app = create_app(Settings(_env_file=None, cors_origins=origins, **settings))
        app.state.clock = lambda: PRESENT
        return TestClient(app)

    def test_a_preflight_is_answered_for_a_known_origin(self) -> None:
        answer = self._client(self.ORIGIN).options(
            VIEW,
            headers={
                "Origin": self.ORIGIN,
                "Access-Control-Request-Method": "POST",
                "Access-Control-Request-Headers": "authorization,content-type",
            },
        )
        assert answer.status_code == 200
        assert answer.headers["access-control-allow-origin"] == self.ORIGIN
        assert "POST" in answer.headers["access-control-allow-methods"]
        allowed = answer.headers["access-control-allow-headers"].lower()
        assert "authorization" in allowed
        assert "content-type" in allowed

    @pytest.mark.parametrize("origins", [(), ("https://other.example",)])
    def test_no_other_origin_is_let_in(self, origins: tuple[str, ...]) -> None:
        client = self._client(*origins)
        answer = client.post(VIEW, json=view("08-well-going-home"), headers={"Origin": self.ORIGIN})
        assert "access-control-allow-origin" not in answer.headers

    def test_an_answer_may_be_read_by_its_origin(self) -> None:
        client = self._client(self.ORIGIN)
        answer = client.post(VIEW, json=view("08-well-going-home"), headers={"Origin": self.ORIGIN})
        assert answer.status_code == 200
        assert answer.headers["access-control-allow-origin"] == self.ORIGIN

    def test_a_preflight_needs_no_token_and_a_refusal_may_be_read(self) -> None:
        with issuing() as ehr:
            client = self._client(self.ORIGIN, cds_clients={EHR: ehr.jwks_url})
            headers = {"Origin": self.ORIGIN, "Access-Control-Request-Method": "POST"}
            assert client.options(VIEW, headers=headers).status_code == 200
            refused = client.post(VIEW, content=json.dumps({}), headers={"Origin": self.ORIGIN})
            assert refused.status_code == 401
            assert refused.headers["access-control-allow-origin"] == self.ORIGIN
            assert "www-authenticate" in refused.headers["access-control-expose-headers"].lower()
