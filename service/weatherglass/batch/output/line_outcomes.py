"""What became of each line of a patient: used, not needed, or rejected with a reason.

A line is used when something of it stands in the record that the rules saw. It is
rejected when nothing of it does and the reading had a reservation about it; the reasons
are the reading's own. Any other line was not needed: its code means nothing to any rule,
its status says that it does not count, another line says the same, or a newer version
of the same resource is in another line.
"""

import re
from collections.abc import Collection, Iterable, Sequence

import msgspec

from weatherglass.batch.sources.framing import CONTAINER, text_of
from weatherglass.batch.sources.partition_keys import look
from weatherglass.fhir.decoding import UNREADABLE
from weatherglass.fhir.issues import Issue, Severity
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.versions.identity import DELETION, deleted_by
from weatherglass.model.record.record import Record

_AT_LINE = re.compile(rf"{CONTAINER}\[(\d+)\]")
_ID = re.compile(r"[A-Za-z0-9.\-]{1,64}")


class Reason(msgspec.Struct, frozen=True):
    """Why a line was rejected: issue code, place inside the resource, and the sentence."""

    issue: str
    at: str
    text: str


class Rejected(msgspec.Struct, kw_only=True, omit_defaults=True):
    """A line that could not be used.

    Attributes:
        patient: Whose it is; empty when it is nobody's.
        resource: Its type and id, when it has them.
        line: The line itself, when it is UTF-8.
        line_bytes: The line in base64, when it is not.
    """

    patient: str = ""
    resource: str = ""
    reasons: list[Reason] = []
    line: str | None = None
    line_bytes: bytes | None = None


def origins_in(record: Record) -> set[str]:
    """Return the origin of everything that stands in a record."""
    found = {str(record.subject.origin)}
    for series in record.numbers.values():
        found.update([measurement.origin for measurement in series.items])
    for answers in record.codes.values():
        found.update([answer.origin for answer in answers.items])
        found.update([answer.beside.origin for answer in answers.items if answer.beside is not None])
    found.update(artefact.measurement.origin for artefact in record.artefacts)
    for holders in (
        record.conditions,
        record.orders,
        record.administrations,
        record.omissions,
        record.not_taken,
        record.procedures,
        record.stays,
        record.reasons,
        record.directives,
        record.allergies,
    ):
        found.update(holder.origin for holder in holders)
    # What stands inside a report is of the report's line.
    return {origin.partition("#")[0] for origin in found}


def reserved(issues: Iterable[Issue], items: Sequence[SentEntry], own: int) -> dict[int, list[Reason]]:
    """Return the reservations about each of a patient's own lines that the reading had any about.

    Args:
        issues: Of the reading.
        items: What was read, numbered as they stand.
        own: How many of them are the patient's own; the rest are shared.
    """
    found: dict[int, list[Reason]] = {}
    for issue in issues:
        match = _AT_LINE.match(issue.path)
        if match is None or issue.severity is Severity.INFORMATION:
            continue
        number = int(match[1])
        if number < own and items[number].container == CONTAINER:
            reason = Reason(issue.key.value, issue.path[match.end() :].lstrip("."), issue.text)
            found.setdefault(number, []).append(reason)
    return found


def named(issue: Issue, items: Sequence[SentEntry]) -> Issue:
    """Return an issue whose path names the resource instead of the number of its line."""
    match = _AT_LINE.match(issue.path)
    if match is None:
        return issue
    path = name_of(items[int(match[1])]) + issue.path[match.end() :]
    return Issue(issue.severity, issue.key, path, issue.text, issue.patient)


def name_of(item: SentEntry) -> str:
    """Return what a resource is called in the output: 'Observation/abc'."""
    identity = _id_of(item)
    named = deleted_by(item) if item.kind == DELETION else None
    kind = named.kind if named is not None else item.kind or "line"
    return f"{kind}/{identity}" if _ID.fullmatch(identity) else f"{kind}[{item.position}]"


def is_used(item: SentEntry, used: Collection[str]) -> bool:
    """Tell whether something of a resource stands in a record, by the origins that stand there."""
    # Where several servers have a resource of this name, the whole address is the origin.
    return origin_of(item) in used or (item.full_url is not None and item.full_url in used)


def origin_of(item: SentEntry) -> str:
    """Return the origin that the reading gives a resource."""
    if item.full_url is not None and item.full_url.startswith("urn:"):
        return item.full_url
    identity = _id_of(item)
    return f"{item.kind}/{identity}" if identity else item.full_url or item.path


def _id_of(item: SentEntry) -> str:
    try:
        return look(item.raw).id or ""
    except UNREADABLE:
        return ""


def rejection(line: bytes, patient: str, resource: str, reasons: Sequence[Reason]) -> bytes:
    """Write a rejected line with its reasons."""
    text = text_of(line)
    kept = Rejected(patient=patient, resource=resource, reasons=list(reasons))
    try:
        kept.line = text.decode()
    except UnicodeDecodeError:
        kept.line_bytes = text
    return msgspec.json.encode(kept) + b"\n"
