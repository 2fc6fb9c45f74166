"""The service's own definitions at their addresses: metadata, operations, codes, extensions."""

from collections.abc import Awaitable, Callable
from urllib.parse import urlencode

from fastapi import APIRouter, Request, Response
from starlette.exceptions import HTTPException

from weatherglass.api.publishing.capability import STATIC, capability_statement
from weatherglass.api.publishing.openapi import DEFINITION
from weatherglass.api.publishing.published import published
from weatherglass.api.requests.answers import published_response
from weatherglass.api.requests.media import wanted_by
from weatherglass.fhir.issues import IssueKey, UnreadableError
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
        _refuse_unserved(request)
        found = [each for each in _published(request, kind).values() if url in (None, each["url"])]
        bundle: Json = {
            "resourceType": "Bundle",
            "type": "searchset",
            "total": len(found),
            "link": [{"relation": "self", "url": _self(request, kind, url)}],
        }
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


def _self(request: Request, kind: str, url: str | None) -> str:
    """Return the address with what was searched for, as FHIR R4 `search.html`, "Server Conformance", asks."""
    searched = f"?{urlencode({'url': url})}" if url is not None else ""
    return f"{_base(request)}/fhir/{kind}{searched}"


def _refuse_unserved(request: Request) -> None:
    unserved = set(request.query_params) - {"url", "_format", "_pretty"}
    if unserved:
        raise UnreadableError.of(
            IssueKey.BAD_PARAMETER,
            "Not a search parameter that is served here; search by 'url', or read one by its id.",
        )


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
