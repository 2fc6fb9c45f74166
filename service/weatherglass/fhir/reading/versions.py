"""How two versions of one resource are told apart: by their times, else by their life.

`newest` holds the rule for one resource; `currency` applies it to a whole request.
"""

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple, TypeVar

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.r4 import CodeableConcept
from weatherglass.fhir.reading.identity import Named
from weatherglass.fhir.times import Precision, read_when

_Read = TypeVar("_Read")

#: Types that others refer to: two of them at once would be a contradiction, not two facts.
ONE_ONLY = frozenset({"Patient", "Medication", "Location"})
#: What a server tags a resource with from which it has left elements out.
_SHORTENED = "SUBSETTED"
_LONGEST_NUMBER = 18

#: How far on in its life a resource is, by its status. What is not named here is at 0:
#: draft, proposed, planned, registered, in preparation, unknown.
_STAGE_OF_STATUS = {
    "on-hold": 1,
    **dict.fromkeys(("preliminary", "arrived", "triaged"), 2),
    **dict.fromkeys(("active", "accepted", "in-progress", "onleave", "final"), 3),
    "amended": 4,
    "corrected": 5,
    **dict.fromkeys(
        "stopped completed cancelled revoked rejected inactive finished not-done not-taken".split(), 6
    ),
}
_STAGE_OF_CLINICAL_STATUS = dict.fromkeys(("active", "recurrence", "relapse"), 3)
_WRONG, _DELETED = 7, 8


class Version(NamedTuple):
    """One version of a resource, with what is needed to compare it.

    Attributes:
        entry: The entry it stands in.
        content: The same for the same content, however it is written.
        updated: `meta.lastUpdated`, when it is an instant.
        number: `meta.versionId`, when it is a number.
        whole: Whether it was sent whole.
        stage: How far on in its life it is.
    """

    entry: Named
    content: str
    updated: datetime | None
    number: int | None
    whole: bool
    stage: int


class Settled(NamedTuple):
    """What is read of the versions of one resource.

    Attributes:
        read: What is read; more than one where nobody can tell.
        older: What something else is newer than.
        passed_over: What is not older for sure, and not read all the same.
        copies: Entries with the content of another one.
    """

    read: tuple[Version, ...]
    older: tuple[Version, ...]
    passed_over: tuple[Version, ...]
    copies: tuple[Named, ...]


def settled(entries: Sequence[Named]) -> Settled:
    """Return which versions of one resource are read; their order does not matter."""
    versions, copies = _distinct(entries)
    if len(versions) == 1:
        return Settled(tuple(versions), (), (), copies)
    # Where the two measures contradict each other in a circle, none is the newest.
    newest = [v for v in versions if not any(_is_newer(other, v) for other in versions)] or versions
    older = tuple(version for version in versions if version not in newest)
    best = max((version.whole, version.stage) for version in newest)
    read = [version for version in newest if (version.whole, version.stage) == best]
    if read[0].entry.kind in ONE_ONLY:
        read = read[:1]
    passed_over = tuple(version for version in newest if version not in read)
    return Settled(tuple(read), older, passed_over, copies)


def _is_newer(one: Version, other: Version) -> bool:
    if one.updated is not None and other.updated is not None and one.updated != other.updated:
        return one.updated > other.updated
    if one.number is not None and other.number is not None:
        return one.number > other.number
    return False


# Content


def _distinct(entries: Iterable[Named]) -> tuple[list[Version], tuple[Named, ...]]:
    """Return one entry for each content, in order of the content, and the other entries."""
    by_bytes: dict[bytes, list[Named]] = {}
    for entry in entries:
        by_bytes.setdefault(bytes(entry.place.raw), []).append(entry)
    by_content: dict[str, list[Named]] = {}
    for raw in sorted(by_bytes):
        content = _content_of(raw) if len(by_bytes) > 1 else ""
        by_content.setdefault(content, []).extend(by_bytes[raw])
    versions: list[Version] = []
    copies: list[Named] = []
    for content, same in sorted(by_content.items()):
        first = next((entry for entry in same if entry.place.full_url), same[0])
        versions.append(_version(first, content))
        copies += [entry for entry in same if entry is not first]
    return versions, tuple(copies)


def _content_of(raw: bytes) -> str:
    try:
        # Numbers stay as they are written: 1.10 is not 1.1 to a laboratory.
        parsed = json.loads(raw, parse_float=_number_as_written, parse_int=_number_as_written)
        return json.dumps(parsed, sort_keys=True)
    except (ValueError, RecursionError):
        return raw.decode("utf-8", "replace")


def _number_as_written(text: str) -> str:
    # A character that no JSON text of a number can hold keeps 1 apart from "1".
    return f"\x00{text}"


# Meta and status


class _Tag(Struct, gc=False):
    code: str | None = None


class _Meta(Struct, gc=False):
    versionId: str | None = None
    lastUpdated: str | None = None
    tag: tuple[_Tag, ...] = ()


class _Told(Struct, gc=False):
    meta: Raw = Raw()
    status: Raw = Raw()
    lifecycleStatus: Raw = Raw()
    clinicalStatus: Raw = Raw()
    verificationStatus: Raw = Raw()


def _version(entry: Named, content: str) -> Version:
    told = _read(entry.place.raw, _Told) or _Told()
    meta = (_read(told.meta, _Meta) if told.meta else None) or _Meta()
    when = read_when(meta.lastUpdated) if meta.lastUpdated else None
    number = meta.versionId or ""
    return Version(
        entry,
        content,
        when.at if when is not None and when.precision is Precision.INSTANT else None,
        int(number) if _is_number(number) else None,
        all(tag.code != _SHORTENED for tag in meta.tag),
        _DELETED if entry.number < 0 else _stage(told),
    )


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) <= _LONGEST_NUMBER


def _stage(told: _Told) -> int:
    status = _text(told.status) or _text(told.lifecycleStatus)
    clinical, verified = _codes(told.clinicalStatus), _codes(told.verificationStatus)
    if "entered-in-error" in (status, *clinical, *verified):
        return _WRONG
    if "refuted" in verified:
        return 0
    stages = [_STAGE_OF_STATUS.get(status, 0)]
    stages += [_STAGE_OF_CLINICAL_STATUS.get(code, 1) for code in clinical]
    return max(stages)


def _text(raw: Raw) -> str:
    return (_read(raw, str) if raw else None) or ""


def _codes(raw: Raw) -> list[str]:
    concept = _read(raw, CodeableConcept) if raw else None
    return [coding.code for coding in concept.coding if coding.code] if concept is not None else []


def _read(raw: bytes | Raw, into: type[_Read]) -> _Read | None:
    try:
        return msgspec.json.decode(raw, type=into)
    except (msgspec.MsgspecError, RecursionError, UnicodeDecodeError):
        return None
