"""A deletion in a history: a version of a resource with nothing in it.

The entry holds no resource; what was deleted stands in `request.url`, and when in
`response`. Both are written down as a resource of which only the name and the version
are known, so that it can travel and be compared like any other version.
"""

import re

import msgspec

from weatherglass.fhir import containers
from weatherglass.fhir.containers import Entry, Request, Response
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.addresses import split_address, unversioned
from weatherglass.fhir.reading.versions.identity import Named

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
    kind, identity = _named_in(bytes(sent.raw))
    return Named(-1, kind, identity, sent) if identity else None


def _named_in(raw: bytes) -> tuple[str, str]:
    try:
        named = decode(raw, containers.Named)
    except UNREADABLE:
        return "", ""
    return named.resourceType, named.id or ""
