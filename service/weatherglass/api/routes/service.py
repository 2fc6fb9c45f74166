"""Health and the published tables."""

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from weatherglass.api.publishing.openapi import READINESS
from weatherglass.api.routes.web import criteria_answer
from weatherglass.review.catalogue import EDITIONS, criterion, title_of
from weatherglass.web.criteria_page import Choice

router = APIRouter()


@router.get("/health/live")
async def live() -> dict[str, str]:
    """The process is up."""
    return {"status": "pass"}


@router.get("/health/ready", response_model=None, responses=READINESS)
async def ready(request: Request) -> dict[str, str] | JSONResponse:
    """The rule sets are loaded, and an invented patient was reviewed with them."""
    if request.app.state.ready:
        return {"status": "pass"}
    return JSONResponse({"status": "fail"}, 503)


@router.get("/criteria", response_model=None)
def list_criteria(
    request: Request, publication: str = "", mark: str = "", kind: str = ""
) -> list[dict[str, str]] | Response:
    """Name every edition in use; a browser gets the page of published tables."""
    if _is_browser(request):
        return criteria_answer(Choice(publication, mark, kind))
    return [{"name": name, "title": title_of(name)} for name in EDITIONS]


@router.get("/criteria/{name}", response_model=None)
def show_criterion(request: Request, name: str) -> dict[str, Any] | Response:
    """Return one edition, row by row; a browser gets it as a page."""
    if name in EDITIONS and _is_browser(request):
        return criteria_answer(Choice(kind=name))
    if name not in EDITIONS:
        problem = {"type": "about:blank", "title": "No criterion of that name", "status": 404}
        return JSONResponse(problem, 404, media_type="application/problem+json")
    return asdict(criterion(name))


def _is_browser(request: Request) -> bool:
    return "text/html" in request.headers.get("accept", "")
