"""Health and the published tables."""

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse

from weatherglass.api.publishing.openapi import READINESS
from weatherglass.review.catalogue import EDITIONS, criterion

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


@router.get("/criteria")
async def list_criteria() -> list[dict[str, str]]:
    """Name every edition in use."""
    return [{"name": name, "title": criterion(name).title} for name in EDITIONS]


@router.get("/criteria/{name}", response_model=None)
async def show_criterion(name: str) -> dict[str, Any] | JSONResponse:
    """Return one edition, row by row."""
    if name not in EDITIONS:
        problem = {"type": "about:blank", "title": "No criterion of that name", "status": 404}
        return JSONResponse(problem, 404, media_type="application/problem+json")
    return asdict(criterion(name))
