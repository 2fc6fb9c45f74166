"""What a prescriber may choose with one click: the whole order as it would then stand.

An `update` replaces the resource, so it is offered only when the whole order was in the
request, and repeats it byte for byte but for the status and its reason. A dose is never
changed here. Nothing is ever marked as recommended: the choice is the prescriber's.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

import msgspec
from msgspec import Raw

from weatherglass.cds_hooks.cards import name_of
from weatherglass.cds_hooks.markdown import plain
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.writing.frame.context import WritingContext
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.terms import Json
from weatherglass.fhir.writing.task import write_task
from weatherglass.knowledge.medicines.rules.actions import ACTIONS
from weatherglass.model.findings import Kind
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.words.lists import capital

_ENDED = frozenset({b"cancelled", b"stopped", b"completed", b"entered-in-error"})
_SUBSETTED = "SUBSETTED"
_ELEMENTS = msgspec.json.Decoder(dict[str, Raw])


class Order(NamedTuple):
    """An order of the request, as it was received.

    Attributes:
        raw: The whole resource.
        id: Its id, empty when it has none.
        is_draft: Whether it is not signed yet.
    """

    raw: bytes
    id: str
    is_draft: bool


def suggestions_for(
    finding: MedicineFinding, orders: Mapping[str, Order], context: WritingContext, instance: str
) -> list[Json]:
    """Return the suggestions of one finding; none where there is nothing to click."""
    if not ACTIONS[finding.action].withholds or finding.already_on_hold:
        return []
    order = orders.get(finding.order)
    if order is not None and _has_ended(order):
        # What was cancelled or has ended cannot be put on hold.
        return []
    uuid = uuid_of("suggestion", instance, name_of(context, finding))
    if order is None or not _is_whole(order):
        return [_task(finding, context, uuid)]
    medicine = plain(finding.medicine)[:80]
    found: list[Json] = []
    if order.is_draft and order.id:
        found.append(_left_out(uuid, order, medicine))
    if order.is_draft and (not order.id or finding.kind is Kind.ALLERGY):
        # Nothing names the draft; or it is one that nobody means to give later.
        return found
    held = {"type": "update", "resource": _on_hold(order.raw, finding, context)}
    label = f"Sign {medicine} on hold" if order.is_draft else f"Put {medicine} on hold"
    found.append(_suggestion(uuid_of(uuid, "hold"), label, held))
    return found


def left_out_for(
    finding: InteractionFinding, orders: Mapping[str, Order], context: WritingContext, instance: str
) -> list[Json]:
    """Return the suggestions of a pair: to leave out the draft that makes it."""
    uuid = uuid_of("suggestion", instance, name_of(context, finding))
    meant = [
        (orders[name], plain(medicine)[:80])
        for name, medicine in zip(finding.orders, finding.medicines, strict=True)
        if name in orders
    ]
    return [_left_out(uuid_of(uuid, one.id), one, words) for one, words in meant if one.is_draft and one.id]


def _left_out(uuid: str, order: Order, medicine: str) -> Json:
    action = {"type": "delete", "resourceId": f"MedicationRequest/{order.id}"}
    return _suggestion(uuid_of(uuid, "delete"), f"Leave out the draft order of {medicine}", action)


def _has_ended(order: Order) -> bool:
    try:
        status = bytes(_ELEMENTS.decode(order.raw).get("status", b""))
    except UNREADABLE:
        return False
    return status.strip(b'"') in _ENDED


def _suggestion(uuid: str, label: str, action: Json) -> Json:
    return {"label": label, "uuid": uuid, "actions": [{**action, "description": label}]}


def _is_whole(order: Order) -> bool:
    try:
        elements = _ELEMENTS.decode(order.raw)
    except UNREADABLE:
        return False
    # A resource marked as part of one would lose the rest of it in an update.
    return _SUBSETTED.encode() not in bytes(elements.get("meta", b""))


def _on_hold(raw: bytes, finding: MedicineFinding, context: WritingContext) -> dict[str, Any]:
    elements: dict[str, Any] = dict(_ELEMENTS.decode(raw))
    reasons = "; ".join(context.told(finding).triggers)
    why = plain(f"{reasons or finding.key.replace('-', ' ')}: held for review after a suggestion")
    elements["status"] = "on-hold"
    elements.pop("_status", None)
    elements["statusReason"] = {"text": capital(why)}
    elements.pop("_statusReason", None)
    return elements


def _task(finding: MedicineFinding, context: WritingContext, uuid: str) -> Json:
    _, task = write_task(context, finding, "")
    # What is written into the record by a click may refer to the record only.
    task.pop("reasonReference", None)
    task["requester"] = {"display": "Weatherglass"}
    label = f"Ask for a review of {plain(finding.medicine)[:80]}"
    return _suggestion(uuid, label, {"type": "create", "resource": task})
