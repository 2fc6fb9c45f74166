"""Access tokens of the FHIR face: every way to be refused, and the few to be let in.

Expected: RFC 9068 (type, algorithm, claims), RFC 7662 (look-up), RFC 6750 (401, 403 and
WWW-Authenticate), SMART App Launch 2.2.0 (scopes).
"""

import json
import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from joserfc.jwk import ECKey
from starlette.testclient import TestClient

from tests.api.issuer import Issuer, Json, issuing, new_id, signed_with_a_public_key, unsigned
from weatherglass.api.access.principals import covers
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

ISS = "https://login.example/"
AUD = "http://127.0.0.1:8080/fhir"
NOW = datetime(2026, 3, 12, 7, 40, tzinfo=UTC)
REVIEW = "/fhir/$review-deterioration"
WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
SEPSIS = (WARD / "01-sepsis.json").read_bytes()
FHIR = {"Content-Type": "application/fhir+json"}


@pytest.fixture
def issuer() -> Iterator[Issuer]:
    """An authorization server."""
    with issuing() as running:
        yield running


@pytest.fixture
def client(issuer: Issuer) -> Iterator[TestClient]:
    """The application, taking that server's tokens."""
    yield from _application(smart_issuer=ISS, smart_jwks_url=issuer.jwks_url)


def _application(**settings: Any) -> Iterator[TestClient]:
    app = create_app(Settings(_env_file=None, **settings))
    app.state.clock = lambda: NOW
    with TestClient(app) as started:
        yield started


def _claims(**changes: Any) -> Json:
    return {
        "iss": ISS,
        "aud": AUD,
        "sub": "ward-app",
        "client_id": "ward-app",
        "iat": int(NOW.timestamp()),
        "exp": int((NOW + timedelta(minutes=5)).timestamp()),
        "jti": new_id(),
        "scope": "system/Observation.rs",
        **changes,
    }


def _header(**changes: Any) -> Json:
    return {"alg": "ES384", "typ": "at+jwt", **changes}


def _post(client: TestClient, token: str | None, body: bytes = SEPSIS) -> Any:
    headers = FHIR if token is None else {**FHIR, "Authorization": f"Bearer {token}"}
    return client.post(REVIEW, content=body, headers=headers)


def _refused(answer: Any, status: int, code: str) -> str:
    """Check a refusal's form: an OperationOutcome, and the challenge in the head."""
    assert answer.status_code == status, answer.text
    outcome = answer.json()
    assert outcome["resourceType"] == "OperationOutcome"
    assert [i["code"] for i in outcome["issue"]] == [code]
    challenge: str = answer.headers["www-authenticate"]
    assert challenge.startswith("Bearer")
    return challenge


class TestLetIn:
    """Tokens that are what they have to be."""

    @pytest.mark.parametrize("algorithm", ["RS256", "RS384", "ES384"])
    def test_by_every_algorithm_that_is_taken(
        self, client: TestClient, issuer: Issuer, algorithm: str
    ) -> None:
        token = issuer.sign(_header(alg=algorithm), _claims())
        assert _post(client, token).status_code == 200

    @pytest.mark.parametrize(
        "audience", [AUD, ["https://other.example", AUD]], ids=["a string", "one of several"]
    )
    def test_for_us_alone_or_among_others(self, client: TestClient, issuer: Issuer, audience: object) -> None:
        assert _post(client, issuer.sign(_header(), _claims(aud=audience))).status_code == 200

    @pytest.mark.parametrize("typ", ["at+jwt", "application/at+jwt", "AT+JWT"])
    def test_of_the_type_of_rfc_9068(self, client: TestClient, issuer: Issuer, typ: str) -> None:
        assert _post(client, issuer.sign(_header(typ=typ), _claims())).status_code == 200

    def test_again_and_again_while_it_lives(self, client: TestClient, issuer: Issuer) -> None:
        """An access token, unlike an assertion, is used many times."""
        token = issuer.sign(_header(), _claims())
        assert [_post(client, token).status_code for _ in range(3)] == [200, 200, 200]
        assert issuer.keys_asked == 1

    @pytest.mark.parametrize(
        "path",
        ["/fhir/metadata", "/health/live", "/health/ready", "/criteria", "/openapi.json", "/", "/metrics"],
    )
    def test_what_is_published_needs_no_token(self, client: TestClient, path: str) -> None:
        assert client.get(path).status_code == 200


class TestNoToken:
    """RFC 6750, 3: without credentials the challenge carries no error."""

    @pytest.mark.parametrize(
        "headers",
        [
            pytest.param({}, id="nothing"),
            pytest.param({"Authorization": "Basic d2FyZDpwYXNz"}, id="another scheme"),
            pytest.param({"Authorization": "Bearer"}, id="no token"),
            pytest.param({"Authorization": "Bearer  "}, id="blanks"),
        ],
    )
    def test_is_401(self, client: TestClient, headers: dict[str, str]) -> None:
        answer = client.post(REVIEW, content=SEPSIS, headers={**FHIR, **headers})
        assert _refused(answer, 401, "login") == "Bearer"

    def test_in_the_address_is_no_token(self, client: TestClient, issuer: Issuer) -> None:
        """Addresses end in logs: a token there is not looked at."""
        token = issuer.sign(_header(), _claims())
        answer = client.post(f"{REVIEW}?access_token={token}", content=SEPSIS, headers=FHIR)
        _refused(answer, 401, "login")

    def test_two_tokens_are_none(self, client: TestClient, issuer: Issuer) -> None:
        token = issuer.sign(_header(), _claims())
        headers = [("Authorization", f"Bearer {token}"), ("Authorization", f"Bearer {token}")]
        answer = client.post(REVIEW, content=SEPSIS, headers=[*headers, *FHIR.items()])
        _refused(answer, 401, "login")

    @pytest.mark.parametrize("path", [REVIEW, "/fhir/$handover-document", "/view"])
    def test_every_door_for_records_is_locked(self, client: TestClient, path: str) -> None:
        assert client.post(path, content=SEPSIS, headers=FHIR).status_code == 401


REFUSED = [
    pytest.param({"alg": "RS512"}, {}, "algorithm", id="an algorithm that is not taken"),
    pytest.param({"alg": "PS384"}, {}, "algorithm", id="PS384"),
    pytest.param({"typ": "JWT"}, {}, "type", id="typ JWT"),
    pytest.param({"typ": None}, {}, "type", id="no typ"),
    pytest.param({"kid": None}, {}, "name its key", id="no key id"),
    pytest.param({"kid": "another"}, {}, "not known", id="unknown key id"),
    pytest.param({}, {"iss": "https://login.example"}, "another issuer", id="issuer without its slash"),
    pytest.param({}, {"iss": None}, "another issuer", id="no issuer"),
    pytest.param({}, {"aud": "https://other.example/fhir"}, "somebody else", id="wrong audience"),
    pytest.param({}, {"aud": f"{AUD}/"}, "somebody else", id="audience with a slash"),
    pytest.param({}, {"aud": None}, "somebody else", id="no audience"),
    pytest.param({}, {"aud": {"a": AUD}}, "somebody else", id="audience of a wrong kind"),
    pytest.param({}, {"exp": None}, "when it expires", id="no expiry"),
    pytest.param({}, {"exp": "later"}, "not a time", id="expiry in words"),
    pytest.param({}, {"exp": True}, "not a time", id="expiry true"),
    pytest.param({}, {"exp": math.nan}, "not a time", id="expiry not a number"),
    pytest.param({}, {"exp": math.inf}, "not a time", id="expiry without an end"),
    pytest.param({}, {"exp": 10**400}, "not a time", id="expiry of 400 digits"),
    pytest.param({}, {"exp": 1_900_000_000_000}, "not a time", id="expiry in milliseconds"),
    pytest.param({}, {"nbf": math.nan}, "not a time", id="beginning not a number"),
    pytest.param({}, {"nbf": int(NOW.timestamp()) + 120}, "future", id="not yet"),
    pytest.param({}, {"iat": int(NOW.timestamp()) + 120}, "future", id="issued in the future"),
    pytest.param({}, {"client_id": None}, "client_id", id="no client"),
    pytest.param({}, {"sub": None}, "'sub'", id="no subject"),
    pytest.param({}, {"jti": None}, "'jti'", id="no id"),
    pytest.param({}, {"iat": None}, "'iat'", id="no time of issue"),
]


class TestRefused:
    """Tokens that are not believed: 401, invalid_token."""

    @pytest.mark.parametrize(("header", "claims", "said"), REFUSED)
    def test_for_what_it_says(
        self, client: TestClient, issuer: Issuer, header: Json, claims: Json, said: str
    ) -> None:
        token = issuer.sign(_header(**header), _claims(**claims))
        challenge = _refused(_post(client, token), 401, "login")
        assert 'error="invalid_token"' in challenge
        assert said in challenge

    def test_unsigned(self, client: TestClient, issuer: Issuer) -> None:
        for kid in (issuer.key.kid, ""):
            token = unsigned(_claims(), kid or "", "at+jwt")
            assert "algorithm" in _refused(_post(client, token), 401, "login")

    def test_signed_with_a_public_key_as_a_secret(self, client: TestClient, issuer: Issuer) -> None:
        """The classic confusion: HS256 with the RSA public key, which everybody has."""
        for secret in (issuer.rsa.as_pem(private=False), json.dumps(issuer.key_set()["keys"][1]).encode()):
            token = signed_with_a_public_key(_claims(), secret, str(issuer.rsa.kid), "at+jwt")
            assert "algorithm" in _refused(_post(client, token), 401, "login")

    def test_signed_with_a_shared_key_that_is_published(self, client: TestClient, issuer: Issuer) -> None:
        issuer.extra_keys.append({"kty": "oct", "kid": "shared", "k": "c2VjcmV0LXNlY3JldC1zZWNyZXQtc2VjcmV0"})
        token = signed_with_a_public_key(_claims(), b"secret-secret-secret-secret", "shared", "at+jwt")
        _refused(_post(client, token), 401, "login")

    def test_signed_with_another_key_under_a_known_id(self, client: TestClient, issuer: Issuer) -> None:
        forger = ECKey.generate_key("P-384")
        token = issuer.sign(_header(kid=issuer.key.kid), _claims(), forger)
        assert "signature" in _refused(_post(client, token), 401, "login")

    @pytest.mark.parametrize("name", ["jwk", "jku", "x5u"])
    def test_bringing_its_own_key(self, client: TestClient, issuer: Issuer, name: str) -> None:
        """A key in the header, or an address of one, is never used."""
        with issuing() as forger:
            forger.key = ECKey.generate_key("P-384", auto_kid=True)
            value: Any = forger.key.as_dict(private=False) if name == "jwk" else forger.jwks_url
            token = issuer.sign({**_header(), name: value, "kid": forger.key.kid}, _claims(), forger.key)
            _refused(_post(client, token), 401, "login")
            assert forger.keys_asked == 0

    def test_changed_on_the_way(self, client: TestClient, issuer: Issuer) -> None:
        from tests.api.issuer import part

        head, _, signature = issuer.sign(_header(), _claims()).split(".")
        token = f"{head}.{part(_claims(scope='system/*.cruds'))}.{signature}"
        assert "signature" in _refused(_post(client, token), 401, "login")

    def test_expired(self, client: TestClient, issuer: Issuer) -> None:
        """Beyond the clocks' difference; the outcome says 'expired', so that a client gets a new one."""
        late = _claims(exp=int(NOW.timestamp()) - 31)
        challenge = _refused(_post(client, issuer.sign(_header(), late)), 401, "expired")
        assert "has expired" in challenge
        assert (
            _post(client, issuer.sign(_header(), _claims(exp=int(NOW.timestamp()) - 29))).status_code == 200
        )

    @pytest.mark.parametrize(
        "token", ["x", "a.b", "a.b.c", "..", "e30.e30.e30", "ä.ö.ü", "a.b.c.d.e", "9" * 20_000]
    )
    def test_that_is_no_token(self, client: TestClient, token: str) -> None:
        headers = {**FHIR, "Authorization": f"Bearer {token}".encode()}
        answer = client.post(REVIEW, content=SEPSIS, headers=headers)
        _refused(answer, 401, "login")

    def test_nothing_of_a_token_is_repeated(
        self, client: TestClient, issuer: Issuer, caplog: pytest.LogCaptureFixture
    ) -> None:
        token = issuer.sign(_header(kid="PLANTED"), _claims(iss="PLANTED", sub="PLANTED"))
        with caplog.at_level("DEBUG"):
            answer = _post(client, token)
        assert "PLANTED" not in answer.text + str(answer.headers) + caplog.text
        assert token not in caplog.text

    def test_made_up_key_ids_do_not_make_us_ask_without_end(self, client: TestClient, issuer: Issuer) -> None:
        for number in range(20):
            _post(client, issuer.sign(_header(kid=f"made-up-{number}"), _claims()))
        assert issuer.keys_asked == 1

    def test_a_new_key_is_found_after_half_a_minute(self, client: TestClient, issuer: Issuer) -> None:
        """Keys are rotated: the id is new, so the keys are fetched again."""
        assert _post(client, issuer.sign(_header(), _claims())).status_code == 200
        issuer.key = ECKey.generate_key("P-384", auto_kid=True)
        token = issuer.sign(_header(), _claims())
        assert _post(client, token).status_code == 401
        client.app.state.clock = lambda: NOW + timedelta(seconds=31)  # type: ignore[attr-defined]
        assert _post(client, token).status_code == 200

    def test_keys_that_cannot_be_had_are_503_and_not_a_way_in(
        self, client: TestClient, issuer: Issuer
    ) -> None:
        issuer.is_away = True
        answer = _post(client, issuer.sign(_header(), _claims()))
        assert answer.status_code == 503
        assert answer.headers["retry-after"]


SCOPES = [
    ("system/Observation.rs", True),
    ("system/Observation.r", True),
    ("system/*.cruds", True),
    ("system/*.read", True),
    ("system/Observation.*", True),
    ("user/Observation.read", True),
    ("openid fhirUser system/Observation.r", True),
    ("", False),
    ("openid", False),
    ("system/Observation.s", False),
    ("system/Observation.write", False),
    ("system/Patient.rs", False),
    ("system/Observation.rs?category=laboratory", False),
    ("system/Observation", False),
    ("Observation.rs", False),
    ("system/Observation.", False),
    ("system/Observation.xyz", False),
    ("SYSTEM/Observation.rs", False),
]


class TestScopes:
    """A good token whose scopes do not reach is 403, insufficient_scope."""

    @pytest.mark.parametrize(("scope", "reaches"), SCOPES)
    def test_versions_one_and_two(
        self, client: TestClient, issuer: Issuer, scope: str, reaches: bool
    ) -> None:
        answer = _post(client, issuer.sign(_header(), _claims(scope=scope)))
        if reaches:
            assert answer.status_code == 200
            return
        challenge = _refused(answer, 403, "forbidden")
        assert 'error="insufficient_scope"' in challenge
        assert 'scope="system/Observation.r user/Observation.r patient/Observation.r"' in challenge

    def test_which_scopes_do_is_a_setting(self, issuer: Issuer) -> None:
        own = "weatherglass.review"
        (client,) = list(_kept(smart_issuer=ISS, smart_jwks_url=issuer.jwks_url, smart_scopes=(own,)))
        assert _post(client, issuer.sign(_header(), _claims(scope=own))).status_code == 200
        assert _post(client, issuer.sign(_header(), _claims())).status_code == 403

    @pytest.mark.parametrize(
        ("granted", "needed", "covered"),
        [
            ("system/Observation.cruds", "system/Observation.rs", True),
            ("system/Observation.rs", "system/Observation.cruds", False),
            ("patient/*.rs", "patient/Observation.r", True),
            ("patient/*.rs", "user/Observation.r", False),
            ("system/*.write", "system/Task.u", True),
        ],
    )
    def test_covering(self, granted: str, needed: str, covered: bool) -> None:
        assert covers(granted, needed) is covered


def _kept(**settings: Any) -> Iterator[TestClient]:
    app = create_app(Settings(_env_file=None, **settings))
    app.state.clock = lambda: NOW
    yield TestClient(app)


class TestOnePatient:
    """A token for one patient opens that patient's record and no other."""

    def _token(self, issuer: Issuer, **claims: Any) -> str:
        return issuer.sign(_header(), _claims(scope="patient/Observation.rs", **claims))

    def test_its_own_record(self, client: TestClient, issuer: Issuer) -> None:
        assert _post(client, self._token(issuer, patient="tidewell")).status_code == 200

    @pytest.mark.parametrize("path", [REVIEW, "/fhir/$handover-document"])
    def test_another_record_is_403(self, client: TestClient, issuer: Issuer, path: str) -> None:
        token = self._token(issuer, patient="saltmere")
        answer = client.post(path, content=SEPSIS, headers={**FHIR, "Authorization": f"Bearer {token}"})
        _refused(answer, 403, "forbidden")
        assert "tidewell" not in answer.text

    def test_a_ward_with_its_record_among_others_is_403(self, client: TestClient, issuer: Issuer) -> None:
        records = [json.loads(path.read_bytes()) for path in sorted(WARD.glob("*.json"))[:2]]
        both = {**records[0], "entry": [*records[0]["entry"], *records[1]["entry"]]}
        answer = _post(client, self._token(issuer, patient="tidewell"), json.dumps(both).encode())
        _refused(answer, 403, "forbidden")

    def test_a_record_of_nobody_known_is_403(self, client: TestClient, issuer: Issuer) -> None:
        renamed = SEPSIS.replace(b"Patient/tidewell", b"urn:uuid:0b7d1f0e-0000-4000-8000-000000000001")
        _refused(_post(client, self._token(issuer, patient="tidewell"), renamed), 403, "forbidden")

    def test_lines_are_checked_before_the_first_goes_out(self, client: TestClient, issuer: Issuer) -> None:
        lines = b"\n".join(json.dumps(e["resource"]).encode() for e in json.loads(SEPSIS)["entry"])
        headers = {
            "Content-Type": "application/fhir+ndjson",
            "Authorization": f"Bearer {self._token(issuer, patient='saltmere')}",
        }
        _refused(client.post(REVIEW, content=lines, headers=headers), 403, "forbidden")

    def test_a_patient_scope_without_a_patient_is_403(self, client: TestClient, issuer: Issuer) -> None:
        _refused(_post(client, self._token(issuer)), 403, "forbidden")

    def test_a_wide_token_with_a_patient_is_held_to_it(self, client: TestClient, issuer: Issuer) -> None:
        token = issuer.sign(_header(), _claims(patient="saltmere"))
        _refused(_post(client, token), 403, "forbidden")

    @pytest.mark.parametrize(("patient", "status"), [("tidewell", 200), ("saltmere", 403)])
    def test_the_page_opens_that_record_and_no_other(
        self, client: TestClient, issuer: Issuer, patient: str, status: int
    ) -> None:
        headers = {"Authorization": f"Bearer {self._token(issuer, patient=patient)}"}
        assert client.post("/view", content=SEPSIS, headers=headers).status_code == status


class TestLookedUp:
    """Opaque tokens, looked up at their issuer (RFC 7662)."""

    @pytest.fixture
    def client(self, issuer: Issuer) -> Iterator[TestClient]:
        yield from _application(
            smart_issuer=ISS,
            smart_introspection_url=f"{issuer.base}/introspect",
            smart_introspection_client_id="weatherglass",
            smart_introspection_secret="s3cret",
        )

    def _known(self, issuer: Issuer, **changes: Any) -> str:
        token = new_id()
        answer = {"active": True, **_claims(**changes)}
        issuer.known[token] = {k: v for k, v in answer.items() if v is not None}
        return token

    def test_an_active_token_is_let_in_and_not_looked_up_again_at_once(
        self, client: TestClient, issuer: Issuer
    ) -> None:
        token = self._known(issuer)
        assert [_post(client, token).status_code for _ in range(3)] == [200, 200, 200]
        assert issuer.looked_up == 1
        client.app.state.clock = lambda: NOW + timedelta(seconds=31)  # type: ignore[attr-defined]
        issuer.known.clear()
        assert _post(client, token).status_code == 401

    @pytest.mark.parametrize(
        ("changes", "status"),
        [
            pytest.param({"active": False}, 401, id="not active"),
            pytest.param({"active": "true"}, 401, id="active in words"),
            pytest.param({"scope": None}, 401, id="no scope"),
            pytest.param({"client_id": None}, 401, id="no client"),
            pytest.param({"exp": None}, 401, id="no expiry"),
            pytest.param({"exp": int(NOW.timestamp()) - 1}, 401, id="expired"),
            pytest.param({"exp": 1_900_000_000_000}, 401, id="expiry in milliseconds"),
            pytest.param({"exp": 1e300}, 401, id="expiry beyond any calendar"),
            pytest.param({"exp": 10**23}, 401, id="expiry of 24 digits"),
            pytest.param({"exp": -1}, 401, id="expiry before 1970"),
            pytest.param({"exp": "later"}, 401, id="expiry in words"),
            pytest.param({"nbf": int(NOW.timestamp()) + 120}, 401, id="not yet"),
            pytest.param({"iss": "https://other.example"}, 401, id="another issuer"),
            pytest.param({"aud": "https://other.example"}, 401, id="for somebody else"),
            pytest.param({"scope": "system/Patient.rs"}, 403, id="scope too small"),
            pytest.param({"patient": "saltmere"}, 403, id="for another patient"),
            pytest.param({"aud": None, "iss": None}, 200, id="neither audience nor issuer named"),
        ],
    )
    def test_what_the_look_up_says_decides(
        self, client: TestClient, issuer: Issuer, changes: Json, status: int
    ) -> None:
        assert _post(client, self._known(issuer, **changes)).status_code == status

    def test_an_unknown_token_is_401(self, client: TestClient) -> None:
        _refused(_post(client, "nobody-knows-it"), 401, "login")

    def test_a_server_that_is_away_is_503(self, client: TestClient, issuer: Issuer) -> None:
        issuer.is_away = True
        assert _post(client, self._known(issuer)).status_code == 503

    def test_a_wrong_secret_of_ours_is_no_way_in(self, issuer: Issuer, tmp_path: Path) -> None:
        (tmp_path / "secret").write_text("wrong\n")
        (client,) = list(
            _kept(
                smart_introspection_url=f"{issuer.base}/introspect",
                smart_introspection_client_id="weatherglass",
                smart_introspection_secret_file=tmp_path / "secret",
            )
        )
        assert _post(client, self._known(issuer)).status_code == 503


class TestConfiguration:
    """`.well-known/smart-configuration` and settings that cannot be right."""

    def test_is_published_when_there_is_somebody_to_get_a_token_from(self, issuer: Issuer) -> None:
        (client,) = list(
            _kept(
                smart_issuer=ISS,
                smart_jwks_url=issuer.jwks_url,
                smart_token_endpoint="https://login.example/token",
            )
        )
        answer = client.get("/fhir/.well-known/smart-configuration")
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "application/json"
        described = answer.json()
        assert described["token_endpoint"] == "https://login.example/token"
        assert described["jwks_uri"] == issuer.jwks_url
        assert described["issuer"] == ISS
        assert "client-confidential-asymmetric" in described["capabilities"]
        assert described["grant_types_supported"] == ["client_credentials"]

    def test_is_not_found_otherwise(self, client: TestClient) -> None:
        assert client.get("/fhir/.well-known/smart-configuration").status_code == 404

    @pytest.mark.parametrize(
        "settings",
        [
            pytest.param({"smart_jwks_url": "https://x.example/jwks"}, id="keys of nobody"),
            pytest.param({"smart_issuer": "x", "smart_jwks_url": "http://x.example/jwks"}, id="plain http"),
            pytest.param({"smart_introspection_url": "https://x.example/i"}, id="a look-up without a secret"),
            pytest.param(
                {"smart_issuer": "x", "smart_jwks_url": "https://x.example/j", "smart_scopes": ()},
                id="no scope would do",
            ),
            pytest.param({"cds_clients": {"https://e.example": "http://e.example/j"}}, id="CDS over http"),
        ],
    )
    def test_what_cannot_be_right_is_refused_at_the_start(self, settings: Json) -> None:
        with pytest.raises(ValueError, match=r".+"):
            Settings(_env_file=None, **settings)


def test_the_capability_statement_says_how_to_sign_in(issuer: Issuer) -> None:
    """FHIR R4 CapabilityStatement.rest.security, SMART App Launch's oauth-uris."""
    token_endpoint = "https://login.example/token"
    (client,) = list(
        _kept(
            smart_issuer=ISS,
            smart_jwks_url=issuer.jwks_url,
            smart_token_endpoint=token_endpoint,
            cors_origins=("https://ehr.example",),
        )
    )
    security = client.get("/fhir/metadata").json()["rest"][0]["security"]
    assert security["cors"] is True
    assert security["service"][0]["coding"][0]["code"] == "SMART-on-FHIR"
    assert security["extension"][0]["extension"] == [{"url": "token", "valueUri": token_endpoint}]
