"""The bodies of answers at the FHIR endpoints: a resource, lines, or an OperationOutcome."""

import zlib
from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import Any

import msgspec
from fastapi import Request, Response

from weatherglass.api.requests.media import FHIR_JSON, FHIR_NDJSON, Wanted
from weatherglass.fhir.issues import Issue
from weatherglass.fhir.writing.bundle import encode
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.fhir.writing.outcome import write_outcome

#: Shorter bodies travel faster as they are.
_WORTH_PACKING = 1024
#: The level that costs least; a review packs to about a sixth even so.
_LEVEL = 1
_GZIP = zlib.MAX_WBITS | 16


class Packer:
    """Compresses an answer piece by piece when the caller can unpack it."""

    def __init__(self, *, packs: bool) -> None:
        """Start one answer."""
        self._packer = zlib.compressobj(_LEVEL, wbits=_GZIP) if packs else None

    def pack(self, piece: bytes) -> bytes:
        """Return what may be sent of a piece now."""
        if self._packer is None:
            return piece
        return self._packer.compress(piece) + self._packer.flush(zlib.Z_SYNC_FLUSH)

    def rest(self) -> bytes:
        """Return the end of the answer."""
        return b"" if self._packer is None else self._packer.flush()


def headers_for(wanted: Wanted, *, packed: bool) -> dict[str, str]:
    """Return the headers of an answer to a caller who wants it so."""
    headers = {"Content-Type": FHIR_NDJSON if wanted.lines else FHIR_JSON}
    if packed:
        headers["Content-Encoding"] = "gzip"
        headers["Vary"] = "Accept-Encoding"
    if wanted.preference:
        headers["Preference-Applied"] = wanted.preference
    return headers


def written(resource: Any, wanted: Wanted) -> tuple[bytes, dict[str, str]]:
    """Return the body and the headers of a resource, given as a value or as ready bytes."""
    body = resource if isinstance(resource, bytes) else encode(resource)
    if wanted.pretty:
        body = msgspec.json.format(body, indent=2)
    packed = wanted.packs and len(body) >= _WORTH_PACKING
    if packed:
        packer = Packer(packs=True)
        body = packer.pack(body) + packer.rest()
    return body, headers_for(wanted, packed=packed)


def published_response(request: Request, resource: Any, wanted: Wanted) -> Response:
    """Answer with what changes with a release only; a caller who has it already is told so.

    The tag is weak: the same resource may be packed or indented (RFC 9110, 8.8.1).
    """
    body = encode(resource)
    tag = f'W/"{sha256(body).hexdigest()[:24]}"'
    kept = {"ETag": tag, "Cache-Control": "no-cache", "Vary": "Accept, Accept-Encoding"}
    if _has(request.headers.get("if-none-match", ""), tag):
        return Response(None, 304, kept)
    content, headers = written(body, wanted)
    return Response(content, 200, {**headers, **kept})


def _has(asked: str, tag: str) -> bool:
    """Tell whether a tag is among those that a caller holds, compared weakly (RFC 9110, 13.1.2)."""
    held = {one.strip().removeprefix("W/") for one in asked.split(",")}
    return "*" in held or tag.removeprefix("W/") in held


def outcome_response(
    issues: Sequence[Issue], status: int, terms: Terms, headers: Mapping[str, str] | None = None
) -> Response:
    """Answer with an OperationOutcome: plain JSON always, so that any caller can read why."""
    return Response(
        encode(write_outcome(issues, terms)),
        status,
        {"Content-Type": FHIR_JSON, **(headers or {})},
    )
