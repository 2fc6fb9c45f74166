"""From bytes to records: a Bundle of any type, one resource, or NDJSON.

Entries are decoded one by one. A bad one becomes an issue with its path and takes
nothing else with it. What cannot be read as a whole raises `UnreadableError`.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from weatherglass.budget import watched
from weatherglass.fhir import r4
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.r4 import UNREADABLE
from weatherglass.fhir.reading.build import build_record
from weatherglass.fhir.reading.decoding import (
    RESOURCE_TYPE,
    decode_whole,
    kind_of,
    peek,
    require_utf8,
)
from weatherglass.fhir.reading.dispatch import (
    SHELVED,
    TOO_DEEP,
    say_missing_members,
    say_unused,
    shelve,
    take,
)
from weatherglass.fhir.reading.intake import Intake, Place
from weatherglass.fhir.reading.long_texts import bounded
from weatherglass.fhir.reading.pages import LINKS, are_missing, is_page, page_of
from weatherglass.fhir.reading.people.encounter import settle_stays
from weatherglass.fhir.reading.people.merged import settle_merged
from weatherglass.fhir.reading.salvage import take_apart
from weatherglass.fhir.reading.versions.deletion import DELETION, deletion_of
from weatherglass.fhir.reading.versions.newest import say_copies, without_older
from weatherglass.fhir.resource_types import RESOURCE_TYPES
from weatherglass.fhir.shells import require_single_keys, require_single_keys_of
from weatherglass.model.record import Record
from weatherglass.model.signals import label_of
from weatherglass.terminology.observations import MEANINGS, Vocabulary

_NOBODY = "Nothing that was sent is about a patient, so nothing was reviewed."
_PAGES = "The search result has further pages that were not sent; the review may be incomplete."
#: How nearly every entry begins.
_OBSERVATION = (b'{"resourceType":"Observation"', b'{"resourceType": "Observation"')


@dataclass(frozen=True, slots=True)
class Reading:
    """What one request held.

    Attributes:
        records: One record a patient, in order of the patient's reference.
        issues: Everything that was not used, or used with a reservation.
        counted: How many resources were looked at.
        unread: How often each code came that is not read, by the code as it may be shown.
    """

    records: tuple[tuple[str, Record], ...]
    issues: tuple[Issue, ...]
    counted: int
    unread: Mapping[str, int] = field(default_factory=dict)


def read_bytes(body: bytes, vocabulary: Vocabulary = MEANINGS) -> Reading:
    """Read one Bundle or one resource.

    Raises:
        UnreadableError: The body is not JSON, not a FHIR resource, or nothing in it
            can be used because of faults.
    """
    return read_items(items_of(body), vocabulary=vocabulary)


def items_of(body: bytes, container: str = "Bundle") -> list[Place]:
    """Split a body into its resources.

    Raises:
        UnreadableError: Not JSON, or not a resource.
    """
    require_utf8(body, container)
    kind = kind_of(body, container)
    if kind != "Bundle":
        name = kind if kind in RESOURCE_TYPES else ""
        return [Place(name if container == "Bundle" else container, -1, kind, body)]
    try:
        bundle = decode_whole(body, r4.Bundle, container)
    except UnreadableError as unreadable:
        if unreadable.issues[0].key is not IssueKey.TOO_DEEP:
            raise
        return list(_shallow_entries(body, container, unreadable))
    require_single_keys(body, "entry", container, [entry.resource for entry in bundle.entry])
    return [*_entries(bundle, container), *page_of(bundle)]


def _shallow_entries(body: bytes, container: str, too_deep: UnreadableError) -> Iterator[Place]:
    """Keep what can be read of a Bundle in which something is nested too deeply."""
    parts = take_apart(body, "entry")
    if parts is None:
        raise too_deep
    require_single_keys_of(parts.shell, parts.elements, "entry", container)
    yield from page_of(decode_whole(parts.shell, r4.Bundle, container))
    for position, text in enumerate(parts.elements):
        try:
            yield from _items_in(r4.decode(text, r4.Entry), container, position)
        except RecursionError:
            yield Place(container, position, TOO_DEEP, text)
        except UNREADABLE:
            raise too_deep from None


def _entries(bundle: r4.Bundle, container: str) -> Iterator[Place]:
    for position, entry in enumerate(bundle.entry):
        # Copied out of the body once; everything later works on these bytes.
        raw = bytes(entry.resource)
        if raw.startswith(_OBSERVATION) and entry.request is None:
            yield Place(container, position, "Observation", raw, entry.fullUrl)
        else:
            yield from _items_in(entry, container, position)


def _items_in(entry: r4.Entry, container: str, position: int) -> Iterator[Place]:
    raw = entry.resource
    if entry.request is not None and entry.request.method == "DELETE":
        deletion, address = deletion_of(entry)
        yield Place(container, position, DELETION, deletion, address)
        return
    if not raw or raw == b"null":
        return
    match = RESOURCE_TYPE.match(raw)
    kind = match[1].decode("ascii") if match else peek(raw)
    if kind != "Bundle":
        yield Place(container, position, kind, raw, entry.fullUrl)
        return
    try:
        inner = r4.decode(raw, r4.Bundle)
    except UNREADABLE:
        yield Place(container, position, "", raw)
    else:
        held = [each.resource for each in inner.entry]
        require_single_keys(bytes(raw), "entry", Place(container, position).path, held)
        yield from _entries(inner, f"{Place(container, position).path}.entry")
        yield from page_of(inner, entry.fullUrl)


def read_lines(lines: Iterable[bytes], vocabulary: Vocabulary = MEANINGS) -> Reading:
    """Read NDJSON: one resource a line, any order; a bad line is an issue of its own."""
    return read_items(*items_of_lines(lines), vocabulary=vocabulary)


def items_of_lines(lines: Iterable[bytes]) -> tuple[list[Place], list[Issue]]:
    """Split NDJSON into its resources, and say which lines cannot be read."""
    items: list[Place] = []
    faults: list[Issue] = []
    for number, line in enumerate(lines, start=1):
        text = line.strip().removeprefix(b"\xef\xbb\xbf")
        if not text:
            continue
        container = f"line {number}"
        try:
            items.extend(items_of(text, container))
        except UnreadableError as unreadable:
            faults.extend(unreadable.issues)
    return items, faults


def read_items(
    items: Iterable[Place], faults: Iterable[Issue] = (), vocabulary: Vocabulary = MEANINGS
) -> Reading:
    """Take in resources in any order; the answer does not depend on it.

    Args:
        items: The resources.
        faults: What could not even be split into resources.
        vocabulary: What codes mean: the known ones, and a site's own.

    Raises:
        UnreadableError: There were faults and nothing usable beside them.
    """
    intake = Intake(vocabulary)
    intake.issues.extend(faults)
    observations: list[Place] = []
    shelved: list[Place] = []
    later: list[Place] = []
    pages: list[Place] = []
    for sent in watched(items):
        if is_page(sent):
            pages.append(sent)
            continue
        item = bounded(intake, sent)
        kind = item.kind
        if kind == "Observation":
            observations.append(item)
        elif kind in SHELVED:
            shelved.append(item)
        elif kind == DELETION:
            intake.deletions.append(item)
        else:
            later.append(item)
    if are_missing(pages):
        intake.note(Severity.WARNING, IssueKey.INCOMPLETE_BUNDLE, LINKS, _PAGES)
    for item in watched(without_older(intake, shelved)):
        shelve(intake, item)
    settle_merged(intake)
    for item in watched(without_older(intake, later)):
        take(intake, item)
    for item in watched(without_older(intake, observations)):
        take(intake, item)
    for item in intake.deletions:
        intake.note(Severity.INFORMATION, IssueKey.DELETED, item.path, "A deleted entry; not used.")
    intake.counted += len(intake.deletions)
    say_copies(intake)
    intake.say_servers()
    settle_stays(intake)
    say_unused(intake)
    say_missing_members(intake, observations)
    _refuse_if_nothing_usable(intake)
    records = tuple(
        (key, build_record(intake, gathered)) for key, gathered in watched(sorted(intake.patients.items()))
    )
    if not records and not intake.issues:
        # Else it would be said that everything was used.
        intake.note(Severity.INFORMATION, IssueKey.EMPTY, "", _NOBODY)
    issues = tuple(sorted(intake.issues, key=_issue_order))
    return Reading(records, issues, intake.counted, _unread(intake))


def _unread(intake: Intake) -> dict[str, int]:
    counts: dict[str, int] = {}
    for unread, paths in intake.unused_codes.items():
        words = f" ({label_of(unread.suspected)} in words)" if unread.suspected is not None else ""
        name = f"{unread.code or 'not shown'}{words}"
        counts[name] = counts.get(name, 0) + len(paths)
    return counts


def _issue_order(issue: Issue) -> tuple[object, ...]:
    numbers = tuple(int(n) for n in re.findall(r"\d+", issue.path)[:1])
    return (numbers, issue.path, issue.key, issue.text)


def _refuse_if_nothing_usable(intake: Intake) -> None:
    if any(not gathered.is_empty for gathered in intake.patients.values()):
        return
    errors = [issue for issue in intake.issues if issue.severity in (Severity.ERROR, Severity.FATAL)]
    if errors:
        raise UnreadableError(*errors)
