"""`.well-known/smart-configuration`: how to get a token, when there is somebody to get it from."""

from fastapi import APIRouter, Request, Response
from starlette.exceptions import HTTPException

from weatherglass.api.publishing.cds_openapi import CONFIGURATION
from weatherglass.api.settings import Settings
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.frame.terms import Json

router = APIRouter(prefix="/fhir/.well-known", tags=["definitions"])


@router.get("/smart-configuration", summary="How to get an access token", **CONFIGURATION)
async def smart_configuration(request: Request) -> Response:
    """Name the authorization server; not found when none is set up."""
    described = configuration_of(request.app.state.service.settings)
    if described is None:
        raise HTTPException(404)
    return Response(encode(described), media_type="application/json")


def configuration_of(settings: Settings) -> Json | None:
    """Return the SMART configuration; None when there is nobody to get a token from."""
    if settings.smart_token_endpoint is None:
        return None
    described: Json = {
        "token_endpoint": settings.smart_token_endpoint,
        "token_endpoint_auth_methods_supported": ["private_key_jwt"],
        "token_endpoint_auth_signing_alg_values_supported": ["RS384", "ES384"],
        "grant_types_supported": ["client_credentials"],
        "scopes_supported": list(settings.smart_scopes),
        "capabilities": ["client-confidential-asymmetric", "permission-v1", "permission-v2"],
    }
    if settings.smart_authorization_endpoint is not None:
        described["authorization_endpoint"] = settings.smart_authorization_endpoint
        described["grant_types_supported"].append("authorization_code")
        described["code_challenge_methods_supported"] = ["S256"]
        described["capabilities"] += ["launch-ehr", "context-ehr-patient", "permission-patient"]
    if settings.smart_jwks_url is not None:
        described["jwks_uri"] = settings.smart_jwks_url
    if settings.smart_issuer is not None:
        described["issuer"] = settings.smart_issuer
    if settings.smart_introspection_url is not None:
        described["introspection_endpoint"] = settings.smart_introspection_url
    return described
