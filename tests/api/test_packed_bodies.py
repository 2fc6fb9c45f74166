"""Bodies that hold more than they seem to: packed far too well, in empty parts, or all brackets.

The limits are our choice.
"""

import gzip
import os

import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW, code_of, issue
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

_PACKED = {"Content-Encoding": "gzip"}
_EMPTY = gzip.compress(b"")
_BUNDLE = b'{"resourceType":"Bundle","type":"collection"}'
_MEBIBYTE = 1024 * 1024


@pytest.mark.parametrize(
    ("spaces", "status"),
    [
        pytest.param(_MEBIBYTE // 2, 200, id="below-a-mebibyte-however-well-packed"),
        pytest.param(2 * _MEBIBYTE, 413, id="a-thousand-times-above-it"),
    ],
)
def test_what_a_body_unpacks_to(client: TestClient, spaces: int, status: int) -> None:
    body = gzip.compress(_BUNDLE + b" " * spaces)
    answer = client.post(REVIEW, content=body, headers=_PACKED)
    assert answer.status_code == status
    if status == 413:
        assert "times its size" in issue(answer)["diagnostics"]


def test_a_record_is_never_packed_too_well(client: TestClient, ward_lines: bytes) -> None:
    lines = {**_PACKED, "Content-Type": "application/fhir+ndjson"}
    body = gzip.compress(ward_lines, 9)
    assert len(ward_lines) / len(body) < 40
    assert client.post(REVIEW, content=body, headers=lines).status_code == 200


@pytest.mark.parametrize(
    ("body", "status"),
    [
        pytest.param(gzip.compress(_BUNDLE[:9]) + gzip.compress(_BUNDLE[9:]), 200, id="two-parts"),
        pytest.param(_EMPTY + gzip.compress(_BUNDLE), 400, id="an-empty-one-first"),
        pytest.param(gzip.compress(_BUNDLE) + _EMPTY * 2, 400, id="empty-ones-behind"),
        pytest.param(_EMPTY * 100_000, 400, id="nothing-but-empty-ones"),
        pytest.param(
            b"".join(gzip.compress(b" ") for _ in range(1001)) + gzip.compress(_BUNDLE), 400, id="too-many"
        ),
    ],
)
def test_parts_of_a_body(client: TestClient, body: bytes, status: int) -> None:
    assert client.post(REVIEW, content=body, headers=_PACKED).status_code == status


def test_packed_bytes_count_too() -> None:
    """What does not shrink is not smaller than the limit for being packed."""
    with TestClient(create_app(Settings(max_body_bytes=100_000))) as client:
        stored = gzip.compress(os.urandom(99_990), 0)

        def pieces() -> object:
            yield stored
            yield b"more"

        assert len(stored) > 100_000
        answer = client.post(REVIEW, content=pieces(), headers=_PACKED)
    assert (answer.status_code, code_of(issue(answer))) == (413, "too-large")


@pytest.mark.parametrize("bracket", [b"[],", b"{},"])
def test_a_body_of_nothing_but_brackets(client: TestClient, bracket: bytes) -> None:
    """Each pair of brackets becomes an object many times its size."""
    body = b'{"resourceType":"Bundle","x":[' + bracket * 100_000 + b"0]}"
    answer = client.post(REVIEW, content=body)
    assert (answer.status_code, code_of(issue(answer))) == (413, "too-large")
    fewer = b'{"resourceType":"Bundle","x":[' + bracket * 40_000 + b"0]}"
    assert client.post(REVIEW, content=fewer).status_code == 200
