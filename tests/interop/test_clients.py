"""Clients that others wrote drive the service as it runs."""

import json
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import fhirpy
import httpx
import pytest
import requests
from fhirclient import client as fhirclient_client
from fhirclient.models.bundle import Bundle
from fhirclient.models.capabilitystatement import CapabilityStatement
from fhirclient.models.operationoutcome import OperationOutcome
from fhirpy.base.exceptions import OperationOutcome as FhirpyOutcome

from tests.running import PLAIN

pytestmark = pytest.mark.slow

#: It stands where node_modules is found.
FHIR_KIT = Path(__file__).parents[1] / "conformance" / "fhir_kit.mjs"
REVIEW = "$review-deterioration"


class TestHttpx:
    """PyPI httpx: one connection for everything, HTTP keep-alive, gzip by itself."""

    def test_bundle_parameters_and_lines(
        self, live: str, record: dict[str, Any], parameters: dict[str, Any]
    ) -> None:
        with httpx.Client(base_url=f"{live}/fhir", trust_env=False, verify=PLAIN) as client:
            whole = client.post(f"/{REVIEW}", json=record)
            assert whole.status_code == 200
            assert whole.headers["content-encoding"] == "gzip"
            brief = client.post(f"/{REVIEW}", json=parameters)
            assert 0 < len(brief.json()["entry"]) < len(whole.json()["entry"])
            lines = "\n".join(json.dumps(entry["resource"]) for entry in record["entry"])
            with client.stream(
                "POST", f"/{REVIEW}", content=lines, headers={"Content-Type": "application/fhir+ndjson"}
            ) as streamed:
                got = [json.loads(line) for line in streamed.iter_lines()]
            assert (got[0]["resourceType"], got[-1]["resourceType"]) == ("Device", "OperationOutcome")

    def test_a_body_in_chunks(self, live: str, record: dict[str, Any]) -> None:
        """Without Content-Length."""
        body = json.dumps(record).encode()
        chunks = (body[n : n + 4096] for n in range(0, len(body), 4096))
        answer = httpx.post(
            f"{live}/fhir/{REVIEW}",
            content=chunks,
            headers={"Content-Type": "application/fhir+json"},
            trust_env=False,
            verify=PLAIN,
        )
        assert answer.status_code == 200
        assert answer.request.headers["transfer-encoding"] == "chunked"


class TestFhirclient:
    """PyPI fhirclient: R4 models that refuse what is not R4."""

    @pytest.fixture
    def server(self, live: str) -> Iterator[Any]:
        """Its server object; it leaves its connections open."""
        smart = fhirclient_client.FHIRClient(
            settings={"app_id": "weatherglass-tests", "api_base": f"{live}/fhir"}
        )
        yield smart.server
        smart.server.session.close()

    def test_capabilities(self, server: Any) -> None:
        statement = CapabilityStatement.read_from("metadata", server)
        assert [o.name for o in statement.rest[0].operation] == ["review-deterioration", "handover-document"]

    @pytest.mark.parametrize("operation", [REVIEW, "$handover-document"])
    def test_operations(self, server: Any, record: dict[str, Any], operation: str) -> None:
        """Every resource of the answer becomes an object of its model and back without loss."""
        answered = server.post_json(operation, record).json()
        bundle = Bundle(answered)
        assert bundle.as_json() == answered
        assert {entry.resource.resource_type for entry in bundle.entry} > {"Observation", "Device"}

    def test_refusals(self, server: Any) -> None:
        with pytest.raises(requests.HTTPError) as refused:
            server.post_json(REVIEW, {"resourceType": "Patient"})
        assert refused.value.response is not None
        outcome = OperationOutcome(refused.value.response.json())
        assert outcome.issue[0].code == "structure"


class TestFhirpy:
    """PyPI fhirpy: sends application/json only."""

    @pytest.fixture
    def client(self, live: str) -> Any:
        """Its client."""
        return fhirpy.SyncFHIRClient(f"{live}/fhir")

    def test_operations(self, client: Any, record: dict[str, Any]) -> None:
        review = client.execute(REVIEW, method="post", data=record)
        assert review["resourceType"] == "Bundle"
        brief = client.execute(REVIEW, method="post", data=record, params={"detail": "brief"})
        assert len(brief["entry"]) < len(review["entry"])
        assert client.execute("$handover-document", method="post", data=record)["type"] == "document"

    def test_definitions(self, client: Any) -> None:
        assert client.execute("metadata", method="get")["fhirVersion"] == "4.0.1"
        found = client.resources("OperationDefinition").fetch()
        assert {each["code"] for each in found} == {"review-deterioration", "handover-document"}

    def test_refusals(self, client: Any) -> None:
        with pytest.raises(FhirpyOutcome) as refused:
            client.execute(REVIEW, method="post", data={"resourceType": "Patient"})
        assert refused.value.resource["issue"][0]["code"] == "structure"


@pytest.mark.node
def test_fhir_kit_client(live: str, tmp_path: Path, record: dict[str, Any]) -> None:
    """What npm has, fhir-kit-client: metadata, operations, read, search, and refusals with their outcomes."""
    sent = tmp_path / "record.json"
    sent.write_text(json.dumps(record), "utf-8")
    ran = subprocess.run(
        ["node", str(FHIR_KIT), live, str(sent)],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    said = json.loads(ran.stdout)
    assert said["fhirVersion"] == "4.0.1"
    assert said["operations"] == ["review-deterioration", "handover-document"]
    assert said["review"][0] == "collection"
    assert said["review"][1] > 5
    assert said["handover"] == "document"
    assert said["definition"] == "review-deterioration"
    assert said["found"] == ["score"]
    assert said["wrong"] == [400, "OperationOutcome", "structure"]
    assert said["missing"] == [404, "OperationOutcome", "not-found"]
    assert said["transaction"][1] == "OperationOutcome"
