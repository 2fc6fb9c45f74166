"""The application, made from settings; nothing at module level."""

from fastapi import FastAPI, Request, Response
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from weatherglass import __version__
from weatherglass.api import fhir_routes, service_routes
from weatherglass.api.answers import outcome_response
from weatherglass.api.settings import Settings
from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.policy import load_policy


def create_app(settings: Settings | None = None) -> FastAPI:
    """Make the application.

    Raises:
        PolicyError: The policy file cannot be used.
    """
    chosen = settings or Settings()
    app = FastAPI(title="Weatherglass", version=__version__, docs_url=None, redoc_url=None)
    app.state.settings = chosen
    app.state.choices = load_policy(chosen.policy_file).choices
    app.include_router(fhir_routes.router)
    app.include_router(service_routes.router)
    app.add_exception_handler(HTTPException, _http_error)
    return app


async def _http_error(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    if request.url.path.startswith("/fhir"):
        issue = Issue(Severity.ERROR, IssueKey.BAD_PARAMETER, "", f"HTTP {status} at this address.")
        return outcome_response((issue,), status, request.app.state.settings.code_base)
    problem = {"type": "about:blank", "title": f"HTTP {status}", "status": status}
    return JSONResponse(problem, status, media_type="application/problem+json")
