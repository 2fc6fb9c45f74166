"""What a notification says: whose record has changed, as far as it says so.

Two shapes arrive. R4's own rest-hook: `PUT {endpoint}/{Type}/{id}` with the resource, or an
empty POST. The R5 backport: a history Bundle whose first entry is its status (Parameters,
or SubscriptionStatus), empty, with ids only, or with whole resources.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.containers import Bundle
from weatherglass.fhir.datatypes import Pointer
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.issues import UnreadableError
from weatherglass.fhir.json_faults import repeated_key
from weatherglass.fhir.reading.people.addresses import short_name
from weatherglass.fhir.shells import require_single_keys
from weatherglass.terminology.observations import OWN_RESULTS


class Kind(StrEnum):
    """What a notification is for."""

    HANDSHAKE = "handshake"
    HEARTBEAT = "heartbeat"
    EVENT = "event-notification"
    STATUS = "query-status"
    PING = "ping"  # Something has changed, and nobody says what.


@dataclass(slots=True)
class Notification:
    """What a notification says.

    Attributes:
        patients: Whose record has changed ("Patient/p1").
        resources: What has changed where the patient is not named ("Observation/x").
        own: How many of the changes are what we wrote ourselves.
        unclear: How many of the changes cannot be followed, such as a deletion.
    """

    kind: Kind
    patients: set[str] = field(default_factory=set)
    resources: set[str] = field(default_factory=set)
    own: int = 0
    unclear: int = 0

    @property
    def is_news(self) -> bool:
        """Whether there is anything to look at."""
        return bool(self.patients or self.resources) or self.kind is Kind.PING


class UnreadableNotificationError(ValueError):
    """The body is no notification."""


class _Part(Struct, gc=False):
    name: str = ""
    valueCode: str = ""
    valueReference: Pointer | None = None
    part: "tuple[_Part, ...]" = ()


class _Event(Struct, gc=False):
    focus: Pointer | None = None
    additionalContext: tuple[Pointer, ...] = ()


class _Status(Struct, gc=False):
    resourceType: str
    parameter: tuple[_Part, ...] = ()
    # SubscriptionStatus, as R4B writes it.
    type: str = ""
    notificationEvent: tuple[_Event, ...] = ()


class _Changed(Struct, gc=False):
    resourceType: str
    id: str = ""
    identifier: Raw = Raw()
    subject: Pointer | None = None
    patient: Pointer | None = None


#: A name that may become part of an address: a type and an id, and no way up or out.
_NAME = re.compile(r"([A-Z][A-Za-z]{1,63})/(?!\.{1,2}$)[A-Za-z0-9\-.]{1,64}")
_TWICE = "An element stands twice in one object; send it once."
_EVENT_NAMES = frozenset({"notification-event", "notificationEvent"})
_CONTEXT_NAMES = frozenset({"focus", "additional-context", "additionalContext"})


def read_resource(body: bytes) -> Notification:
    """Read the resource of a rest-hook with a payload.

    Raises:
        UnreadableNotificationError: It is no resource.
    """
    notification = Notification(Kind.EVENT)
    _take(notification, body)
    return notification


def read_post(body: bytes) -> Notification:
    """Read a POST to the endpoint: nothing, one resource, or a history Bundle.

    Raises:
        UnreadableNotificationError: It is none of these.
    """
    if not body.strip():
        return Notification(Kind.PING)
    try:
        history = decode(body, Bundle)
    except UNREADABLE:
        raise UnreadableNotificationError("The body is not a resource.") from None
    if history.resourceType != "Bundle":
        return read_resource(body)
    try:
        require_single_keys(body, "entry", "Bundle", [entry.resource for entry in history.entry])
    except UnreadableError:
        raise UnreadableNotificationError(_TWICE) from None
    if history.type not in ("history", "subscription-notification") or not history.entry:
        raise UnreadableNotificationError("The Bundle is not a notification.")
    first, *entries = history.entry
    notification = _status(first.resource)
    if notification.kind is not Kind.EVENT:
        return notification
    for entry in entries:
        if entry.request is not None and entry.request.method == "DELETE":
            notification.unclear += 1
        elif entry.resource:
            _take(notification, bytes(entry.resource))
        else:
            _name(notification, entry.fullUrl or "")
    if not (notification.patients or notification.resources or notification.own or notification.unclear):
        notification.kind = Kind.PING
    return notification


def _status(raw: Raw) -> Notification:
    try:
        status = msgspec.json.decode(raw, type=_Status)
    except UNREADABLE:
        raise UnreadableNotificationError("The first entry is not a subscription's status.") from None
    named: list[Pointer | None] = []
    if status.resourceType == "Parameters":
        kind = next((p.valueCode for p in status.parameter if p.name == "type"), "")
        events = (p for p in status.parameter if p.name in _EVENT_NAMES)
        named += [part.valueReference for e in events for part in e.part if part.name in _CONTEXT_NAMES]
    elif status.resourceType == "SubscriptionStatus":
        kind = status.type
        for event in status.notificationEvent:
            named += [event.focus, *event.additionalContext]
    else:
        raise UnreadableNotificationError("The first entry is not a subscription's status.")
    try:
        notification = Notification(Kind.STATUS if kind == "query-event" else Kind(kind))
    except ValueError:
        raise UnreadableNotificationError("The notification is of no known type.") from None
    for pointer in named:
        _name(notification, _reference(pointer))
    return notification


def _name(notification: Notification, reference: str) -> None:
    """Note a resource that is only named; a patient is what it is all about."""
    name = _name_in(reference)
    if name.startswith("Patient/"):
        notification.patients.add(name)
    elif name:
        notification.resources.add(name)


def _reference(pointer: Pointer | None) -> str:
    return (pointer.reference if pointer is not None else None) or ""


def _name_in(reference: str) -> str:
    name = short_name(reference)
    return name if _NAME.fullmatch(name) else ""


def _take(notification: Notification, body: bytes) -> None:
    try:
        changed = msgspec.json.decode(body, type=_Changed)
        repeated = repeated_key(body)
    except UNREADABLE:
        raise UnreadableNotificationError("The body is not a resource.") from None
    if repeated is not None:
        raise UnreadableNotificationError(_TWICE)
    if is_own(changed.identifier):
        # What we wrote ourselves would make us write again, without end.
        notification.own += 1
        notification.resources.discard(f"{changed.resourceType}/{changed.id}")
        return
    patient = patient_of(changed)
    if patient:
        notification.patients.add(patient)
        notification.resources.discard(f"{changed.resourceType}/{changed.id}")
    elif changed.id:
        notification.unclear += 1


def is_own(identifier: Raw) -> bool:
    """Tell whether an identifier element holds our name for a result."""
    return OWN_RESULTS.encode() in bytes(identifier)


def patient_of(changed: "_Changed") -> str:
    """Return whose resource it is; empty when it does not say."""
    if changed.resourceType == "Patient":
        return _name_in(f"Patient/{changed.id}")
    name = _name_in(_reference(changed.subject) or _reference(changed.patient))
    return name if name.startswith("Patient/") else ""


def is_emptied(record: Iterable[bytes]) -> bool:
    """Tell whether a record holds nothing but the person and what we wrote ourselves.

    Raises:
        msgspec.MsgspecError: A resource of it is not readable.
    """
    changed = (msgspec.json.decode(raw, type=_Changed) for raw in record)
    return all(one.resourceType == "Patient" or is_own(one.identifier) for one in changed)


def patients_in(resources: Iterable[bytes]) -> set[str]:
    """Return whose resources these are, leaving out what we wrote ourselves."""
    found = set()
    for raw in resources:
        try:
            changed = msgspec.json.decode(raw, type=_Changed)
        except UNREADABLE:
            continue
        if not is_own(changed.identifier) and (patient := patient_of(changed)):
            found.add(patient)
    return found
