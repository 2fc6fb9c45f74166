"""Draft orders and orders on the chart, as they were received and as they are read.

Whatever stands among the draft orders is judged as a draft, whatever its status says: it
is about to be signed. When a draft is a new version of an order on the chart, the chart's
version steps back, and leaves its date: what it gives was begun then. The date a draft was
written is not read: the client's clock may be ahead of ours, and an order of the future would
not be looked at.
"""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import msgspec
from msgspec import Raw

from weatherglass.cds_hooks.request import Call
from weatherglass.cds_hooks.suggestions import Order
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import IssueKey, UnreadableError
from weatherglass.fhir.json_faults import repeated_key
from weatherglass.fhir.reading.bundle import items_of
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.shells import twice
from weatherglass.model.plain import replace

REQUEST = "MedicationRequest"
_PLACE = "context.draftOrders"
_ELEMENTS = msgspec.json.Decoder(dict[str, Raw])


class Draft(NamedTuple):
    """One draft order of a medicine.

    Attributes:
        names: Every name that the record may know it by.
        order: The order as received.
        place: Where it stood in the request.
    """

    names: frozenset[str]
    order: Order
    place: str


class DraftOrders(NamedTuple):
    """The draft orders of one call.

    Attributes:
        drafts: Medicines about to be ordered; only the selected ones when some were.
        items: The same, and what they refer to, as the reading takes them in.
    """

    drafts: tuple[Draft, ...]
    items: tuple[SentEntry, ...]


def read_drafts(call: Call) -> DraftOrders:
    """Take the draft orders out of a call.

    Raises:
        UnreadableError: They are not a Bundle.
    """
    if not call.drafts:
        return DraftOrders((), ())
    drafts: list[Draft] = []
    items: list[SentEntry] = []
    for item in items_of(call.drafts, _PLACE):
        if item.kind != REQUEST:
            if item.kind == "Medication":
                items.append(item)
            continue
        elements = _elements_of(item)
        identity = _text(elements.get("id"))
        # As the specification has it, with a fullUrl that nobody else uses left out of the names.
        read = replace(item, raw=_as_draft(elements), full_url=None)
        names = frozenset({read.path, f"{REQUEST}/{identity}"} if identity else {read.path})
        items.append(read)
        drafts.append(Draft(names, Order(item.raw, identity, True), item.path))
    selected = tuple(d for d in drafts if not d.names.isdisjoint(call.selections))
    return DraftOrders(selected or tuple(drafts), tuple(items))


def without_redrafted(items: Iterable[SentEntry], drafts: DraftOrders) -> list[SentEntry]:
    """Return what was sent without what the drafts hold a new version of, selected or not."""
    redrafted = {(item.kind, identity) for item in drafts.items if (identity := _id_of(item))}
    kinds = {kind for kind, _ in redrafted}
    return [item for item in items if item.kind not in kinds or (item.kind, _id_of(item)) not in redrafted]


def with_dates(items: Iterable[SentEntry], drafts: DraftOrders) -> list[SentEntry]:
    """Return what the drafts hold, with the date of the chart's version where they are a new one."""
    written = {
        (item.kind, identity): date
        for item in items
        if item.kind == REQUEST and (identity := _id_of(item)) and (date := _written(item)) is not None
    }
    return [_dated(item, written.get((item.kind, _id_of(item)))) for item in drafts.items]


def _written(item: SentEntry) -> Raw | None:
    try:
        return _ELEMENTS.decode(item.raw).get("authoredOn")
    except UNREADABLE:
        return None


def _dated(item: SentEntry, date: Raw | None) -> SentEntry:
    if date is None:
        return item
    return replace(item, raw=msgspec.json.encode({**_ELEMENTS.decode(item.raw), "authoredOn": date}))


def orders_by_name(items: Iterable[SentEntry], drafts: DraftOrders) -> Mapping[str, Order]:
    """Return every order of a medicine, as received, by each name that a finding may use.

    Args:
        items: The newest versions of what was sent.
        drafts: The draft orders.

    Returns:
        The orders. A name that two of them have is left out: nobody can tell which one
        a click would replace.
    """
    found: dict[str, list[Order]] = {}
    for item in items:
        if item.kind == REQUEST:
            identity = _id_of(item)
            names = {f"{REQUEST}/{identity}" if identity else item.path, item.full_url, item.alias}
            for name in names - {None}:
                found.setdefault(name or "", []).append(Order(item.raw, identity, False))
    for draft in drafts.drafts:
        for name in draft.names:
            found.setdefault(name, []).append(draft.order)
    return {name: orders[0] for name, orders in found.items() if len(orders) == 1}


def _as_draft(elements: dict[str, Raw]) -> bytes:
    kept: dict[str, Raw | str] = {k: v for k, v in elements.items() if k not in ("authoredOn", "_status")}
    kept["status"] = "draft"
    return msgspec.json.encode(kept)


def _elements_of(item: SentEntry) -> dict[str, Raw]:
    repeated = repeated_key(item.raw)
    if repeated is not None:
        raise twice(f"{item.path}{repeated}")
    try:
        return _ELEMENTS.decode(item.raw)
    except UNREADABLE:
        raise UnreadableError.of(
            IssueKey.WRONG_TYPE, "The draft order is not a resource.", path=item.path
        ) from None


def _id_of(item: SentEntry) -> str:
    try:
        return _text(_ELEMENTS.decode(item.raw).get("id"))
    except UNREADABLE:
        return ""


def _text(raw: Raw | None) -> str:
    if raw is None:
        return ""
    try:
        return msgspec.json.decode(raw, type=str)
    except UNREADABLE:
        return ""
