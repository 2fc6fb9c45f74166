"""CDS Hooks 2.0.1 at its addresses: discovery, two services, feedback.

The clock is read here, once a call. What a client did not send is fetched from the server
that it names, when that server is on our list; otherwise the call is answered 412.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial

from fastapi import APIRouter, FastAPI, Request, Response
from prometheus_client import CollectorRegistry
from starlette.exceptions import HTTPException

from weatherglass.api.access.refusals import PreconditionError
from weatherglass.api.publishing.cds_openapi import CALL, DISCOVERY, FEEDBACK
from weatherglass.api.publishing.launching import launch_address
from weatherglass.api.requests.body import read_body
from weatherglass.api.service import Service
from weatherglass.api.telemetry.metrics import CdsCounts
from weatherglass.api.telemetry.request_facts import note_issues, note_reviews
from weatherglass.cds_hooks.answer import Edge, answer
from weatherglass.cds_hooks.feedback import read_feedback
from weatherglass.cds_hooks.prefetch import Prefetched, prefetched, queries
from weatherglass.cds_hooks.request import Call, read_call
from weatherglass.cds_hooks.services import SERVICES, CdsService, discovery
from weatherglass.ehr.client.addresses import without_slash
from weatherglass.fhir.issues import named_issue
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.frame.terms import Json

router = APIRouter(prefix="/cds-services", tags=["cds"])

_JSON = "application/json"


def install(app: FastAPI, registry: CollectorRegistry) -> None:
    """Add the services to an application."""
    app.state.cds_counts = CdsCounts(registry)
    app.state.clock = _present
    app.include_router(router)


def _present() -> datetime:
    return datetime.now(UTC)


@router.get("", summary="The CDS services that there are", **DISCOVERY)
async def discover() -> Response:
    """Answer with every service, the hook that it answers to, and what it wants to be sent."""
    return Response(encode(discovery()), media_type=_JSON)


@router.post("/{service_id}", summary="Call a CDS service", **CALL)
async def call(request: Request, service_id: str) -> Response:
    """Answer a hook with cards."""
    cds = _service(service_id)
    service: Service = request.app.state.service
    with service.limiter.slot() as slot:
        body = await read_body(request, slot)
        called = await service.limiter.work(len(body), partial(read_call, body, cds))
        given = await _complete(called, service)
        edge = _edge(request, called)
        answered = await service.limiter.work(len(body), partial(answer, called, given, edge))
    note_reviews(answered.reviews)
    note_issues(answered.issues)
    _count(request, called, answered.response)
    return Response(encode(answered.response), media_type=_JSON)


@router.post("/{service_id}/feedback", summary="Say what became of cards", **FEEDBACK)
async def feedback(request: Request, service_id: str) -> Response:
    """Count what became of cards; nothing of it is kept."""
    cds = _service(service_id)
    service: Service = request.app.state.service
    with service.limiter.slot() as slot:
        body = await read_body(request, slot)
        heard = await service.limiter.work(len(body), partial(read_feedback, body))
    counts: CdsCounts = request.app.state.cds_counts
    counts.heard(cds.id, heard)
    return Response(b"{}", media_type=_JSON)


def _service(service_id: str) -> CdsService:
    found = SERVICES.get(service_id)
    if found is None:
        raise HTTPException(404)
    return found


def _edge(request: Request, called: Call) -> Edge:
    service: Service = request.app.state.service
    clock: Callable[[], datetime] = request.app.state.clock
    return Edge(
        as_of=clock(),
        choices=service.choices,
        terms=service.terms,
        base_url=service.settings.base_url,
        launch=launch_address(service.settings, called.fhir_server),
    )


async def _complete(called: Call, service: Service) -> Prefetched:
    """Return what is known, after asking the client's server for the rest where we may.

    Raises:
        PreconditionError: What is needed was not sent and cannot be had.
    """
    given = prefetched(called)
    settings = service.settings
    server = without_slash(called.fhir_server) if called.fhir_server is not None else None
    if given.missing and server is not None and server in settings.cds_fhir_servers:
        from weatherglass.ehr.client.lookup import fetch

        fetched = await fetch(
            server,
            called.token,
            queries(called, given.missing),
            seconds=settings.cds_fetch_seconds,
            max_bytes=settings.max_body_bytes,
        )
        given = prefetched(called, fetched)
    lacking = given.lacks(called.service.needed)
    if lacking:
        raise PreconditionError(*(named_issue("prefetch-missing", f"prefetch.{key}") for key in lacking))
    return given


def _count(request: Request, called: Call, answered: Json) -> None:
    counts: CdsCounts = request.app.state.cds_counts
    counts.answered(
        called.service.id, called.hook.value, [str(card["indicator"]) for card in answered["cards"]]
    )
