"""Content negotiation: what a body is, and what the caller wants back.

FHIR R4 `http.html`, "Content Types and encodings": `application/fhir+json` is the
type, `application/json` and `text/json` are taken for it, `_format` overrides Accept,
and the parameter `fhirVersion` names the version. We read and write R4 only.
"""

import re
from dataclasses import dataclass

from starlette.requests import Request

from weatherglass.api.access.refusals import NotAcceptableError, UnsupportedMediaError
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.remembered import remembered

FHIR_JSON = "application/fhir+json; charset=utf-8"
FHIR_NDJSON = "application/fhir+ndjson; charset=utf-8"

_JSON = ("application/fhir+json", "application/json", "text/json", "json")
_LINES = ("application/fhir+ndjson", "application/ndjson", "application/x-ndjson", "ndjson")
_RANGES = {"*/*", "application/*", "*"}
_VERSIONS = frozenset({"4.0", "4.0.1"})
_PREFERENCE = re.compile(r'(?:^|[,;])\s*handling\s*=\s*"?(strict|lenient)"?\s*(?=$|[,;])', re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Wanted:
    """How the caller wants the answer.

    Attributes:
        lines: NDJSON instead of one resource.
        pretty: Indented, for people.
        packs: The caller unpacks gzip.
        preference: The preference that is honoured, as it is told back.
    """

    lines: bool = False
    pretty: bool = False
    packs: bool = False
    preference: str = ""

    @property
    def strict(self) -> bool:
        """Whether the input has to be valid FHIR R4 in every part."""
        return self.preference == "handling=strict"


def wanted_by(request: Request, *, lines: bool = False) -> Wanted:
    """Return how the caller wants the answer.

    Args:
        request: The request.
        lines: Whether NDJSON is the natural answer, as to NDJSON.

    Raises:
        NotAcceptableError: In no way that we write.
    """
    headers, query = request.headers, request.query_params
    asked = query.get("_format")
    if asked is not None:
        # A literal plus sign in an address arrives as a space.
        accepted = _accepted(asked.strip().replace(" ", "+"), lines=lines)
    else:
        accepted = _accepted(headers.get("accept", ""), lines=lines)
    prefer = headers.get("prefer")
    found = _PREFERENCE.search(prefer) if prefer else None
    return Wanted(
        lines=accepted,
        pretty=query.get("_pretty", "").lower() == "true",
        packs=_unpacks_gzip(headers.get("accept-encoding", "")),
        preference=f"handling={found[1].lower()}" if found else "",
    )


@remembered(512)
def is_lines(content_type: str) -> bool:
    """Tell NDJSON from JSON by the type of a body.

    Raises:
        UnsupportedMediaError: It is neither, or not FHIR R4, or not UTF-8.
    """
    kind, parameters = _media_type(content_type)
    if parameters.get("fhirversion", "4.0") not in _VERSIONS:
        raise UnsupportedMediaError.of(
            IssueKey.WRONG_FORMAT, "This service reads FHIR R4; send fhirVersion=4.0."
        )
    if parameters.get("charset", "utf-8").lower() not in ("utf-8", "utf8", "us-ascii"):
        raise UnsupportedMediaError.of(IssueKey.WRONG_FORMAT, "FHIR JSON is UTF-8; send charset=utf-8.")
    if kind in _LINES:
        return True
    if kind in _JSON or not kind:
        return False
    raise UnsupportedMediaError.of(
        IssueKey.WRONG_FORMAT, "Send application/fhir+json, application/json or application/fhir+ndjson."
    )


@remembered(512)
def _accepted(accept: str, *, lines: bool) -> bool:
    """Choose between one resource (False) and NDJSON (True) by an Accept header."""
    if not accept.strip():
        return lines
    best = {False: 0.0, True: 0.0}
    wrong_version = False
    for one in accept.split(","):
        kind, parameters = _media_type(one)
        weight = _weight(parameters.get("q", "1"))
        right = parameters.get("fhirversion", "4.0") in _VERSIONS
        for is_ndjson, kinds in ((False, _JSON), (True, _LINES)):
            if kind in kinds or kind in _RANGES:
                wrong_version = wrong_version or not right
                best[is_ndjson] = max(best[is_ndjson], weight if right else 0.0)
    if not any(best.values()):
        text = (
            "This service writes FHIR R4; ask for fhirVersion=4.0."
            if wrong_version
            else ("This service writes application/fhir+json and application/fhir+ndjson only.")
        )
        raise NotAcceptableError.of(IssueKey.WRONG_FORMAT, text)
    return lines if best[False] == best[True] else best[True] > best[False]


def _media_type(text: str) -> tuple[str, dict[str, str]]:
    kind, *rest = text.split(";")
    parameters = {}
    for one in rest:
        name, _, value = one.partition("=")
        parameters[name.strip().lower()] = value.strip().strip('"')
    return kind.strip().lower(), parameters


def _weight(text: str) -> float:
    return float(text) if re.fullmatch(r"0(\.\d{0,3})?|1(\.0{0,3})?", text) else 1.0


@remembered(128)
def _unpacks_gzip(accept_encoding: str) -> bool:
    for one in accept_encoding.split(","):
        kind, parameters = _media_type(one)
        if kind in ("gzip", "x-gzip"):
            return _weight(parameters.get("q", "1")) > 0
    return False
