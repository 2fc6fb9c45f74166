"""What stands in an address: options that are not heeded are said, and GET answers HEAD.

FHIR R4 `http.html`, "Mime types and Prefer handling", and `search.html`, "Server Conformance";
RFC 9110, 9.1 and 9.3.2.
"""

import json
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW, code_of, issue
from weatherglass.api.serving import address_of

BODY = json.dumps({"resourceType": "Bundle", "type": "collection"}).encode()
STRICT = {"Prefer": "handling=strict"}


def _issues(client: TestClient, query: str) -> list[dict[str, Any]]:
    answer = client.post(f"{REVIEW}?{query}", content=BODY)
    assert answer.status_code == 200
    outcome = answer.json()["entry"][-1]["resource"]
    found: list[dict[str, Any]] = [one for one in outcome["issue"] if code_of(one) == "bad-parameter"]
    return found


@pytest.mark.parametrize("name", ["asof", "as_of", "AsOf", "as-of"])
def test_a_misspelled_option_is_refused_when_strict_and_said_otherwise(client: TestClient, name: str) -> None:
    query = f"{name}=2026-03-12T07:00:00Z"
    refused = client.post(f"{REVIEW}?{query}", content=BODY, headers=STRICT)
    assert (refused.status_code, code_of(issue(refused))) == (400, "bad-parameter")
    assert "did you mean asOf?" in issue(refused)["diagnostics"]
    (said,) = _issues(client, query)
    assert (said["severity"], said["expression"]) == ("warning", [name])


def test_a_name_that_is_like_none_gets_no_guess(client: TestClient) -> None:
    (said,) = _issues(client, "bogus=1")
    assert "did you mean" not in said["diagnostics"]


def test_what_is_no_name_is_not_echoed(client: TestClient) -> None:
    (said,) = _issues(client, "Perpetua%20Thistlecroft=1")
    assert "Perpetua" not in json.dumps(said)


def test_options_that_are_known_say_nothing(client: TestClient) -> None:
    assert _issues(client, "asOf=2026-03-12T07:00:00Z&_format=json&_pretty=true&detail=brief") == []


def test_an_option_beside_parameters_is_said_not_to_count(client: TestClient) -> None:
    record = {"resourceType": "Bundle", "type": "collection"}
    body = {"resourceType": "Parameters", "parameter": [{"name": "record", "resource": record}]}
    answer = client.post(f"{REVIEW}?asOf=2026-03-12T07:00:00Z", content=json.dumps(body))
    said = answer.json()["entry"][-1]["resource"]["issue"]
    assert any("as a parameter" in one["diagnostics"] for one in said)
    strict = client.post(f"{REVIEW}?asOf=2026-03-12T07:00:00Z", content=json.dumps(body), headers=STRICT)
    assert strict.status_code == 400


@pytest.mark.parametrize(
    "path",
    ["/", "/fhir/metadata", "/cds-services", "/criteria", "/health/live", "/health/ready", "/metrics"],
)
def test_head_is_get_without_its_content(client: TestClient, path: str) -> None:
    get, head = client.get(path), client.head(path)
    assert head.status_code == get.status_code == 200
    assert head.content == b""
    assert head.headers["content-type"] == get.headers["content-type"]


def test_head_of_what_is_only_posted_is_refused(client: TestClient) -> None:
    answer = client.head(REVIEW)
    assert (answer.status_code, answer.headers["allow"]) == (405, "POST")


def test_a_search_names_itself(client: TestClient) -> None:
    every = client.get("/fhir/OperationDefinition").json()
    assert every["link"] == [{"relation": "self", "url": "http://127.0.0.1:8080/fhir/OperationDefinition"}]
    one = every["entry"][0]["resource"]["url"]
    found = client.get("/fhir/OperationDefinition", params={"url": one}).json()
    assert found["total"] == 1
    assert found["link"][0]["url"].endswith("?url=" + one.replace(":", "%3A").replace("/", "%2F"))


def test_a_search_that_is_not_served_is_refused(client: TestClient) -> None:
    answer = client.get("/fhir/OperationDefinition", params={"name": "x"})
    assert (answer.status_code, code_of(issue(answer))) == (400, "bad-parameter")


@pytest.mark.parametrize(
    ("host", "address"),
    [
        ("127.0.0.1", "http://127.0.0.1:18471"),
        ("0.0.0.0", "http://127.0.0.1:18471"),  # noqa: S104 - what an operator may write.
        ("::", "http://[::1]:18471"),
        ("ward.example", "http://ward.example:18471"),
    ],
)
def test_the_published_address_is_the_one_listened_on(host: str, address: str) -> None:
    assert address_of(host, 18471) == address
