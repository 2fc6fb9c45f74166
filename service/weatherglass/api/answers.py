"""The two bodies the FHIR door answers with: a resource, or an OperationOutcome."""

from collections.abc import Sequence
from typing import Any

from fastapi import Response

from weatherglass.fhir.issues import Issue
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.outcome import write_outcome
from weatherglass.fhir.writing.terms import Terms

FHIR_JSON = "application/fhir+json; charset=utf-8"
_HEADERS = {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}


def fhir_response(resource: Any, status: int = 200) -> Response:
    """Answer with a resource, given as a value or as ready bytes."""
    body = resource if isinstance(resource, bytes) else encode(resource)
    return Response(body, status, dict(_HEADERS), media_type=FHIR_JSON)


def outcome_response(issues: Sequence[Issue], status: int, code_base: str) -> Response:
    """Answer with an OperationOutcome."""
    return fhir_response(write_outcome(issues, Terms(code_base)), status)
