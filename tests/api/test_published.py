"""What the service publishes about itself is valid, whole, and what the code does."""

import importlib.util
import json
import re
import subprocess
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from tests.api.answers import HANDOVER, REVIEW
from tests.conformance.judges import Judges
from tests.conformance.output_cases import STATES, findings, review
from weatherglass.api.app import create_app
from weatherglass.api.publishing.published import files, published
from weatherglass.api.requests.errors import STATUS
from weatherglass.api.requests.operation_input import _OPTIONS
from weatherglass.api.settings import Settings
from weatherglass.fhir.writing.bundle import encode, write_collection
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.model.findings import Kind
from weatherglass.stamp import stamp

ROOT = Path(__file__).parents[2]
CODES = "urn:weatherglass:codes:"
SETTINGS = Settings(_env_file=None)
RESOURCES = [
    pytest.param(resource, id=f"{kind}-{name}")
    for kind, named in published(SETTINGS.code_base, SETTINGS.base_url).items()
    for name, resource in named.items()
]


def _built_requests() -> ModuleType:
    spec = importlib.util.spec_from_file_location("build_requests", ROOT / "fixtures" / "build_requests.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


# Marked slow, so that a change of a criterion need not be published before it can be tried.
@pytest.mark.slow
def test_the_files_are_what_the_code_says() -> None:
    """`make openapi` writes openapi/; here is why it has to be run."""
    wanted = files(SETTINGS)
    there = {path.name: path.read_bytes() for path in (ROOT / "openapi").glob("*.json")}
    assert sorted(there) == sorted(wanted)
    assert [name for name, content in wanted.items() if there[name] != content] == []


@pytest.mark.slow
def test_the_kept_requests_and_answers_are_what_the_service_says() -> None:
    """`make openapi` writes fixtures/requests/ as well."""
    module = _built_requests()
    wanted: dict[Path, bytes] = module.files()
    assert [
        path for path, content in wanted.items() if not path.exists() or path.read_bytes() != content
    ] == []
    kept = set((ROOT / "fixtures/requests/sent").iterdir()) | set(
        (ROOT / "fixtures/requests/answered").iterdir()
    )
    assert kept <= set(wanted)


def test_the_example_is_of_the_demo_ward() -> None:
    """Every resource of the example stands in the demo ward in the same words."""
    module = _built_requests()
    whole = json.loads((ROOT / "fixtures/bundles/04-aki-nephrotoxics.json").read_text("utf-8"))["entry"]
    shown = json.loads(module.EXAMPLE.read_text("utf-8"))["entry"]
    assert 20 < len(shown) < len(whole)
    assert all(entry in whole for entry in shown)


@pytest.mark.parametrize("resource", RESOURCES)
def test_definitions_are_valid(resource: dict[str, Any], judges: Judges) -> None:
    """Every judge accepts each definition."""
    judges.accept(resource)


@pytest.mark.parametrize("resource", RESOURCES)
def test_definitions_are_read_at_their_address(client: TestClient, resource: dict[str, Any]) -> None:
    kind, name = resource["resourceType"], resource["id"]
    assert client.get(f"/fhir/{kind}/{name}").json() == resource
    found = client.get(f"/fhir/{kind}", params={"url": resource["url"]}).json()
    assert (found["type"], found["total"]) == ("searchset", 1)
    assert found["entry"][0]["resource"] == resource


@pytest.mark.parametrize(
    "path", ["/fhir/CodeSystem/nothing", "/fhir/OperationDefinition/$x", "/fhir/ValueSet/"]
)
def test_what_is_not_published(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == (200 if path.endswith("ValueSet/") else 404)


class TestCapabilityStatement:
    @pytest.fixture
    def statement(self, client: TestClient) -> dict[str, Any]:
        """What the service says that it can do."""
        answer = client.get("/fhir/metadata")
        assert answer.headers["content-type"] == "application/fhir+json; charset=utf-8"
        found: dict[str, Any] = answer.json()
        return found

    def test_is_valid(self, statement: dict[str, Any], judges: Judges) -> None:
        judges.accept(statement)
        assert (statement["fhirVersion"], statement["kind"]) == ("4.0.1", "instance")

    def test_lists_exactly_the_routed_operations(self, client: TestClient, statement: dict[str, Any]) -> None:
        said = {f"/fhir/${each['name']}" for each in statement["rest"][0]["operation"]}
        assert said == {path for path in _paths(client) if "$" in path} == {REVIEW, HANDOVER}

    def test_every_canonical_leads_to_a_definition(
        self, client: TestClient, statement: dict[str, Any]
    ) -> None:
        for each in statement["rest"][0]["operation"]:
            path = each["definition"].removeprefix(SETTINGS.base_url)
            assert client.get(path).json()["url"] == each["definition"]

    def test_lists_the_types_that_can_be_read(self, client: TestClient, statement: dict[str, Any]) -> None:
        for each in statement["rest"][0]["resource"]:
            assert client.get(f"/fhir/{each['type']}").json()["total"] > 0


def _paths(client: TestClient) -> set[str]:
    app = client.app
    assert isinstance(app, FastAPI)
    return set(app.openapi()["paths"])


def test_parameters_of_the_definition_are_those_of_the_code() -> None:
    for definition in published(SETTINGS.code_base, SETTINGS.base_url)["OperationDefinition"].values():
        given = {p["name"] for p in definition["parameter"] if p["use"] == "in"}
        assert given == {"record", *_OPTIONS}
        bound = {p["name"]: p["binding"]["valueSet"] for p in definition["parameter"] if "binding" in p}
        assert set(bound) == {"criteria", "detail"}


def _systems() -> dict[str, dict[str, Any]]:
    return {
        each["url"]: each for each in published(SETTINGS.code_base, SETTINGS.base_url)["CodeSystem"].values()
    }


def _own_codes(node: Any) -> set[tuple[str, str]]:
    if isinstance(node, list):
        return set().union(*map(_own_codes, node))
    if not isinstance(node, dict):
        return set()
    found = set().union(*map(_own_codes, node.values()))
    if str(node.get("system", "")).startswith(CODES):
        found.add((node["system"], node["code"]))
    if str(node.get("url", "")).startswith("urn:weatherglass:extension:") and "valueCode" in node:
        name = node["url"].removeprefix("urn:weatherglass:extension:")
        found.add((CODES + name, node["valueCode"]))
    return found


def test_every_code_of_the_ward_is_published(client: TestClient, ward: dict[str, bytes]) -> None:
    """Whatever stands in a complete system of ours is listed there."""
    systems = _systems()
    listed = {(url, c["code"]) for url, each in systems.items() for c in each["concept"]}
    used: set[tuple[str, str]] = set()
    for one in ward.values():
        for path in (f"{REVIEW}?detail=history&members=true", REVIEW, HANDOVER):
            used |= _own_codes(client.post(path, content=one).json())
    assert {system for system, _ in used} <= set(systems)
    whole = {url for url, each in systems.items() if each["content"] == "complete"}
    assert {(s, c) for s, c in used if s in whole} <= listed
    assert len(used) > 60


def test_words_of_a_code_are_those_of_its_system(client: TestClient, ward: dict[str, bytes]) -> None:
    """A display, where there is one, is that of the published system."""
    listed = {(url, c["code"]): c["display"] for url, each in _systems().items() for c in each["concept"]}
    odd = set()
    for one in ward.values():
        for path in (f"{REVIEW}?members=true", HANDOVER):
            for coding in _codings(client.post(path, content=one).json()):
                shown = coding.get("display")
                if shown is not None and listed.get((coding["system"], coding["code"])) != shown:
                    odd.add((coding["system"], coding["code"], shown))
    assert odd == set()


def _codings(node: Any) -> list[dict[str, Any]]:
    if isinstance(node, list):
        return [coding for item in node for coding in _codings(item)]
    if not isinstance(node, dict):
        return []
    own = [node] if str(node.get("system", "")).startswith(CODES) and "code" in node else []
    return own + _codings(list(node.values()))


def test_every_kind_of_finding_is_published() -> None:
    """Also those that the demo ward does not show."""
    systems = _systems()
    kinds = {c["code"] for c in systems[f"{CODES}finding-kind"]["concept"]}
    for state in STATES:
        found = [each for kind in Kind for each in findings(kind, state)]
        emitted = json.loads(
            encode(write_collection([review(found, state)], (), stamp(), detail=Detail.FULL))
        )
        assert {c for s, c in _own_codes(emitted) if s.endswith("finding-kind")} <= kinds
    assert kinds == {kind.value for kind in Kind}


class TestOpenApi:
    @pytest.fixture
    def description(self, client: TestClient) -> dict[str, Any]:
        """The description as it is served."""
        found: dict[str, Any] = client.get("/openapi.json").json()
        return found

    def test_is_version_3_1(self, description: dict[str, Any]) -> None:
        assert description["openapi"] == "3.1.0"

    def test_every_reference_leads_somewhere(self, description: dict[str, Any]) -> None:
        text = json.dumps(description)
        references = set(re.findall(r'"\$ref": "#/components/([^"]+)"', text))
        assert references
        for reference in references:
            kind, name = reference.split("/")
            assert name in description["components"][kind], reference

    def test_the_contract_is_described(self, description: dict[str, Any]) -> None:
        """The addresses that others rely on."""
        assert {REVIEW, HANDOVER, "/fhir/metadata", "/fhir/CodeSystem/{name}"} <= set(description["paths"])
        assert {"/criteria", "/criteria/{name}", "/health/live", "/health/ready"} <= set(description["paths"])

    def test_operations_have_real_examples(self, client: TestClient, description: dict[str, Any]) -> None:
        """What the example sends has the answer that the example shows."""
        examples = description["components"]["examples"]
        sent = json.dumps(examples["record"]["value"])
        assert client.post(REVIEW, content=sent).json() == examples["collection"]["value"]
        assert client.post(HANDOVER, content=sent).json() == examples["document"]["value"]
        assert client.post(REVIEW, json=examples["parameters"]["value"]).status_code == 200

    def test_every_status_of_the_table_of_errors_is_described(self, description: dict[str, Any]) -> None:
        """What brings a body may be too slow, too large, of a wrong kind, or one too many."""
        for path, item in description["paths"].items():
            for operation in item.values():
                described = {int(status) for status in operation["responses"]}
                if "requestBody" in operation:
                    wanted = {int(status) for status in STATUS.values()}
                    wanted -= set() if path.startswith("/fhir") else {406}
                    wanted -= set() if path == "/cds-services/{service_id}" else {412}
                elif path.startswith("/cds-services"):
                    wanted = {401, 403, 503}
                else:
                    wanted = {404, 405, 500}
                assert wanted <= described, (path, wanted - described)

    def test_a_closed_door_of_cds_hooks_answers_as_described(self, description: dict[str, Any]) -> None:
        """Discovery has no body and may still be refused: nobody is set up to come in."""
        locked = Settings(smart_jwks_url="https://keys.example/jwks", smart_issuer="https://keys.example")
        with TestClient(create_app(locked)) as client:
            assert client.get("/cds-services").status_code == 403
        assert "403" in description["paths"]["/cds-services"]["get"]["responses"]

    def test_failures_under_fhir_are_operation_outcomes(self, description: dict[str, Any]) -> None:
        for path, item in description["paths"].items():
            for operation in item.values():
                for status, answer in operation["responses"].items():
                    if path.startswith("/fhir") and int(status) >= 400:
                        schema = answer["content"]["application/fhir+json"]["schema"]
                        assert schema == {"$ref": "#/components/schemas/OperationOutcome"}


class TestDocumentation:
    def test_the_page_loads_from_here_only(self, client: TestClient) -> None:
        """No address outside in the page, and a policy that would not let one through."""
        page = client.get("/docs")
        assert page.headers["content-type"].startswith("text/html")
        policy = page.headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert "http" not in page.text + policy
        for asset in re.findall(r'(?:src|href)="(/docs/[^"]+)"', page.text):
            answer = client.get(asset)
            assert answer.status_code == 200
            assert answer.headers["x-content-type-options"] == "nosniff"

    @pytest.mark.parametrize("name", ["LICENSE", "README.md", "..%2Fapp.py", "nothing.js"])
    def test_other_files_are_not_served(self, client: TestClient, name: str) -> None:
        assert client.get(f"/docs/{name}").status_code == 404

    def test_the_vendored_files_keep_their_licence(self) -> None:
        folder = ROOT / "service/weatherglass/api/static/docs"
        assert "Apache License" in (folder / "LICENSE").read_text("utf-8")
        assert {"NOTICE", "swagger-ui-bundle.js.LICENSE.txt"} <= {p.name for p in folder.iterdir()}


@pytest.mark.slow
def test_curl_replays_the_requests(live: str) -> None:
    """What an integrator copies works with curl, byte for byte."""
    ran = subprocess.run(
        [ROOT / "fixtures/requests/replay.sh", live], capture_output=True, text=True, check=False, timeout=60
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "12 sent, 0 different" in ran.stdout
