"""Reading a record by search, page by page, or by `$everything`.

Resources are handed over as the server sent them, undecoded: the one reading path of
the service decides what they mean. A page that lies on another server is not asked.
"""

import asyncio
from collections.abc import AsyncIterator, Iterable
from urllib.parse import quote

from msgspec import Raw

from weatherglass.ehr.client.addresses import same_origin
from weatherglass.ehr.client.faults import RefusedError, UnexpectedAnswerError
from weatherglass.ehr.client.transport import Transport
from weatherglass.ehr.fetching.needed import PAGE, SEARCHED_TYPES, search_for
from weatherglass.fhir.containers import Bundle, Named
from weatherglass.fhir.decoding import UNREADABLE, decode

_MOST_PAGES = 10_000


def name_of(raw: bytes | Raw) -> Named:
    """Return what a resource is, without reading the rest of it."""
    return decode(raw, Named)


async def search(transport: Transport, query: str) -> AsyncIterator[bytes]:
    """Yield every resource that a search or a paged operation answers with.

    Args:
        transport: The server.
        query: A path with its query ("Observation?patient=p1&_count=200").

    Raises:
        EhrError: The server could not be reached or refused.
        UnexpectedAnswerError: An answer is no Bundle, or its pages do not end.
    """
    what = f"search {query.partition('?')[0].partition('/')[0]}"
    url = transport.url(query)
    seen: set[str] = set()
    while url:
        if url in seen or len(seen) >= _MOST_PAGES:
            raise UnexpectedAnswerError(what, "the pages of the search do not end")
        seen.add(url)
        answer = await transport.ask("GET", url, what)
        try:
            page = decode(answer.body, Bundle)
        except UNREADABLE:
            raise UnexpectedAnswerError(what, "the answer is not a Bundle") from None
        if page.resourceType != "Bundle":
            raise UnexpectedAnswerError(what, "the answer is not a Bundle")
        for entry in page.entry:
            if entry.resource and (entry.search is None or entry.search.mode != "outcome"):
                yield bytes(entry.resource)
        further = next((link.url for link in page.link if link.relation == "next"), "")
        if not isinstance(further, str):
            raise UnexpectedAnswerError(what, "the address of the next page is none")
        url = further
        if url and not url.startswith(("http://", "https://")):
            url = transport.url(url)
        if url and not same_origin(url, transport.base):
            raise UnexpectedAnswerError(what, "the next page lies on another server; it was not asked")


async def everything(transport: Transport, patient: str) -> AsyncIterator[bytes]:
    """Yield a patient's whole record by `$everything`."""
    async for raw in search(transport, f"Patient/{_id(patient)}/$everything?_count={PAGE}"):
        yield raw


async def patient_record(transport: Transport, patient: str, types: Iterable[str]) -> list[bytes]:
    """Return a patient's record by one search a type, with the Medications and Locations named in it.

    A type that the server refuses to search (not supported, not in our scope) is left
    out only when the server says so with 404 or 501; anything else is an error, because
    a record with a hole in it would be reviewed as if it were whole.
    """
    wanted = [kind for kind in types if kind in SEARCHED_TYPES]
    found: list[bytes] = [await _read(transport, f"Patient/{_id(patient)}")]
    answers = await asyncio.gather(*(_all_of(transport, kind, patient) for kind in wanted))
    seen = {_key(raw) for raw in found}
    for raw in (one for answer in answers for one in answer):
        key = _key(raw)
        if key not in seen:
            seen.add(key)
            found.append(raw)
    return found


async def _all_of(transport: Transport, kind: str, patient: str) -> list[bytes]:
    query = search_for(kind, _id(patient))
    try:
        return [raw async for raw in search(transport, query)]
    except RefusedError as refused:
        if refused.status in (404, 501):
            return []
        raise


async def patient_ids(transport: Transport) -> list[str]:
    """Return the ids of every patient that we may see."""
    query = f"Patient?_count={PAGE}&_elements=id"
    return [named.id async for raw in search(transport, query) if (named := name_of(raw)).id]


async def _read(transport: Transport, path: str) -> bytes:
    answer = await transport.ask("GET", path, f"read {path.partition('/')[0]}")
    try:
        name_of(answer.body)
    except UNREADABLE:
        raise UnexpectedAnswerError(
            f"read {path.partition('/')[0]}", "the answer is not a resource"
        ) from None
    return answer.body


def _key(raw: bytes) -> tuple[str, str]:
    named = name_of(raw)
    return named.resourceType, named.id or ""


def _id(identity: str) -> str:
    return quote(identity, safe="-.")
