"""The application, made from settings; nothing at module level."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, nullcontext
from datetime import datetime
from functools import partial

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
from weatherglass.api.service import Service, make_service
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry import metrics
from weatherglass.api.telemetry.audit import Auditor, make_auditor
from weatherglass.api.telemetry.middleware import Telemetry
from weatherglass.api.telemetry.tracing import Tracing, exported
from weatherglass.api.warm_up import warm_up
from weatherglass.ehr.events.follow import Follower
from weatherglass.memory import settle

_ROUTES = (
    fhir_routes,
    definition_routes,
    docs_routes,
    service_routes,
    web_routes,
    metrics,
    smart_routes,
)


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
    app = FastAPI(
        title="Weatherglass",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        lifespan=partial(_lifespan, service=service, follower=follower, tracing=tracing, auditor=auditor),
    )
    app.state.service = service
    app.state.settings = service.settings
    app.state.choices = service.choices
    app.state.metrics = counted
    app.state.ready = False
    for routes in _ROUTES:
        app.include_router(routes.router)
    cds_routes.install(app, counted.registry)
    if follower is not None:
        notification_routes.install(app, follower, service.settings.notification_secret)
    errors.install(app)
    openapi.describe(app)
    _add_middleware(app, service.settings)
    # The last one added is the outermost.
    app.add_middleware(
        Telemetry,
        metrics=counted,
        tracing=tracing,
        auditor=auditor,
        send_seconds=service.settings.send_seconds,
    )
    return app


@asynccontextmanager
async def _lifespan(
    app: FastAPI, *, service: Service, follower: Follower | None, tracing: Tracing, auditor: Auditor | None
) -> AsyncIterator[None]:
    """Open for requests, and close what holds something once the last one is answered."""
    service.limiter.is_closed = False
    app.state.ready = warm_up(service)
    settle()
    async with follower.running() if follower is not None else nullcontext():
        yield
    service.limiter.close()
    tracing.close()
    if auditor is not None:
        auditor.close()


def _add_middleware(app: FastAPI, settings: Settings) -> None:
    """Put around the routes who may ask, from which pages, and the headers of every answer."""

    def present() -> datetime:
        now: datetime = app.state.clock()
        return now

    app.add_middleware(Authentication, settings=settings, clock=present)
    if settings.cors_origins:
        app.add_middleware(
            CORSMiddleware,
            allow_origins=settings.cors_origins,
            allow_methods=("GET", "POST"),
            allow_headers=("Authorization", "Content-Type"),
            expose_headers=("WWW-Authenticate", "X-Request-Id"),
            max_age=600,
        )
    app.add_middleware(Envelope)
