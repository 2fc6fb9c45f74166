"""What the server says for opening a record from a record system: settings, policy, words.

Expected: SMART App Launch 2.2; Content Security Policy Level 3, `connect-src`.
"""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from pydantic import ValidationError

from weatherglass.api.app import create_app
from weatherglass.api.publishing.launching import launch_address
from weatherglass.api.routes.web import PAGE_POLICY
from weatherglass.api.settings import Settings

SERVERS = {"https://ehr.example/fhir/R4/": "wg-client"}
SEPSIS = (Path(__file__).parents[2] / "fixtures" / "bundles" / "01-sepsis.json").read_bytes()


@contextmanager
def _client(**settings: Any) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(**settings))) as made:
        yield made


def _told(html: str) -> Any:
    found = re.search(r"data-launch-settings>(.*?)</script>", html)
    assert found is not None
    return json.loads(found[1])


@pytest.mark.parametrize("path", ["/", "/launch", "/launch/back"])
def test_the_policy_names_the_servers_of_the_site_and_no_others(path: str) -> None:
    with _client(launch_servers=SERVERS, launch_sign_in_origins=("https://login.example",)) as client:
        policy = client.get(f"{path}?code=c&state=s").headers["content-security-policy"]
    assert "connect-src 'self' https://ehr.example https://login.example;" in policy
    assert policy.replace(" https://ehr.example https://login.example", "") == PAGE_POLICY


def test_only_whom_the_site_names_may_frame_the_page() -> None:
    """Content Security Policy Level 3, `frame-ancestors`; the default is our choice: nobody."""
    framed = {"launch_servers": SERVERS, "launch_frame_origins": ("https://ehr.example",)}
    with _client(**framed) as client:
        for path in ("/", "/launch", "/launch/back"):
            policy = client.get(path).headers["content-security-policy"]
            assert "frame-ancestors https://ehr.example;" in policy
        assert "frame-ancestors 'none'" in client.get("/criteria").headers["content-security-policy"]
    with _client(launch_frame_origins=("https://ehr.example",)) as client:
        assert "frame-ancestors 'none'" in client.get("/").headers["content-security-policy"]


def test_an_answer_with_a_record_may_ask_nobody() -> None:
    with _client(launch_servers=SERVERS) as client:
        assert client.post("/view", content=SEPSIS).headers["content-security-policy"] == PAGE_POLICY


def test_the_addresses_of_a_launch_are_not_kept() -> None:
    """Their query holds a code or a launch that is used once."""
    with _client(launch_servers=SERVERS) as client:
        assert client.get("/launch/back?code=c").headers["cache-control"] == "no-store"
        assert client.get("/launch?iss=i").headers["referrer-policy"] == "no-referrer"
        assert client.get("/").headers["cache-control"] == "no-cache"


def test_what_the_page_is_told() -> None:
    with _client(launch_servers=SERVERS, launch_scopes=("patient/*.rs",)) as client:
        html = client.get("/").text
    told = _told(html)
    assert told["servers"] == [["https://ehr.example/fhir/R4", "wg-client"]]
    assert told["scopes"] == ["patient/*.rs"]
    assert told["searches"]["Observation"] == "Observation?patient={patient}&_count=200"
    assert told["required"] == ["Patient", "Observation"]
    assert told["shows_token"] is False
    assert "Sign in" in html
    assert "not connected to a record system" not in html


def test_without_it_the_page_says_what_it_can_do() -> None:
    with _client() as client:
        html = client.get("/").text
    assert _told(html) is None
    assert "not connected to a record system" in html
    assert "data-sign-in" not in html


def test_a_closed_service_without_it_says_that_nothing_can_be_opened() -> None:
    closed = {"smart_issuer": "https://login.example", "smart_jwks_url": "https://login.example/jwks"}
    with _client(**closed) as client:
        assert "nothing can be opened here" in client.get("/").text
    with _client(**closed, launch_servers=SERVERS) as client:
        html = client.get("/").text
    assert "nothing can be opened here" not in html
    assert _told(html)["shows_token"] is True


@pytest.mark.parametrize(
    "settings",
    [
        {"launch_servers": {"http://ehr.example/fhir": "c"}},
        {"launch_servers": {"ehr.example": "c"}},
        {"launch_servers": {"https://ehr.example; script-src *": "c"}},
        {"launch_servers": SERVERS, "launch_sign_in_origins": ("http://login.example",)},
        {"launch_servers": SERVERS, "launch_sign_in_origins": ("https://login.example/path",)},
        {"launch_servers": SERVERS, "launch_frame_origins": ("https://ehr.example; script-src *",)},
        {"launch_servers": SERVERS, "launch_sign_in_origins": ("https://login.example; script-src *",)},
        {"launch_servers": SERVERS, "cds_clients": {"https://ehr.example": "https://ehr.example/jwks"}},
    ],
    ids=[
        "http",
        "no-address",
        "words-for-a-server",
        "http-sign-in",
        "path",
        "words-for-a-frame",
        "words",
        "nobody-may-send",
    ],
)
def test_settings_that_would_not_hold_are_refused(settings: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Settings(**settings)


@pytest.mark.parametrize(
    ("server", "expected"),
    [
        ("https://ehr.example/fhir/R4", "https://wg.example/launch"),
        ("https://ehr.example/fhir/R4/", "https://wg.example/launch"),
        (None, "https://wg.example/launch"),
        ("https://other.example/fhir", None),
    ],
)
def test_a_card_leads_to_the_page_where_its_server_is_set_up(
    server: str | None, expected: str | None
) -> None:
    """CDS Hooks 2.0.1, "Link": type smart, to which the client adds `iss` and `launch`."""
    settings = Settings(launch_servers=SERVERS, base_url="https://wg.example/")
    assert launch_address(settings, server) == expected
    assert launch_address(Settings(), server) is None
