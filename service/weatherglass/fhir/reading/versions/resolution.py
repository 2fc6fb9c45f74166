"""How two versions of one resource are told apart: by their times, else by their life.

`settled` holds the rule for one resource; `currency` applies it to a whole request.
"""

import json
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TypeVar

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir.datatypes import CodeableConcept, Meta
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.reading.versions.identity import Named
from weatherglass.fhir.times import read_instant
from weatherglass.model.plain import Plain
from weatherglass.model.times.known_times import latest

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


class Version(Plain, frozen=True):
    """One version of a resource, with what is needed to compare it.

    Attributes:
        entry: The entry it stands in.
        updated: `meta.lastUpdated`, when it is an instant.
        number: `meta.versionId`, when it is a number.
        whole: Whether it was sent whole.
        stage: How far on in its life it is.
    """

    entry: Named
    updated: datetime | None
    number: int | None
    whole: bool
    stage: int


class Settled(Plain, frozen=True):
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
    texts, copies = _distinct(entries)
    if len(texts) == 1:
        return Settled((Version(texts[0], None, None, True, 0),), (), (), tuple(copies))
    versions = [_version(entry) for entry in texts]
    newest, older = _parted(versions)
    if len(newest) > 1:
        newest, more = _in_order_of_content(newest)
        copies += more
    best = max((version.whole, version.stage) for version in newest)
    read = [version for version in newest if (version.whole, version.stage) == best]
    if read[0].entry.kind in ONE_ONLY:
        read = read[:1]
    numbers = {version.entry.number for version in read}
    passed_over = tuple(version for version in newest if version.entry.number not in numbers)
    return Settled(tuple(read), tuple(older), passed_over, tuple(copies))


def _parted(versions: Sequence[Version]) -> tuple[list[Version], list[Version]]:
    """Return the versions that no other one is newer than, and those that are older.

    One is newer than another by its time where both have different ones, else by its
    number where both have one. Where that goes round in a circle, none is the newest
    and none is older.
    """
    last = latest(v.updated for v in versions)
    highest: dict[datetime | None, int] = {}
    for version in versions:
        if version.number is not None:
            highest[version.updated] = max(highest.get(version.updated, 0), version.number)
    of_all = max(highest.values(), default=0)

    def is_older(one: Version) -> bool:
        if one.updated is not None and one.updated != last:
            return True
        if one.number is None:
            return False
        # Without a time it is compared with all, with one only with those of the same time or of none.
        rivals = of_all if one.updated is None else max(highest[one.updated], highest.get(None, 0))
        return rivals > one.number

    older = [version for version in versions if is_older(version)]
    if len(older) == len(versions):
        return list(versions), []
    return [version for version in versions if not is_older(version)], older


def is_shortened(one: Version, other: Version) -> bool:
    """Tell whether one is the other with elements left out: the same time and the same number."""
    told = (one.updated, one.number)
    return not one.whole and other.whole and told == (other.updated, other.number) and any(told)


# Content


def _distinct(entries: Iterable[Named]) -> tuple[list[Named], list[Named]]:
    """Return one entry for each text, in order of the texts, and the other entries."""
    by_text: dict[bytes, list[Named]] = {}
    for entry in entries:
        by_text.setdefault(entry.sent.raw, []).append(entry)
    different = [same for _, same in sorted(by_text.items())]
    return [same[0] for same in different], [other for same in different for other in same[1:]]


def _in_order_of_content(versions: Iterable[Version]) -> tuple[list[Version], list[Named]]:
    """Return one version for each content, however it is written, and the entries of the others."""
    by_content: dict[str, list[Version]] = {}
    for version in versions:
        by_content.setdefault(_content_of(version.entry.sent.raw), []).append(version)
    different = [same for _, same in sorted(by_content.items())]
    return [same[0] for same in different], [other.entry for same in different for other in same[1:]]


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


class _Told(Struct, gc=False):
    meta: Raw = Raw()
    status: Raw = Raw()
    lifecycleStatus: Raw = Raw()
    clinicalStatus: Raw = Raw()
    verificationStatus: Raw = Raw()


def _version(entry: Named) -> Version:
    told = _read(entry.sent.raw, _Told) or _Told()
    meta = (_read(told.meta, Meta) if told.meta else None) or Meta()
    number = meta.versionId or ""
    return Version(
        entry,
        read_instant(meta.lastUpdated) if meta.lastUpdated else None,
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
    except UNREADABLE:
        return None
