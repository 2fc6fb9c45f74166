"""Bulk export: kick it off, wait as the server asks, read the manifest, tidy up.

Bulk Data Access 2.0.0, read leniently, so that a manifest of a later edition (pages,
`outcome` in the place of `error`) is understood too.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from urllib.parse import quote, urlencode

import msgspec
from msgspec import Struct

from weatherglass.ehr.client.addresses import is_private_enough, is_web_address
from weatherglass.ehr.client.faults import EhrError, RefusedError, UnexpectedAnswerError
from weatherglass.ehr.client.retry import seconds_asked
from weatherglass.ehr.client.transport import Answer, Transport
from weatherglass.fhir.containers import Link
from weatherglass.fhir.decoding import UNREADABLE

_FIRST_WAIT = 1.0
_LONGEST_WAIT = 120.0


class ExportRequest(Struct, frozen=True, kw_only=True):
    """What is to be exported.

    Attributes:
        group: Id of a Group; the whole server when None.
        patients_only: Every patient's compartment instead of the whole server.
        types: Resource types; all when empty.
        since: Only what changed since this instant.
        type_filters: Searches that narrow a type ("Observation?category=laboratory").
    """

    group: str | None = None
    patients_only: bool = False
    types: tuple[str, ...] = ()
    since: str | None = None
    type_filters: tuple[str, ...] = ()

    @property
    def path(self) -> str:
        """The kick-off request."""
        level = "Patient/" if self.patients_only else ""
        if self.group is not None:
            level = f"Group/{quote(self.group, safe='-.')}/"
        query: list[tuple[str, str]] = [("_outputFormat", "application/fhir+ndjson")]
        if self.types:
            query.append(("_type", ",".join(self.types)))
        if self.since:
            query.append(("_since", self.since))
        if self.type_filters:
            query.append(("_typeFilter", ",".join(self.type_filters)))
        return f"{level}$export?{urlencode(query, safe=',/')}"


class ManifestFile(Struct, kw_only=True):
    """One file of an export."""

    type: str = ""
    url: str = ""
    count: int | None = None


class Manifest(Struct, kw_only=True):
    """What an export came to."""

    transactionTime: str = ""
    request: str = ""
    requiresAccessToken: bool = True
    output: list[ManifestFile] = []
    error: list[ManifestFile] = []
    outcome: list[ManifestFile] = []
    deleted: list[ManifestFile] = []
    link: list[Link] = []


async def kick_off(transport: Transport, request: ExportRequest) -> str:
    """Start an export and return the address of its status.

    Raises:
        RefusedError: The server does not export, or not this.
    """
    answer = await transport.ask(
        "GET",
        request.path,
        "start the export",
        headers={"Prefer": "respond-async"},
        # A second kick-off would start a second export.
        repeatable=False,
        expected=(202,),
    )
    status_url = answer.headers.get("content-location", "")
    if status_url and not is_web_address(status_url):
        status_url = transport.url(status_url)
    if not is_web_address(status_url):
        raise UnexpectedAnswerError("start the export", "the server names no status address")
    return status_url


async def wait_for(
    transport: Transport,
    status_url: str,
    *,
    progress: Callable[[str], None] = lambda _: None,
    longest: float = 24 * 3600.0,
) -> Manifest:
    """Ask for the status until the export is done; return its manifest.

    Raises:
        RefusedError: The export failed, or is gone (404, 410).
    """
    waited, pause = 0.0, _FIRST_WAIT
    while True:
        answer = await _ask(transport, "GET", status_url, "ask for the export's status", (200, 202))
        if answer.status == 200:
            return await _with_pages(transport, _manifest(answer.body))
        asked = answer.headers.get("retry-after")
        said = seconds_asked(asked, datetime.now(UTC)) if asked else None
        wait = said if said is not None else pause
        if said is None:
            pause = min(pause * 1.5, _LONGEST_WAIT)
        waited += wait
        if waited > longest:
            raise EhrError("ask for the export's status", f"not done after {waited / 3600:.1f} h; gave up")
        progress(_short(answer.headers.get("x-progress", "")))
        await transport.sleep(wait)


async def forget(transport: Transport, status_url: str) -> bool:
    """Tell the server that the files may go; False when it does not take that."""
    try:
        await _ask(transport, "DELETE", status_url, "delete the export", (200, 202, 204))
    except RefusedError:
        return False
    return True


async def _ask(
    transport: Transport, method: str, url: str, doing: str, expected: tuple[int, ...] = (200,)
) -> Answer:
    """Ask at an address that the server named, with the token only where nobody overhears it."""
    return await transport.ask(
        method,
        url,
        doing,
        headers={"Accept": "application/json"},
        authorised=transport.tokens is not None and is_private_enough(url),
        expected=expected,
    )


async def _with_pages(transport: Transport, manifest: Manifest) -> Manifest:
    """Add the further pages of a manifest (Bulk Data 3.0.0) to its first one."""
    seen: set[str] = set()
    page = manifest
    while url := next((link.url for link in page.link if link.relation == "next"), ""):
        if url in seen or not isinstance(url, str):
            raise UnexpectedAnswerError("read the manifest", "its pages do not end")
        seen.add(url)
        answer = await _ask(transport, "GET", url, "read the manifest")
        page = _manifest(answer.body)
        manifest.output += page.output
        manifest.error += page.error
        manifest.outcome += page.outcome
        manifest.deleted += page.deleted
    return manifest


def _manifest(body: bytes) -> Manifest:
    try:
        return msgspec.json.decode(body, type=Manifest)
    except UNREADABLE:
        raise UnexpectedAnswerError("read the manifest", "it is not readable") from None


def _short(progress: str) -> str:
    return "".join(c for c in progress if c.isprintable())[:100]
