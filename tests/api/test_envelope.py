"""What surrounds every answer: ids, safety headers, addresses, methods, and limits."""

import gzip
import json
import logging
import re
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.answers import HANDOVER, REVIEW, code_of, issue
from weatherglass.api.app import create_app
from weatherglass.api.requests import operations
from weatherglass.api.settings import Settings

BODY = json.dumps({"resourceType": "Bundle", "type": "collection"}).encode()


class TestIds:
    def test_each_answer_has_an_id_of_its_own(self, client: TestClient) -> None:
        ids = {client.get("/health/live").headers["x-request-id"] for _ in range(5)}
        assert len(ids) == 5

    def test_the_callers_id_comes_back_as_correlation_id(self, client: TestClient) -> None:
        """FHIR R4 `http.html`, "Custom Headers"."""
        answer = client.post(REVIEW, content=BODY, headers={"X-Request-Id": "ward-7:42"})
        assert answer.headers["x-correlation-id"] == "ward-7:42"
        assert answer.headers["x-request-id"] != "ward-7:42"

    @pytest.mark.parametrize("unsafe", ["a b", "x" * 65, "<script>", "a;b", "-", "id\ttab"])
    def test_an_unsafe_id_is_dropped(self, client: TestClient, unsafe: str) -> None:
        """Ids end in logs and headers, so only harmless ones are taken from outside."""
        answer = client.post(
            REVIEW, content=BODY, headers={"X-Request-Id": unsafe, "X-Correlation-Id": unsafe}
        )
        assert "x-correlation-id" not in answer.headers


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("POST", REVIEW),
        ("GET", "/fhir/nothing"),
        ("GET", "/nothing"),
        ("GET", "/health/live"),
        ("GET", REVIEW),
    ],
)
def test_safety_headers(client: TestClient, method: str, path: str) -> None:
    """Successes and failures alike: nothing is stored, sniffed or framed."""
    headers = client.request(method, path, content=BODY if method == "POST" else None).headers
    assert headers["cache-control"] == "no-store"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert "default-src 'none'" in headers["content-security-policy"]


@pytest.mark.parametrize(
    "path",
    [REVIEW, f"{REVIEW}/", "/fhir/%24review-deterioration", "/fhir/%24review-deterioration/", HANDOVER + "/"],
)
def test_addresses_that_are_the_same(client: TestClient, path: str) -> None:
    """A percent-encoded dollar sign and a trailing slash lead to the same place, without a redirect."""
    answer = client.post(path, content=BODY, follow_redirects=False)
    assert answer.status_code == (422 if "handover" in path else 200)


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH"])
@pytest.mark.parametrize("path", [REVIEW, HANDOVER])
def test_other_methods(client: TestClient, method: str, path: str) -> None:
    """RFC 9110 15.5.6: 405 names the methods that are allowed."""
    answer = client.request(method, path)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "POST"
    assert (code_of(issue(answer)), issue(answer)["code"]) == ("wrong-method", "not-supported")


@pytest.mark.parametrize(
    "path", ["/fhir", "/fhir/", "/fhir/Patient/1", "/fhir/$no-such", "/fhir/Patient/$everything"]
)
def test_unknown_fhir_addresses(client: TestClient, path: str) -> None:
    answer = client.post(path, content=BODY)
    assert answer.status_code == 404
    assert (code_of(issue(answer)), issue(answer)["code"]) == ("wrong-address", "not-found")


def test_elsewhere_a_problem_is_told_as_rfc_9457_says(client: TestClient) -> None:
    answer = client.get("/no/such/page")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["status"] == 404


class TestLimits:
    MOST = 20_000

    @pytest.fixture(scope="class")
    @staticmethod
    def small() -> Iterator[TestClient]:
        """A service that takes little."""
        settings = Settings(max_body_bytes=TestLimits.MOST, max_in_flight=1)
        with TestClient(create_app(settings), headers={"Content-Type": "application/json"}) as started:
            yield started

    def test_a_body_at_the_limit_and_one_byte_more(self, small: TestClient) -> None:
        body = BODY + b" " * (self.MOST - len(BODY))
        assert small.post(REVIEW, content=body).status_code == 200
        answer = small.post(REVIEW, content=body + b" ")
        assert (answer.status_code, code_of(issue(answer)), issue(answer)["code"]) == (
            413,
            "too-large",
            "too-long",
        )

    def test_a_body_that_does_not_say_how_long_it_is(self, small: TestClient) -> None:
        """Content-Length may be absent; the bytes are counted."""
        pieces = (b" " * 1000 for _ in range(self.MOST // 1000 + 1))
        assert small.post(REVIEW, content=pieces).status_code == 413

    def test_a_gzip_bomb(self, small: TestClient) -> None:
        """A thousandfold inflation is stopped at the limit."""
        bomb = gzip.compress(b" " * 20_000_000)
        assert len(bomb) < self.MOST * 1.01
        answer = small.post(REVIEW, content=bomb[: self.MOST], headers={"Content-Encoding": "gzip"})
        assert answer.status_code == 413

    def test_too_many_at_once(self, small: TestClient) -> None:
        """RFC 6585: 429 says when to come again."""
        app: Any = small.app
        limiter = app.state.service.limiter
        with limiter.slot() as other:
            other.take()
            answer = small.post(REVIEW, content=BODY)
            assert answer.status_code == 429
            assert answer.headers["retry-after"] == "1"
            assert (code_of(issue(answer)), issue(answer)["code"]) == ("busy", "throttled")
            assert small.get("/health/live").status_code == 200
        assert small.post(REVIEW, content=BODY).status_code == 200

    def test_every_seat_is_given_back(self, small: TestClient) -> None:
        """Also after a refusal, and after lines have been sent."""
        app: Any = small.app
        small.post(REVIEW, content=b"hello")
        small.post(REVIEW, content=b" " * (self.MOST + 1))
        line = b'{"resourceType":"Patient","id":"p"}\n'
        small.post(REVIEW, content=line, headers={"Content-Type": "application/fhir+ndjson"})
        assert app.state.service.limiter.in_flight == 0


class TestFaults:
    """A mistake of ours is a 500 that says so and nothing else."""

    MARKER = "Zanzibar-Quill"

    @pytest.fixture
    def failing(self, monkeypatch: pytest.MonkeyPatch) -> TestClient:
        """An application with a mistake in it."""

        def fail(*_: object, **__: object) -> None:
            raise ValueError(self.MARKER)

        monkeypatch.setattr(operations, "review_reading", fail)
        monkeypatch.setattr(operations, "review_each", fail)
        return TestClient(create_app(), headers={"Content-Type": "application/fhir+json"})

    def test_it_is_an_operation_outcome(self, failing: TestClient, caplog: pytest.LogCaptureFixture) -> None:
        with caplog.at_level(logging.DEBUG):
            answer = failing.post(REVIEW, content=BODY)
        assert answer.status_code == 500
        found = issue(answer)
        assert (found["severity"], found["code"], code_of(found)) == ("fatal", "exception", "fault")
        assert re.fullmatch("[0-9a-f]{32}", answer.headers["x-request-id"])
        assert answer.headers["cache-control"] == "no-store"
        # The message of an exception may hold data of a patient: neither told nor logged.
        assert self.MARKER not in answer.text + caplog.text
        assert "ValueError" in caplog.text

    def test_in_the_middle_of_lines_the_last_line_says_so(self, failing: TestClient) -> None:
        lines = b'{"resourceType":"Patient","id":"p"}\n'
        answer = failing.post(REVIEW, content=lines, headers={"Content-Type": "application/fhir+ndjson"})
        last = json.loads(answer.content.splitlines()[-1])
        assert last["resourceType"] == "OperationOutcome"
        assert last["issue"][-1]["severity"] == "fatal"
        assert self.MARKER not in answer.text
