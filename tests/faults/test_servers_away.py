"""Servers that we ask and that are away or slow, and callers that flood us with bad tokens."""

import base64
import json
import threading
import time
from collections import Counter
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import httpx
import pytest

from tests.api.answers import REVIEW
from tests.running import PLAIN, ROOT, Running, free_port

pytestmark = pytest.mark.slow
SEPSIS = (ROOT / "fixtures" / "bundles" / "01-sepsis.json").read_bytes()
JSON = {"Content-Type": "application/fhir+json"}


class _Keys(BaseHTTPRequestHandler):
    """Publishes an empty key set, as slowly as it is told to."""

    asked = 0
    seconds = 0.0

    def do_GET(self) -> None:
        type(self).asked += 1
        time.sleep(type(self).seconds)
        body = b'{"keys": []}'
        self.send_response(200)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def keys() -> Iterator[tuple[str, type[_Keys]]]:
    """A server of keys on loopback."""
    kind = type("Keys", (_Keys,), {"asked": 0, "seconds": 0.0})
    server = ThreadingHTTPServer(("127.0.0.1", 0), kind)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/jwks", kind
    server.shutdown()
    thread.join()
    server.server_close()


def _token(kid: str) -> str:
    """Return a token in due form that nobody has signed."""
    parts = (
        {"alg": "RS256", "typ": "at+jwt", "kid": kid},
        {"iss": "https://login.example", "exp": 4102444800, "aud": "http://127.0.0.1:8080/fhir"},
    )
    encoded = [base64.urlsafe_b64encode(json.dumps(p).encode()).rstrip(b"=").decode() for p in parts]
    return ".".join([*encoded, base64.urlsafe_b64encode(b"x" * 256).rstrip(b"=").decode()])


def _floods(number: int) -> list[str]:
    """Return bad tokens of many kinds, no two alike."""
    return [
        (
            _token(f"key-{index}"),
            f"not.a.token{index}",
            f"{'A' * 4000}.{index}.B",
            f"{_token('key')}.{index}",
            "." * (index % 40 + 1),
            f"%00{index}",
        )[index % 6]
        for index in range(number)
    ]


def _ask(client: httpx.Client, token: str) -> httpx.Response:
    return client.post(REVIEW, content=SEPSIS, headers={**JSON, "Authorization": f"Bearer {token}"})


def _ask_once(service: Running) -> httpx.Response:
    with httpx.Client(base_url=service.base, timeout=60, verify=PLAIN) as client:
        return _ask(client, _token("key"))


def test_a_flood_of_bad_tokens_is_refused_one_by_one(keys: tuple[str, type[_Keys]]) -> None:
    """1,200 bad tokens: 401 each, the keys are asked for a handful of times, health is answered all along."""
    address, kind = keys
    slowest = 0.0
    seen: Counter[int] = Counter()
    with Running(smart_jwks_url=address, smart_issuer="https://login.example") as service:

        def flood(tokens: list[str]) -> None:
            with httpx.Client(base_url=service.base, timeout=30, verify=PLAIN) as client:
                for token in tokens:
                    seen[_ask(client, token).status_code] += 1

        tokens = _floods(1200)
        threads = [threading.Thread(target=flood, args=(tokens[start::4],)) for start in range(4)]
        for thread in threads:
            thread.start()
        with httpx.Client(base_url=service.base, timeout=30, verify=PLAIN) as client:
            while any(thread.is_alive() for thread in threads):
                began = time.monotonic()
                assert client.get("/health/live").status_code == 200
                slowest = max(slowest, time.monotonic() - began)
                time.sleep(0.05)
        lines = service.log()
    assert seen == {401: 1200}
    assert kind.asked <= 6
    assert slowest < 2
    assert "key-6" not in lines
    assert "AAAA" not in lines


def test_keys_that_cannot_be_had_are_503_and_not_401() -> None:
    """A caller with a good token must not be told that it is bad because we cannot look."""
    away = f"http://127.0.0.1:{free_port()}/jwks"
    with Running(smart_jwks_url=away, smart_issuer="https://login.example") as service:
        answer = _ask_once(service)
        assert answer.status_code == 503
        assert answer.json()["resourceType"] == "OperationOutcome"
        assert httpx.get(f"{service.base}/health/live", verify=PLAIN).status_code == 200
        assert httpx.get(f"{service.base}/health/ready", verify=PLAIN).status_code == 200


def test_slow_keys_do_not_hold_up_what_needs_none(keys: tuple[str, type[_Keys]]) -> None:
    """While one caller waits for the keys, health, metrics and the published tables are answered at once."""
    address, kind = keys
    kind.seconds = 4.5  # We wait five at most.
    with Running(smart_jwks_url=address, smart_issuer="https://login.example") as service:
        waiting = threading.Thread(target=lambda: _ask_once(service))
        waiting.start()
        time.sleep(0.3)
        for path in ("/health/live", "/metrics", "/criteria", "/fhir/metadata"):
            began = time.monotonic()
            assert httpx.get(f"{service.base}{path}", timeout=10, verify=PLAIN).status_code == 200
            assert time.monotonic() - began < 3
            assert waiting.is_alive()
        waiting.join()


def test_an_audit_sink_that_hangs_does_not_slow_answers(keys: tuple[str, type[_Keys]]) -> None:
    """The sink takes three seconds for each event; answers do not wait for it."""
    address, kind = keys
    kind.seconds = 3.0
    with Running(audit_url=address.replace("jwks", "AuditEvent")) as service:
        httpx.post(f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN)
        began = time.monotonic()
        for _ in range(5):
            answer = httpx.post(f"{service.base}{REVIEW}", content=SEPSIS, headers=JSON, verify=PLAIN)
            assert answer.status_code == 200
        assert time.monotonic() - began < 10
