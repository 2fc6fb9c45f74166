"""The application, made from settings; nothing at module level."""

from fastapi import FastAPI

from weatherglass import __version__
from weatherglass.api import (
    definition_routes,
    docs_routes,
    errors,
    fhir_routes,
    openapi,
    service_routes,
    web_routes,
)
from weatherglass.api.envelope import Envelope
from weatherglass.api.service import make_service
from weatherglass.api.settings import Settings


def create_app(settings: Settings | None = None) -> FastAPI:
    """Make the application.

    Raises:
        PolicyError: The policy file cannot be used.
    """
    service = make_service(settings or Settings())
    app = FastAPI(
        title="Weatherglass", version=__version__, docs_url=None, redoc_url=None, redirect_slashes=False
    )
    app.state.service = service
    app.state.settings = service.settings
    app.state.choices = service.choices
    app.include_router(fhir_routes.router)
    app.include_router(definition_routes.router)
    app.include_router(docs_routes.router)
    app.include_router(service_routes.router)
    app.include_router(web_routes.router)
    errors.install(app)
    openapi.describe(app)
    app.add_middleware(Envelope)
    return app
