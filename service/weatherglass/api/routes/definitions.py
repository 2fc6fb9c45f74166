"""The service's own definitions at their addresses: metadata, operations, codes, extensions."""

from collections.abc import Awaitable, Callable

from fastapi import APIRouter, Request, Response
from starlette.exceptions import HTTPException

from weatherglass.api.publishing.capability import STATIC, capability_statement
from weatherglass.api.publishing.openapi import DEFINITION
from weatherglass.api.publishing.published import published
from weatherglass.api.requests.answers import published_response
from weatherglass.api.requests.media import wanted_by
from weatherglass.fhir.writing.frame.terms import Json

router = APIRouter(prefix="/fhir", tags=["definitions"])


@router.get("/metadata", **DEFINITION)
async def metadata(request: Request) -> Response:
    """What the service can do (CapabilityStatement)."""
    statement = capability_statement(_base(request), request.app.state.settings)
    return published_response(request, statement, wanted_by(request))


def _list_of(kind: str) -> Callable[[Request], Awaitable[Response]]:
    async def list_definitions(request: Request, url: str | None = None) -> Response:
        """All of them, or the one with the canonical address in `url`."""
        wanted = wanted_by(request)
        found = [each for each in _published(request, kind).values() if url in (None, each["url"])]
        bundle: Json = {"resourceType": "Bundle", "type": "searchset", "total": len(found)}
        if found:
            bundle["entry"] = [
                {
                    "fullUrl": f"{_base(request)}/fhir/{kind}/{each['id']}",
                    "resource": each,
                    "search": {"mode": "match"},
                }
                for each in found
            ]
        return published_response(request, bundle, wanted)

    return list_definitions


def _one_of(kind: str) -> Callable[[str, Request], Awaitable[Response]]:
    async def read_definition(name: str, request: Request) -> Response:
        """One definition."""
        wanted = wanted_by(request)
        resource = _published(request, kind).get(name)
        if resource is None:
            raise HTTPException(404)
        return published_response(request, resource, wanted)

    return read_definition


for _kind in STATIC:
    router.get(f"/{_kind}", name=f"list {_kind}", **DEFINITION)(_list_of(_kind))
    router.get(f"/{_kind}/{{name}}", name=f"read {_kind}", **DEFINITION)(_one_of(_kind))


def _base(request: Request) -> str:
    base: str = request.app.state.service.settings.base_url
    return base


def _published(request: Request, kind: str) -> dict[str, Json]:
    settings = request.app.state.service.settings
    return published(settings.code_base, settings.base_url)[kind]
