"""Decoding with the faults named: every one becomes an issue with its path.

Messages name elements and types only, never a value of the input.
"""

import re
from typing import TypeVar

import msgspec
from msgspec import Raw

from weatherglass.fhir.containers import Named
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import place_of_fault, repeated_key
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import SentEntry

_Resource = TypeVar("_Resource")

#: The usual beginning of a resource, which tells its type without decoding it.
RESOURCE_TYPE = re.compile(rb'\{\s*"resourceType"\s*:\s*"([A-Za-z]{1,64})"')
_MESSAGE_PATH = re.compile(r"^(?P<what>.*?)(?: - at `(?P<path>[^`]*)`)?$", re.DOTALL)


def decode_one(collector: Collector, raw: bytes, entry: SentEntry, into: type[_Resource]) -> _Resource | None:
    """Decode one resource; None and an issue with its path when it cannot be read."""
    try:
        resource = decode(raw, into)
        repeated = repeated_key(raw)
    except UNREADABLE as fault:
        collector.issues.append(_issue_of(fault, raw, entry.path))
        return None
    if repeated is None:
        return resource
    collector.say("element-twice", f"{entry.path}{repeated}")
    return None


def _issue_of(fault: Exception, raw: bytes, path: str) -> Issue:
    if isinstance(fault, msgspec.ValidationError):
        return _type_issue(fault, path)
    if isinstance(fault, msgspec.DecodeError):
        where, what = place_of_fault(raw)
        place = f"{path}.{where}" if where else path
        return Issue(Severity.ERROR, IssueKey.NOT_JSON, place, f"Not valid JSON: {what}; not used.")
    return Issue(Severity.ERROR, IssueKey.TOO_DEEP, path, "Nested too deeply; not used.")


#: What was a plain code in earlier releases and is a concept or a coding in R4.
_ONCE_WORDS = frozenset({"$.class", "$.clinicalStatus", "$.verificationStatus"})


def _type_issue(fault: msgspec.ValidationError, path: str) -> Issue:
    match = _MESSAGE_PATH.match(str(fault))
    what = match["what"] if match else ""
    inside = (match["path"] or "$") if match else "$"
    key = IssueKey.MISSING_ELEMENT if "missing required field" in what else IssueKey.WRONG_TYPE
    # The message names types and elements only, never a value.
    text = what.replace("`", "'").replace("Object missing", "The resource is missing")
    if inside == "$.class" and "got `array`" in what:
        text += " (a list is FHIR R5; send R4)"
    if inside in _ONCE_WORDS and "got `str`" in what:
        text += " (a word is FHIR DSTU2 or STU3; send R4)"
    if inside == "$.type" and "got `object`" in what:
        text += " (a concept is FHIR R5; send R4)"
    return Issue(
        Severity.ERROR, key, path + inside.removeprefix("$").replace("[...]", ""), f"{text}; not used."
    )


def decode_whole(body: bytes, into: type[_Resource], container: str) -> _Resource:
    """Decode a whole body.

    Raises:
        UnreadableError: It is not JSON, or not of this shape; the issue names the place.
    """
    try:
        return decode(body, into)
    except msgspec.ValidationError as fault:
        path = "Bundle" if container == "Bundle" else container
        raise UnreadableError(_type_issue(fault, path)) from None
    except msgspec.DecodeError:
        raise UnreadableError(_not_json(body, container)) from None
    except RecursionError:
        raise UnreadableError(_too_deep(container)) from None


def require_utf8(body: bytes, container: str) -> None:
    """Refuse a body that is not UTF-8, which JSON always is.

    Raises:
        UnreadableError: Some byte is not UTF-8; the issue gives its position.
    """
    if body.isascii():
        return
    try:
        body.decode("utf-8")
    except UnicodeDecodeError:
        raise UnreadableError(_not_json(body, container)) from None


def kind_of(body: bytes, container: str) -> str:
    """Tell what a body is by its resourceType.

    Raises:
        UnreadableError: It is not JSON, or has no resourceType.
    """
    match = RESOURCE_TYPE.match(body.lstrip())
    if match:
        return match[1].decode("ascii")
    try:
        return decode(body, Named).resourceType
    except msgspec.ValidationError:
        raise UnreadableError.of(
            IssueKey.WRONG_RESOURCE,
            "Expected a JSON object with a resourceType; send a Bundle, one resource, or NDJSON.",
            path="" if container == "Bundle" else container,
            severity=Severity.FATAL,
        ) from None
    except msgspec.DecodeError:
        raise UnreadableError(_not_json(body, container)) from None
    except RecursionError:
        raise UnreadableError(_too_deep(container)) from None


def _not_json(body: bytes, container: str) -> Issue:
    where, what = place_of_fault(body)
    prefix = "" if container == "Bundle" else f"{container} "
    return Issue(Severity.FATAL, IssueKey.NOT_JSON, f"{prefix}{where}".strip(), f"Not valid JSON: {what}.")


def _too_deep(container: str) -> Issue:
    return Issue(
        Severity.FATAL, IssueKey.TOO_DEEP, container, "The JSON is nested deeper than any FHIR resource."
    )


def peek(raw: bytes | Raw) -> str:
    """Tell what an entry is, empty when it does not say."""
    try:
        return decode(raw, Named).resourceType
    except UNREADABLE:
        return ""


def looks_like_lines(body: bytes) -> bool:
    r"""Tell NDJSON from one JSON value: its first line is a whole object and others follow.

    Examples:
        >>> looks_like_lines(b'{"resourceType":"Patient"}\n{"resourceType":"Patient"}\n')
        True
        >>> looks_like_lines(b'{\n "resourceType": "Patient"\n}')
        False
    """
    first, _, rest = body.strip().partition(b"\n")
    return bool(rest.strip()) and first.rstrip().startswith(b"{") and first.rstrip().endswith(b"}")
