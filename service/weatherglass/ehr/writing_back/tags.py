"""How our results are known again at a server, and what we last wrote of them.

Each result carries its lasting name twice: as its identifier and as a tag, because some
types have no identifier (Provenance) and some servers do not search for one. A digest
of what was written, with the status it had, tells later whether we have something new to
say and whether somebody has taken the matter up since.
"""

from decimal import Decimal
from hashlib import sha256
from typing import Any, NamedTuple

import msgspec

from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.outputs import OUTPUTS
from weatherglass.fhir.writing.frame.terms import EXTENSION_BASE, IDENTIFIER_SYSTEM, Json

#: Tag under which every result about one patient is found; the code is a digest.
SUBJECT_SYSTEM = "urn:weatherglass:subject"
_WRITTEN = f"{EXTENSION_BASE}written"

#: What changes with the moment of the review and says nothing new by itself. A deadline
#: stays the one that was set first: looking again is no reason to wait longer.
_OF_THE_MOMENT = frozenset(
    {
        "id",
        "meta",
        "text",
        "issued",
        "authoredOn",
        "lastModified",
        "recorded",
        "occurrencePeriod",
        "restriction",
    }
)

_ENCODER = msgspec.json.Encoder(decimal_format="number", order="deterministic")


class Written(NamedTuple):
    """What we last wrote: a digest of it, and the status it had."""

    digest: str
    status: str


def digest_of(resource: Json) -> str:
    """Return a digest of what a result says, whenever it says it.

    Examples:
        >>> one = {"resourceType": "Task", "status": "requested", "authoredOn": "2026-03-12T07:30:00Z"}
        >>> digest_of(one) == digest_of({**one, "authoredOn": "2026-03-12T08:30:00Z"})
        True
        >>> digest_of(one) == digest_of({**one, "priority": "stat"})
        False
    """
    left_out = _OF_THE_MOMENT.union(OUTPUTS[resource["resourceType"]].of_the_moment)
    said = {
        key: _plain(value)
        for key, value in resource.items()
        if key not in left_out and not (key == "extension" and not _others(value))
    }
    if "extension" in said:
        said["extension"] = _plain(_others(resource["extension"]))
    return sha256(_ENCODER.encode(said)).hexdigest()[:20]


def _others(extensions: list[Any]) -> list[Any]:
    return [e for e in extensions if not (isinstance(e, dict) and e.get("url") == _WRITTEN)]


def _plain(value: Any) -> Any:
    """Write 7 and 7.0 alike: servers keep numbers, not always their digits."""
    if isinstance(value, Decimal):
        return str(value.normalize())
    if isinstance(value, int | float) and not isinstance(value, bool):
        return str(Decimal(str(value)).normalize())
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_plain(inner) for inner in value]
    return value


def subject_code(patient: str) -> str:
    """Return the tag code of a patient."""
    return uuid_of("subject", patient)


def tagged(resource: Json, name: str, patient: str | None) -> Json:
    """Return a result as it is written: named, tagged, and with what it says digested."""
    tags = [{"system": IDENTIFIER_SYSTEM, "code": name}]
    if patient is not None:
        tags.append({"system": SUBJECT_SYSTEM, "code": subject_code(patient)})
    others = _others(resource.get("extension", []))
    written = {"url": _WRITTEN, "valueString": f"{digest_of(resource)} {resource.get('status', '')}".strip()}
    meta = {**resource.get("meta", {}), "tag": [*resource.get("meta", {}).get("tag", []), *tags]}
    return {
        "resourceType": resource["resourceType"],
        "meta": meta,
        **{key: value for key, value in resource.items() if key not in ("resourceType", "meta", "extension")},
        "extension": [*others, written],
    }


def name_in(resource: Json) -> str:
    """Return the lasting name of a resource at a server; empty when it is not ours."""
    identifiers = resource.get("identifier", ())
    for one in identifiers if isinstance(identifiers, list) else ():
        if isinstance(one, dict) and one.get("system") == IDENTIFIER_SYSTEM:
            return str(one.get("value", ""))
    for tag in (resource.get("meta") or {}).get("tag", ()):
        if isinstance(tag, dict) and tag.get("system") == IDENTIFIER_SYSTEM:
            return str(tag.get("code", ""))
    return ""


def written_in(resource: Json) -> Written | None:
    """Return what we last wrote of a resource at a server."""
    for extension in resource.get("extension", ()):
        if isinstance(extension, dict) and extension.get("url") == _WRITTEN:
            digest, _, status = str(extension.get("valueString", "")).partition(" ")
            return Written(digest, status)
    return None


def rewritten(resource: Json) -> Json:
    """Return one of our resources as it is written when only its standing changes.

    Its digest is dropped: should the finding come to hold again, that is news.
    """
    meta = {k: v for k, v in (resource.get("meta") or {}).items() if k not in ("versionId", "lastUpdated")}
    written = {"url": _WRITTEN, "valueString": f"closed {resource.get('status', '')}".strip()}
    return {**resource, "meta": meta, "extension": [*_others(resource.get("extension", [])), written]}
