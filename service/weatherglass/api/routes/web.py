"""The page: itself, its files, the demo ward, and the view of an opened file."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from weatherglass.api.access.authentication import check_patients
from weatherglass.api.publishing.launching import BACK, LAUNCH, asked_origins, launching
from weatherglass.api.requests.body import read_body
from weatherglass.api.requests.operation_input import not_of_a_view, read_bundle_input, read_options
from weatherglass.api.service import Service
from weatherglass.api.settings import Settings
from weatherglass.api.telemetry.request_facts import note_shown
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.reading.decoding import looks_like_lines
from weatherglass.web.assets import assets
from weatherglass.web.criteria_page import Choice
from weatherglass.web.demo_ward import demo_bundle, demo_ward_bundle
from weatherglass.web.moments import AtMoment, Wanted
from weatherglass.web.page import Page, criteria_page, failure_page, landing_page, view_page

router = APIRouter(include_in_schema=False)

#: Nothing may be loaded, sent, framed or run that does not come from this very address;
#: `page_policy` adds the record systems that the site has set up.
PAGE_POLICY = (
    "default-src 'none'; "
    "script-src 'self'; "
    "style-src 'self'; "
    "font-src 'self'; "
    "img-src 'self' data:; "
    "connect-src 'self'; "
    "form-action 'self'; "
    "frame-ancestors 'none'; "
    "base-uri 'none'"
)
_HEADERS = {
    "Content-Security-Policy": PAGE_POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
_HTML = "text/html; charset=utf-8"


@router.get("/")
@router.get(LAUNCH)
@router.get(BACK)
async def page(request: Request) -> Response:
    """Send the page on which a file, or a record of a record system, is opened."""
    settings: Settings = request.app.state.service.settings
    opening = launching(settings)
    html = landing_page(opening.as_json() if opening else None, is_closed=settings.checks_callers)
    # The addresses of a launch hold what is used once.
    kept = "no-cache" if request.url.path == "/" else "no-store"
    headers = {**_HEADERS, "Cache-Control": kept, "Content-Security-Policy": page_policy(settings)}
    return Response(html, 200, headers, media_type=_HTML)


def page_policy(settings: Settings) -> str:
    """Return the page's policy: what else it may ask, and who may show it inside a window, as was set up."""
    policy = PAGE_POLICY.replace(
        "connect-src 'self'", " ".join(("connect-src 'self'", *asked_origins(settings)))
    )
    framing = settings.launch_frame_origins if settings.launch_servers else ()
    return (
        policy.replace("frame-ancestors 'none'", f"frame-ancestors {' '.join(framing)}")
        if framing
        else policy
    )


@router.post("/view")
async def view(
    request: Request, patient: int | None = None, as_of: Annotated[str, Query(alias="asOf")] = ""
) -> Response:
    """Send the view of the file in the body, at a moment or at `now` or `newest`; nothing of it is kept."""
    service: Service = request.app.state.service
    clock: Callable[[], datetime] = request.app.state.clock
    if wrong := not_of_a_view(request.query_params.multi_items()):
        return _sent(failure_page(wrong))
    asked = _Asked(patient, as_of, clock(), partial(check_patients, request))
    with service.limiter.slot() as slot:
        body = await read_body(request, slot)
        shown = await service.limiter.work(len(body), partial(_view, body, service, asked))
    note_shown(shown.patients)
    return _sent(shown)


def _sent(shown: Page) -> Response:
    return Response(shown.html, shown.status, {**_HEADERS, "Cache-Control": "no-store"}, media_type=_HTML)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a view was asked for: a patient of the file, a moment, at what time, and who may be shown."""

    patient: int | None
    as_of: str
    now: datetime
    allowed: Callable[[Iterable[str]], None]


def _view(body: bytes, service: Service, asked: _Asked) -> Page:
    lines = looks_like_lines(body)
    word = AtMoment(asked.as_of) if asked.as_of in (AtMoment.NOW, AtMoment.NEWEST) else None
    named = {"asOf": [asked.as_of]} if asked.as_of and word is None else {}
    try:
        at = read_options(body, named).as_of
        given = read_options(body, {}) if lines else read_bundle_input(body, {})
    except UnreadableError as unreadable:
        return failure_page(unreadable.issues)
    wanted = Wanted(
        at=at if asked.as_of else given.as_of, word=word, now=asked.now, in_file=given.as_of is not None
    )
    return view_page(
        given.record,
        service.choices,
        lines=lines,
        wanted=wanted,
        patient=asked.patient,
        allowed=asked.allowed,
    )


def criteria_answer(wanted: Choice) -> Response:
    """Return the page of published tables; the address without `Accept: text/html` has them as JSON."""
    headers = {**_HEADERS, "Cache-Control": "no-cache", "Vary": "Accept"}
    return Response(criteria_page(wanted), 200, headers, media_type=_HTML)


@router.get("/static/{name:path}")
async def static(request: Request, name: str) -> Response:
    """Send one of the page's own files."""
    asset = assets().get(name)
    if asset is None:
        return Response("No such file.", 404, _HEADERS, media_type="text/plain")
    headers = {**_HEADERS, "Cache-Control": "no-cache", "ETag": asset.tag}
    if request.headers.get("if-none-match") == asset.tag:
        return Response(None, 304, headers)
    return Response(asset.body, 200, headers, media_type=asset.media_type)


@router.get("/demo/{name}.json")
async def demo(name: str) -> Response:
    """Send one invented patient's Bundle, or the whole invented ward."""
    body = demo_ward_bundle() if name == "ward" else demo_bundle(name)
    if body is None:
        return Response("No such demo patient.", 404, _HEADERS, media_type="text/plain")
    return Response(body, 200, {**_HEADERS, "Cache-Control": "no-cache"}, media_type="application/fhir+json")
