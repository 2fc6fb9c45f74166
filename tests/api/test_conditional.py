"""Asking again for what has not changed (RFC 9110, section 13), and posting where nothing is stored."""

import json

import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW, issue
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings

PUBLISHED = ["/fhir/metadata", "/fhir/CodeSystem", "/fhir/CodeSystem/urgency"]


@pytest.mark.parametrize("path", PUBLISHED)
class TestUnchanged:
    def test_who_has_it_is_told_so(self, client: TestClient, path: str) -> None:
        """304 without a body, with the tag and what the answer depends on."""
        first = client.get(path)
        tag = first.headers["etag"]
        assert tag.startswith('W/"')
        assert first.headers["cache-control"] == "no-cache"
        for held in (tag, tag.removeprefix("W/"), f'"other", {tag}', "*"):
            again = client.get(path, headers={"If-None-Match": held})
            assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag), held
            assert again.headers["vary"] == first.headers["vary"]

    def test_who_has_another_gets_it(self, client: TestClient, path: str) -> None:
        answer = client.get(path, headers={"If-None-Match": 'W/"0123456789abcdef01234567"'})
        assert (answer.status_code, answer.json()) == (200, client.get(path).json())

    def test_packed_or_indented_it_is_the_same_resource(self, client: TestClient, path: str) -> None:
        plain = client.get(path, headers={"Accept-Encoding": "identity"})
        assert "content-encoding" not in plain.headers
        for how in ({"headers": {"Accept-Encoding": "gzip"}}, {"params": {"_pretty": "true"}}):
            assert client.get(path, **how).headers["etag"] == plain.headers["etag"]


def test_another_configuration_has_another_tag(client: TestClient) -> None:
    """What is published names the address that the service is reached at."""
    with TestClient(create_app(Settings(base_url="https://ward.example"))) as elsewhere:
        for path in PUBLISHED[:2]:
            assert elsewhere.get(path).headers["etag"] != client.get(path).headers["etag"]


def test_a_review_is_never_kept(client: TestClient, sepsis: bytes) -> None:
    answer = client.post(REVIEW, content=sepsis, headers={"If-None-Match": "*"})
    assert (answer.status_code, answer.headers["cache-control"]) == (200, "no-store")
    assert "etag" not in answer.headers


@pytest.mark.parametrize("kind", ["batch", "transaction", "collection"])
@pytest.mark.parametrize("path", ["/fhir", "/fhir/"])
def test_a_bundle_for_a_store_is_told_where_to_go(client: TestClient, path: str, kind: str) -> None:
    """An OperationOutcome that says what this is not, and names the operation."""
    bundle = {"resourceType": "Bundle", "type": kind, "entry": []}
    answer = client.post(path, content=json.dumps(bundle))
    assert (answer.status_code, answer.headers["content-type"]) == (
        404,
        "application/fhir+json; charset=utf-8",
    )
    said = issue(answer)["diagnostics"]
    assert "no batch or transaction" in said
    assert REVIEW in said
    assert REVIEW not in issue(client.get("/fhir"))["diagnostics"]
