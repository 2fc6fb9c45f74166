"""The application, made from settings; nothing at module level."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI

from weatherglass import __version__
from weatherglass.api import (
    cds_routes,
    definition_routes,
    docs_routes,
    errors,
    fhir_routes,
    metrics,
    openapi,
    service_routes,
    web_routes,
)
from weatherglass.api.audit import make_auditor
from weatherglass.api.envelope import Envelope
from weatherglass.api.service import make_service
from weatherglass.api.settings import Settings
from weatherglass.api.tracing import NO_TRACES, OpenTelemetry
from weatherglass.api.watch import Watch
from weatherglass.memory import settle


def create_app(settings: Settings | None = None) -> FastAPI:
    """Make the application.

    Raises:
        PolicyError: The policy file cannot be used.
        AuditSinkError: The sink of the audit cannot be used.
        TracingNotInstalledError: Traces are switched on and the extra is not installed.
    """
    service = make_service(settings or Settings())
    counted = metrics.Metrics(version=__version__, rules=service.stamp.rules)
    tracing = OpenTelemetry() if service.settings.tracing else NO_TRACES
    auditor = make_auditor(service.settings, service.terms, lost=counted.unstored)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        settle()
        yield
        tracing.close()
        if auditor is not None:
            auditor.close()

    app = FastAPI(
        title="Weatherglass",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        lifespan=lifespan,
    )
    app.state.service = service
    app.state.settings = service.settings
    app.state.choices = service.choices
    app.state.metrics = counted
    app.include_router(fhir_routes.router)
    app.include_router(definition_routes.router)
    app.include_router(docs_routes.router)
    app.include_router(service_routes.router)
    app.include_router(web_routes.router)
    app.include_router(metrics.router)
    cds_routes.install(app, counted.registry)
    errors.install(app)
    openapi.describe(app)
    app.add_middleware(Envelope)
    # The last one added is the outermost.
    app.add_middleware(
        Watch,
        metrics=counted,
        tracing=tracing,
        auditor=auditor,
        send_seconds=service.settings.send_seconds,
    )
    return app
