"""Search results that were sent page by page in one Bundle: a next page that lies beside is not missing.

A page is known by the address that it was fetched from, the `fullUrl` of its entry, or by its
own `self` link (FHIR R4 `http.html`, "Paging").
"""

from collections.abc import Iterable, Iterator

from msgspec import Raw, Struct

from weatherglass.fhir import r4
from weatherglass.fhir.r4 import UNREADABLE
from weatherglass.fhir.reading.intake import Place

#: The place of what a sender left out.
CONTAINER = "Bundle.link"


class _Link(Struct, gc=False):
    relation: str = ""
    url: str = ""


class _Page(Struct, gc=False):
    link: tuple[_Link, ...] = ()


def further_pages(bundle: r4.Bundle, raw: bytes | Raw = b"") -> Iterator[Place]:
    """Yield the place of the pages that follow a search result.

    Args:
        bundle: The search result.
        raw: The same, undecoded, where it stands in another Bundle.
    """
    if bundle.type == "searchset" and any(link.relation == "next" for link in bundle.link):
        yield Place(CONTAINER, -1, raw=raw)


def without_sent_pages(items: list[Place], entries: Iterable[r4.Entry]) -> list[Place]:
    """Leave out the places of pages that were sent in the same Bundle."""
    if not any(item.container == CONTAINER and item.raw for item in items):
        return items
    sent: set[str | None] = set()
    for entry in entries:
        sent.add(entry.fullUrl)
        sent.update(_addresses(entry.resource, "self"))
    return [item for item in items if item.container != CONTAINER or not _is_sent(item, sent)]


def _is_sent(item: Place, sent: set[str | None]) -> bool:
    following = _addresses(item.raw, "next")
    return bool(following) and sent.issuperset(following)


def _addresses(raw: bytes | Raw, relation: str) -> list[str]:
    if not raw:
        return []
    try:
        page = r4.decode(raw, _Page)
    except UNREADABLE:
        return []
    return [link.url for link in page.link if link.relation == relation and link.url]
