"""How the CDS Hooks routes are described in OpenAPI; the whole schemas are in openapi/cds-hooks."""

from typing import Any

from fastapi import Response

from weatherglass.api.publishing.openapi import PARTS

_JSON = "application/json"


def _declared(answer: dict[str, Any], about: str, body: dict[str, Any] | None = None) -> dict[str, Any]:
    declared: dict[str, Any] = {
        "response_class": Response,
        "responses": {200: {"description": about, "content": {_JSON: {"schema": answer}}}},
    }
    if body is not None:
        content = {_JSON: {"schema": body}}
        declared["openapi_extra"] = {"requestBody": {"required": True, "content": content}}
    return declared


#: What the routes are declared with.
DISCOVERY = _declared(PARTS["services"], "The services.")
CALL = _declared(PARTS["cards"], "The cards.", PARTS["call"])
FEEDBACK = _declared({"type": "object"}, "It was counted.", PARTS["feedback"])
CONFIGURATION = _declared(
    {"type": "object", "required": ["token_endpoint", "capabilities"]}, "How to get an access token."
)
