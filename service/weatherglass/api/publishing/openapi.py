"""The OpenAPI 3.1 description, completed with what a framework cannot know.

Bodies are FHIR resources, described as open objects: what a resource may hold is
FHIR's to say. Examples are the demo ward's, and their answers are computed by the
review itself, so that none is out of date.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Response
from fastapi.openapi.utils import get_openapi

from weatherglass.api.service import Service
from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.composition import write_handover
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.fhir.writing.outcome import write_outcome
from weatherglass.pipeline import review

EXAMPLE = Path(__file__).parents[1] / "static" / "examples" / "record.json"
JSON = "application/fhir+json"
NDJSON = "application/fhir+ndjson"

ABOUT = """A stateless service that reads FHIR R4 patient records and says who is getting worse, why,
and which medicines on the drug chart need a second look. Every number is traced to its input and to the
publication that it rests on. It is decision support, not a cleared medical device: a suggestion is never
an order.

Every failure under `/fhir` and `/cds-services` is an OperationOutcome; elsewhere it is
`application/problem+json`. Two answers come before any address is known and have no body: 431 to a head
of more than 64 KiB, and 408 to a head that does not arrive.
"""
#: What FHIR, CDS Hooks and the service itself say of bodies and failures, whatever the framework knows.
PARTS: dict[str, Any] = json.loads(Path(__file__).with_name("openapi.json").read_bytes())
_OF_BODIES = ("408", "412", "413", "415", "422", "429")
_LOCKED = ("401", "403", "503")


def _ref(name: str) -> dict[str, str]:
    return {"$ref": f"#/components/schemas/{name}"}


def _query(name: str, schema: dict[str, Any], about: str) -> dict[str, Any]:
    return {"name": name, "in": "query", "required": False, "schema": schema, "description": about}


_FORMAT = [
    _query("_format", {"enum": ["json", JSON, "application/json"]}, "Overrides Accept."),
    _query("_pretty", {"type": "boolean"}, "Indent the answer."),
]
_OPTIONS = [
    _query(
        "asOf", {"type": "string", "format": "date-time"}, "Moment of the review; the newest datum if absent."
    ),
    _query(
        "criteria", {"type": "array", "items": {"type": "string"}}, "What to report; everything if absent."
    ),
    _query("detail", {"enum": [each.value for each in Detail]}, "How much is written."),
    _query("members", {"type": "boolean"}, "Sub-scores as Observations of their own."),
    *_FORMAT,
    {
        "name": "Prefer",
        "in": "header",
        "required": False,
        "schema": {"enum": ["handling=strict", "handling=lenient"]},
        "description": "Strict refuses what is not valid FHIR R4. Other preferences are ignored.",
    },
]

_STATUS: dict[str, Any] = {"application/json": {"schema": PARTS["ready"]}}
#: What the route of readiness is declared with.
READINESS: dict[int | str, dict[str, Any]] = {
    200: {"description": "Requests can be answered.", "content": _STATUS},
    503: {"description": "The service cannot review its own example; the log says why.", "content": _STATUS},
}
#: What the routes of definitions are declared with.
DEFINITION: dict[str, Any] = {
    "response_class": Response,
    "responses": {
        200: {
            "description": "The resource.",
            "content": {JSON: {"schema": _ref("Resource")}},
            "headers": {"ETag": {"schema": {"type": "string"}, "description": "Changes with the resource."}},
        },
        304: {"description": "The resource is still the one that the caller holds."},
    },
    "openapi_extra": {
        "parameters": [
            *_FORMAT,
            {
                "name": "If-None-Match",
                "in": "header",
                "required": False,
                "schema": {"type": "string"},
                "description": "The ETag of what the caller holds.",
            },
        ]
    },
}
#: What the routes of operations are declared with.
OPERATION: dict[str, Any] = {
    "tags": ["review"],
    "response_class": Response,
    "responses": {
        200: {
            "description": "The answer.",
            "content": {JSON: {"schema": _ref("Bundle")}, NDJSON: {"schema": {"type": "string"}}},
        }
    },
    "openapi_extra": {
        "parameters": _OPTIONS,
        "requestBody": {
            "required": True,
            "content": {
                JSON: {"schema": {"oneOf": [_ref("Bundle"), _ref("Parameters")]}},
                NDJSON: {"schema": {"type": "string"}},
            },
        },
    },
}


def describe(app: FastAPI) -> None:
    """Let the application describe itself by this module."""

    def build() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = _description(app)
        return app.openapi_schema

    app.openapi = build  # type: ignore[method-assign] # The framework's own way to say it otherwise.


def _description(app: FastAPI) -> dict[str, Any]:
    found = get_openapi(
        title=app.title,
        version=app.version,
        openapi_version="3.1.0",
        summary="Who is getting worse, why, and what on the drug chart needs a second look.",
        description=ABOUT,
        routes=app.routes,
        tags=PARTS["tags"],
        license_info={"name": "Apache-2.0", "identifier": "Apache-2.0"},
    )
    schemas = found.setdefault("components", {}).setdefault("schemas", {})
    schemas.update(PARTS["schemas"])
    schemas.pop("HTTPValidationError", None)
    schemas.pop("ValidationError", None)
    for path, item in found["paths"].items():
        for operation in item.values():
            _add_failures(path, operation)
    _add_examples(found, app.state.service)
    return found


def _add_failures(path: str, operation: dict[str, Any]) -> None:
    """Name every status that the table of errors can lead to at this address."""
    content = (
        {JSON: {"schema": _ref("OperationOutcome")}}
        if path.startswith(("/fhir", "/cds-services"))
        else {"application/problem+json": {"schema": _ref("Problem")}}
    )
    responses = operation["responses"]
    # The framework's own 422 is never sent: an address that is not valid is a 400 here.
    responses.pop("422", None)
    for status, about in PARTS["failures"].items():
        if _may_answer(status, path, operation):
            responses.setdefault(status, {"description": about, "content": content})


def _may_answer(status: str, path: str, operation: dict[str, Any]) -> bool:
    at_cds = path.startswith("/cds-services")
    if status in _OF_BODIES and "requestBody" not in operation:
        return False
    if status in _LOCKED and not at_cds and "requestBody" not in operation:
        return False
    if status == "412":
        return at_cds and not path.endswith("/feedback")
    return status != "406" or path.startswith("/fhir")


def _add_examples(found: dict[str, Any], service: Service) -> None:
    found["components"]["examples"] = _examples(service)
    for code, answer in (("review-deterioration", "collection"), ("handover-document", "document")):
        operation = found["paths"][f"/fhir/${code}"]["post"]
        operation["requestBody"]["content"][JSON]["examples"] = _shown("record", "parameters")
        operation["responses"]["200"]["content"][JSON]["examples"] = _shown(answer)
        refusal = operation["responses"]["400"]["content"]
        operation["responses"]["400"]["content"] = {
            JSON: {**refusal[JSON], "examples": _shown("refused")},
        }


def _shown(*names: str) -> dict[str, Any]:
    return {name: {"$ref": f"#/components/examples/{name}"} for name in names}


@cache
def _record() -> bytes:
    return EXAMPLE.read_bytes()


def _examples(service: Service) -> dict[str, Any]:
    """Return the demo request, and what this very service answers to it."""
    answer = review(_record(), choices=service.choices)
    refused = Issue(
        Severity.ERROR,
        IssueKey.WRONG_TYPE,
        "Bundle.entry[3].resource.valueQuantity.value",
        "Expected a JSON number; not used.",
    )
    record = json.loads(_record())
    parameters = {
        "resourceType": "Parameters",
        "parameter": [
            {"name": "record", "resource": record},
            {"name": "asOf", "valueDateTime": "2026-03-12T07:30:00+00:00"},
            {"name": "criteria", "valueCode": "news2"},
            {"name": "detail", "valueCode": "brief"},
        ],
    }
    handover = encode(write_handover(answer.reviews[0], answer.issues, service.stamp))
    outcome = encode(write_outcome((refused,), service.terms))
    return {
        "record": {"summary": "A Bundle alone", "value": record},
        "parameters": {"summary": "Parameters with options", "value": parameters},
        "collection": {"summary": "The review", "value": json.loads(answer.collection(service.stamp))},
        "document": {"summary": "The handover", "value": json.loads(handover)},
        "refused": {"summary": "What could not be read, and where", "value": json.loads(outcome)},
    }
