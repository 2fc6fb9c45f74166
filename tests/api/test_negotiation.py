"""Content negotiation as FHIR R4 `http.html` asks for it, and RFC 9110 section 12.5."""

import gzip
import json

import pytest
from starlette.testclient import TestClient

from tests.api.answers import REVIEW, code_of, issue

BODY = json.dumps({"resourceType": "Bundle", "type": "collection"}).encode()

ACCEPTED = [
    *("application/fhir+json", "application/json", "text/json", "*/*", "application/*", ""),
    "application/fhir+json; fhirVersion=4.0",
    "application/fhir+json;fhirVersion=4.0;charset=utf-8",
    "application/xml, application/json;q=0.1",
    "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8",
    "APPLICATION/FHIR+JSON",
    "application/fhir+json; fhirVersion=5.0, application/fhir+json; fhirVersion=4.0",
    "application/fhir+xml;q=0.9, application/fhir+json;q=0.5",
]
NOT_ACCEPTED = [
    *("application/fhir+xml", "application/xml", "text/html", "text/turtle", "image/png", "nonsense"),
    "application/fhir+json; fhirVersion=4.3",
    "application/fhir+json; fhirVersion=5.0",
    "application/fhir+json;q=0",
    "*/*;q=0",
]


@pytest.mark.parametrize("accept", ACCEPTED)
def test_accept_that_we_can_serve(client: TestClient, accept: str) -> None:
    answer = client.post(REVIEW, content=BODY, headers={"Accept": accept})
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/fhir+json; charset=utf-8"


@pytest.mark.parametrize("accept", NOT_ACCEPTED)
def test_accept_that_we_cannot_serve(client: TestClient, accept: str) -> None:
    answer = client.post(REVIEW, content=BODY, headers={"Accept": accept})
    assert (answer.status_code, code_of(issue(answer)), issue(answer)["code"]) == (
        406,
        "wrong-format",
        "not-supported",
    )


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        *(("json", 200), ("application/json", 200), ("application/fhir%2Bjson", 200), ("text/json", 200)),
        *(("application/fhir+json", 200), ("xml", 406), ("application/fhir%2Bxml", 406), ("ttl", 406)),
        ("application/fhir%2Bjson;fhirVersion=4.0", 200),
        ("application/fhir%2Bjson;fhirVersion=5.0", 406),
    ],
)
def test_format_in_the_address_overrides_accept(client: TestClient, asked: str, status: int) -> None:
    """Also with a literal plus sign, which arrives as a space."""
    accept = "application/fhir+xml" if status == 200 else "application/fhir+json"
    answer = client.post(f"{REVIEW}?_format={asked}", content=BODY, headers={"Accept": accept})
    assert answer.status_code == status


@pytest.mark.parametrize(
    ("content_type", "status"),
    [
        *(("application/fhir+json", 200), ("application/json", 200), ("text/json", 200)),
        *(("application/fhir+json; charset=utf-8", 200), ("application/json;charset=UTF-8", 200)),
        *(("application/fhir+json; fhirVersion=4.0", 200), ('application/fhir+json; fhirVersion="4.0"', 200)),
        *(("application/fhir+json; fhirVersion=4.3", 415), ("application/fhir+json; fhirVersion=5.0", 415)),
        *(("application/fhir+xml", 415), ("application/xml", 415), ("text/plain", 415)),
        *(("application/x-www-form-urlencoded", 415), ("multipart/form-data; boundary=x", 415)),
        ("application/fhir+json; charset=iso-8859-1", 415),
    ],
)
def test_content_types(client: TestClient, content_type: str, status: int) -> None:
    answer = client.post(REVIEW, content=BODY, headers={"Content-Type": content_type})
    assert answer.status_code == status
    if status != 200:
        assert code_of(issue(answer)) == "wrong-format"


def test_pretty(client: TestClient) -> None:
    """Indented, and the same resource."""
    plain = client.post(REVIEW, content=BODY)
    pretty = client.post(f"{REVIEW}?_pretty=true", content=BODY)
    assert b"\n" not in plain.content
    assert pretty.content.count(b"\n") > 20
    assert pretty.json() == plain.json()
    assert client.post(f"{REVIEW}?_pretty=false", content=BODY).content == plain.content


@pytest.mark.parametrize(
    ("prefer", "applied"),
    [
        ("handling=strict", "handling=strict"),
        ("handling=lenient", "handling=lenient"),
        ("return=minimal; handling=strict", "handling=strict"),
        ('respond-async, handling="strict"', "handling=strict"),
        ("return=minimal", None),
        ("respond-async", None),
        ("handling=strictly", None),
    ],
)
def test_preferences(client: TestClient, prefer: str, applied: str | None) -> None:
    """RFC 7240: what is honoured is told back; what is not is ignored and the answer is whole."""
    answer = client.post(REVIEW, content=BODY, headers={"Prefer": prefer})
    assert answer.status_code == 200
    assert answer.headers.get("preference-applied") == applied
    assert answer.json()["resourceType"] == "Bundle"


class TestCompression:
    def test_gzip_in(self, client: TestClient, sepsis: bytes) -> None:
        """RFC 9110 8.4.1.3; several members are one body (RFC 1952, 2.2)."""
        whole = client.post(REVIEW, content=sepsis)
        for packed in (gzip.compress(sepsis), gzip.compress(sepsis[:999]) + gzip.compress(sepsis[999:])):
            answer = client.post(REVIEW, content=packed, headers={"Content-Encoding": "gzip"})
            assert answer.content == whole.content

    @pytest.mark.parametrize(
        ("packed", "encoding", "status"),
        [
            pytest.param(BODY, "gzip", 400, id="not-gzip"),
            pytest.param(gzip.compress(BODY)[:-9], "gzip", 400, id="cut-off"),
            pytest.param(b"", "gzip", 400, id="nothing"),
            pytest.param(gzip.compress(BODY) + b"more", "gzip", 400, id="more-than-gzip"),
            pytest.param(BODY, "br", 415, id="brotli"),
            pytest.param(gzip.compress(gzip.compress(BODY)), "gzip, gzip", 415, id="twice"),
            pytest.param(BODY, "identity", 200, id="identity"),
        ],
    )
    def test_encodings(self, client: TestClient, packed: bytes, encoding: str, status: int) -> None:
        answer = client.post(REVIEW, content=packed, headers={"Content-Encoding": encoding})
        assert answer.status_code == status

    @pytest.mark.parametrize(
        ("accepted", "packed"), [("gzip", True), ("br, gzip;q=0.5", True), ("gzip;q=0", False), ("br", False)]
    )
    def test_gzip_out(self, client: TestClient, sepsis: bytes, accepted: str, *, packed: bool) -> None:
        answer = client.post(REVIEW, content=sepsis, headers={"Accept-Encoding": accepted})
        assert (answer.headers.get("content-encoding") == "gzip") is packed
        assert answer.json()["resourceType"] == "Bundle"
