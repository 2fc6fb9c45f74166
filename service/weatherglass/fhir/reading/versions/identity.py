"""Which entries of a request are one and the same resource.

FHIR R4 names a resource by its server, its type and its id. A request tells the server
only in `fullUrl`, and NDJSON never does. So:

- the same type and id on the same server are one resource;
- where only one server is named, an entry that names none is taken to be on it;
- on several servers they are different resources, and the short name `Type/id` then
  means none of them (`SentEntry.apart`);
- a `urn:` address is a name of its own, like a server that has only this resource.

An entry with neither id nor address is like no other. `http` and `https` are one server.
"""

import re
from collections.abc import Iterable

import msgspec
from msgspec import Struct

from weatherglass.fhir import containers
from weatherglass.fhir.containers import Entry, Request, Response
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.addresses import split_address, unversioned
from weatherglass.model.plain import Plain


class _Head(Struct, gc=False):
    id: str | None = None


_head = msgspec.json.Decoder(_Head).decode
#: How nearly every resource begins, which tells its id without decoding it.
_USUAL = re.compile(rb'\{\s*"resourceType"\s*:\s*"[A-Za-z]{1,64}"\s*,\s*"id"\s*:\s*"([A-Za-z0-9.\-]{1,64})"')


def identity_of(sent: SentEntry) -> str | None:
    """Return the id of a resource; None when it has none, or none that can be read."""
    usual = _USUAL.match(sent.raw)
    if usual:
        return usual[1].decode("ascii")
    try:
        return _head(sent.raw).id or None
    except UNREADABLE:
        return None


class Named(Plain, frozen=True):
    """One entry with what names it.

    Attributes:
        number: Its number among the entries; -1 for a deletion.
        kind: Its resource type.
        identity: Its id, when it has one.
        sent: Where it stood.
    """

    number: int
    kind: str
    identity: str | None
    sent: SentEntry


class Same(Plain, frozen=True):
    """Entries that are one resource.

    Attributes:
        apart: Whether there is another resource of this type and id.
    """

    entries: tuple[Named, ...]
    apart: bool


def all_differ(places: Iterable[SentEntry], ids: Iterable[str | None]) -> bool:
    """Tell, quickly, that no id and no address stands twice."""
    known = [identity for identity in ids if identity]
    if len(set(known)) != len(known):
        return False
    addresses = [sent.full_url for sent in places if sent.full_url]
    return len(set(addresses)) == len(addresses)


#: Type, address and id; one of the last two may be empty.
_Key = tuple[str, str, str]


def brought_together(entries: Iterable[Named]) -> list[Same]:
    """Return the resources that stand more than once, and those that share a type and an id."""
    held: dict[_Key, list[Named]] = {}
    by_name: dict[tuple[str, str], dict[_Key, None]] = {}
    for entry in entries:
        key = _key_of(entry)
        if key is None:
            continue
        held.setdefault(key, []).append(entry)
        if entry.identity:
            by_name.setdefault((entry.kind, entry.identity), {})[key] = None
    apart: set[_Key] = set()
    for (kind, identity), keys in by_name.items():
        nowhere = (kind, "", identity)
        if len(keys) == 2 and nowhere in keys:
            (somewhere,) = keys.keys() - {nowhere}
            held[somewhere] += held.pop(nowhere)
        elif len(keys) > 1:
            apart.update(keys)
    return [Same(tuple(same), key in apart) for key, same in held.items() if len(same) > 1 or key in apart]


def _key_of(entry: Named) -> _Key | None:
    address = entry.sent.full_url or ""
    if address.startswith("urn:") or (address and not entry.identity):
        return entry.kind, address, ""
    if not entry.identity:
        return None
    server, short = split_address(address)
    if address and short != f"{entry.kind}/{entry.identity}":
        server = address
    return entry.kind, server, entry.identity


# A deletion in a history: a version of a resource with nothing in it.
#
# The entry holds no resource; what was deleted stands in `request.url`, and when in
# `response`. Both are written down as a resource of which only the name and the version
# are known, so that it can travel and be compared like any other version.

#: Kind of the place of a deletion.
DELETION = "DELETE"
_NAME = re.compile(r"([A-Za-z]{1,64})/([A-Za-z0-9.\-]{1,64})")
_TAG = re.compile(r'(?:W/)?"(.{1,64})"')


def deletion_of(entry: Entry) -> tuple[bytes, str | None]:
    """Return a deletion as a resource, empty when it does not say of what, and its address."""
    request, response = entry.request or Request(), entry.response or Response()
    url = unversioned(request.url or "")
    match = _NAME.fullmatch(split_address(url)[1].lstrip("/"))
    kind, identity = match.groups() if match is not None else _named_in(bytes(entry.resource))
    if not kind or not identity:
        return b"", None
    tag = _TAG.fullmatch(response.etag or "")
    meta = {"lastUpdated": response.lastModified, "versionId": tag[1] if tag is not None else None}
    known = {name: value for name, value in meta.items() if value}
    written = {"resourceType": kind, "id": identity, "meta": known}
    return msgspec.json.encode(written), entry.fullUrl or (url if "://" in url else None)


def deleted_by(sent: SentEntry) -> Named | None:
    """Return what a deletion names; None when it does not say."""
    kind, identity = _named_in(sent.raw)
    return Named(-1, kind, identity, sent) if identity else None


def _named_in(raw: bytes) -> tuple[str, str]:
    try:
        named = decode(raw, containers.Named)
    except UNREADABLE:
        return "", ""
    return named.resourceType, named.id or ""
