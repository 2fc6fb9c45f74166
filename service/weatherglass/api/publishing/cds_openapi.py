"""How the CDS Hooks routes are described in OpenAPI; the whole schemas are in openapi/cds-hooks."""

from typing import Any

from fastapi import Response

_JSON = "application/json"
_CARDS: dict[str, Any] = {
    "type": "object",
    "description": "A CDS Hooks 2.0.1 response.",
    "required": ["cards"],
    "properties": {
        "cards": {
            "type": "array",
            "maxItems": 5,
            "items": {
                "type": "object",
                "required": ["summary", "indicator", "source"],
                "properties": {
                    "summary": {"type": "string", "maxLength": 139},
                    "indicator": {"enum": ["info", "warning", "critical"]},
                    "source": {"type": "object", "required": ["label"]},
                },
            },
        }
    },
}
_CALL: dict[str, Any] = {
    "type": "object",
    "description": "A CDS Hooks 2.0.1 request.",
    "required": ["hook", "hookInstance", "context"],
    "properties": {
        "hook": {"enum": ["patient-view", "order-select", "order-sign"]},
        "hookInstance": {"type": "string", "format": "uuid"},
        "context": {
            "type": "object",
            "required": ["userId", "patientId"],
            "properties": {"userId": {"type": "string"}, "patientId": {"type": "string"}},
        },
        "prefetch": {"type": "object"},
    },
}
_HEARD: dict[str, Any] = {
    "type": "object",
    "description": "CDS Hooks 2.0.1 feedback.",
    "required": ["feedback"],
    "properties": {"feedback": {"type": "array", "items": {"type": "object"}}},
}
_SERVICES: dict[str, Any] = {
    "type": "object",
    "description": "A CDS Hooks 2.0.1 discovery document.",
    "required": ["services"],
    "properties": {
        "services": {"type": "array", "items": {"type": "object", "required": ["hook", "id", "description"]}}
    },
}


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
DISCOVERY = _declared(_SERVICES, "The services.")
CALL = _declared(_CARDS, "The cards.", _CALL)
FEEDBACK = _declared({"type": "object"}, "It was counted.", _HEARD)
CONFIGURATION = _declared(
    {"type": "object", "required": ["token_endpoint", "capabilities"]}, "How to get an access token."
)
