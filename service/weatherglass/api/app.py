"""The application, made from settings; nothing at module level."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, nullcontext
from datetime import datetime

from fastapi import FastAPI
from starlette.middleware.cors import CORSMiddleware

from weatherglass import __version__
from weatherglass.api.access.authentication import Authentication
from weatherglass.api.publishing import openapi
from weatherglass.api.requests import errors
from weatherglass.api.requests.envelope import Envelope
from weatherglass.api.routes import cds as cds_routes
from weatherglass.api.routes import definitions as definition_routes
from weatherglass.api.routes import docs as docs_routes
from weatherglass.api.routes import fhir as fhir_routes
from weatherglass.api.routes import notifications as notification_routes
from weatherglass.api.routes import service as service_routes
from weatherglass.api.routes import smart as smart_routes
from weatherglass.api.routes import web as web_routes
from weatherglass.api.service import make_service
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry import metrics
from weatherglass.api.telemetry.audit import make_auditor
from weatherglass.api.telemetry.middleware import Telemetry
from weatherglass.api.telemetry.tracing import Tracing, exported
from weatherglass.api.warm_up import warm_up
from weatherglass.memory import settle


def create_app(settings: Settings | None = None) -> FastAPI:
    """Make the application.

    Raises:
        PolicyError: The policy file cannot be used.
        SignInError: A file of a key or a secret cannot be used.
        AuditSinkError: The sink of the audit cannot be used.
        TracingNotInstalledError: Traces are switched on and the extra is not installed.
    """
    service = make_service(settings or Settings())
    counted = metrics.Metrics(version=__version__, rules=service.stamp.rules)
    tracing = exported() if service.settings.tracing else Tracing()
    auditor = make_auditor(service.settings, lost=counted.unstored)

    follower = notification_routes.follower_for(service)

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        service.limiter.is_closed = False
        app.state.ready = warm_up(service)
        settle()
        async with follower.running() if follower is not None else nullcontext():
            yield
        service.limiter.close()
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
    app.state.ready = False
    app.include_router(fhir_routes.router)
    app.include_router(definition_routes.router)
    app.include_router(docs_routes.router)
    app.include_router(service_routes.router)
    app.include_router(web_routes.router)
    app.include_router(metrics.router)
    app.include_router(smart_routes.router)
    cds_routes.install(app, counted.registry)
    if follower is not None:
        notification_routes.install(app, follower, service.settings.notification_secret)
    errors.install(app)
    openapi.describe(app)

    def present() -> datetime:
        now: datetime = app.state.clock()
        return now

    app.add_middleware(Authentication, settings=service.settings, clock=present)
    if service.settings.cors_origins:
        app.add_middleware(
            CORSMiddleware,
            allow_origins=service.settings.cors_origins,
            allow_methods=("GET", "POST"),
            allow_headers=("Authorization", "Content-Type"),
            expose_headers=("WWW-Authenticate", "X-Request-Id"),
            max_age=600,
        )
    app.add_middleware(Envelope)
    # The last one added is the outermost.
    app.add_middleware(
        Telemetry,
        metrics=counted,
        tracing=tracing,
        auditor=auditor,
        send_seconds=service.settings.send_seconds,
    )
    return app
