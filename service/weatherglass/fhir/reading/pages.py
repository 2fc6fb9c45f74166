"""Pages of a search result (HL7 FHIR R4, http.html#paging): which of them were not sent.

A page names itself and its neighbours by address; inside another Bundle it is also known by the
address that it was fetched from. One whose neighbours came in the same request is whole with
them; otherwise a part of the record may be missing, and that is said.
"""

from collections.abc import Iterable, Iterator
from urllib.parse import parse_qsl, urlsplit

import msgspec

from weatherglass.fhir.containers import Bundle, Link
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.model.plain import Plain

#: Where the mark of a page stands; it is no resource.
LINKS = "Bundle.link"
_NEIGHBOURS = frozenset({"next", "previous", "prev"})
#: Parameters that say how an answer is written and not what it holds.
_OF_WRITING = frozenset({"_format", "_pretty"})


class _Page(Plain, frozen=True):
    own: list[str]
    neighbours: list[str]


def page_of(bundle: Bundle, fetched_from: str | None = None) -> Iterator[SentEntry]:
    """Yield the mark of a page of a search result, which says where it and its neighbours are.

    Args:
        bundle: Any Bundle.
        fetched_from: The address of its entry, where it stands in another Bundle.
    """
    if bundle.type != "searchset":
        return
    own = [_address(link) for link in bundle.link if link.relation == "self"]
    page = _Page(
        [address for address in (*own, fetched_from) if address],
        [_address(link) for link in bundle.link if link.relation in _NEIGHBOURS],
    )
    if page.own or page.neighbours:
        yield SentEntry(LINKS, -1, raw=msgspec.json.encode(page))


def _address(link: Link) -> str:
    return link.url if isinstance(link.url, str) else ""


def is_page(item: SentEntry) -> bool:
    """Tell the mark of a page from a resource."""
    return item.container == LINKS


def are_missing(marks: Iterable[SentEntry]) -> bool:
    """Tell whether any neighbour of these pages is not among them; a mark without addresses has one."""
    pages = [msgspec.json.decode(mark.raw, type=_Page) if mark.raw else _Page([], [""]) for mark in marks]
    there = {_key(address) for page in pages for address in page.own}
    return any(not each or _key(each) not in there for page in pages for each in page.neighbours)


def _key(address: str) -> tuple[str, tuple[tuple[str, str], ...]] | str:
    """Return what tells two pages apart, whatever host or proxy they were asked through."""
    try:
        parts = urlsplit(address)
        asked = parse_qsl(parts.query, keep_blank_values=True)
    except ValueError:
        return address
    return parts.path, tuple(sorted(pair for pair in asked if pair[0] not in _OF_WRITING))
