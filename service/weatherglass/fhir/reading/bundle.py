"""From bytes to records: a Bundle of any type, one resource, or NDJSON.

Entries are decoded one by one. A bad one becomes an issue with its path and takes
nothing else with it. What cannot be read as a whole raises `UnreadableError`.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from weatherglass.budget import watched
from weatherglass.fhir.containers import Bundle, Entry
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.reading.build import build_record
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.decoding import RESOURCE_TYPE, decode_whole, kind_of, peek, require_utf8
from weatherglass.fhir.reading.dispatch import (
    REFERENCED_TYPES,
    TOO_DEEP,
    keep_referenced,
    say_missing_members,
    say_unused,
    take,
)
from weatherglass.fhir.reading.long_texts import bounded
from weatherglass.fhir.reading.pages import LINKS, are_missing, is_page, page_of
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.encounter import settle_stays
from weatherglass.fhir.reading.people.merged import settle_merged
from weatherglass.fhir.reading.salvage import take_apart
from weatherglass.fhir.reading.versions.identity import DELETION, deletion_of
from weatherglass.fhir.reading.versions.newest import say_copies, without_older
from weatherglass.fhir.resource_types import RESOURCE_TYPES
from weatherglass.fhir.shells import require_single_keys, require_single_keys_of
from weatherglass.model.record.record import Record
from weatherglass.model.signals import label_of
from weatherglass.terminology.observations import MEANINGS, Vocabulary

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


def items_of(body: bytes, container: str = "Bundle") -> list[SentEntry]:
    """Split a body into its resources.

    Raises:
        UnreadableError: Not JSON, or not a resource.
    """
    require_utf8(body, container)
    kind = kind_of(body, container)
    if kind != "Bundle":
        name = kind if kind in RESOURCE_TYPES else ""
        return [SentEntry(name if container == "Bundle" else container, -1, kind, body)]
    try:
        bundle = decode_whole(body, Bundle, container)
    except UnreadableError as unreadable:
        if unreadable.issues[0].key is not IssueKey.TOO_DEEP:
            raise
        return list(_shallow_entries(body, container, unreadable))
    require_single_keys(body, "entry", container, [entry.resource for entry in bundle.entry])
    return [*_entries(bundle, container), *page_of(bundle)]


def _shallow_entries(body: bytes, container: str, too_deep: UnreadableError) -> Iterator[SentEntry]:
    """Keep what can be read of a Bundle in which something is nested too deeply."""
    parts = take_apart(body, "entry")
    if parts is None:
        raise too_deep
    require_single_keys_of(parts.shell, parts.elements, "entry", container)
    yield from page_of(decode_whole(parts.shell, Bundle, container))
    for position, text in enumerate(parts.elements):
        try:
            yield from _items_in(decode(text, Entry), container, position)
        except RecursionError:
            yield SentEntry(container, position, TOO_DEEP, text)
        except UNREADABLE:
            raise too_deep from None


def _entries(bundle: Bundle, container: str) -> Iterator[SentEntry]:
    for position, entry in enumerate(bundle.entry):
        # Copied out of the body once; everything later works on these bytes.
        raw = bytes(entry.resource)
        if raw.startswith(_OBSERVATION) and entry.request is None:
            yield SentEntry(container, position, "Observation", raw, entry.fullUrl)
        else:
            yield from _items_in(entry, container, position)


def _items_in(entry: Entry, container: str, position: int) -> Iterator[SentEntry]:
    raw = bytes(entry.resource)
    if entry.request is not None and entry.request.method == "DELETE":
        deletion, address = deletion_of(entry)
        yield SentEntry(container, position, DELETION, deletion, address)
        return
    if not raw or raw == b"null":
        return
    match = RESOURCE_TYPE.match(raw)
    kind = match[1].decode("ascii") if match else peek(raw)
    if kind != "Bundle":
        yield SentEntry(container, position, kind, raw, entry.fullUrl)
        return
    try:
        inner = decode(raw, Bundle)
    except UNREADABLE:
        yield SentEntry(container, position, "", raw)
    else:
        held = [each.resource for each in inner.entry]
        require_single_keys(raw, "entry", SentEntry(container, position).path, held)
        yield from _entries(inner, f"{SentEntry(container, position).path}.entry")
        yield from page_of(inner, entry.fullUrl)


def read_lines(lines: Iterable[bytes], vocabulary: Vocabulary = MEANINGS) -> Reading:
    """Read NDJSON: one resource a line, any order; a bad line is an issue of its own."""
    return read_items(*items_of_lines(lines), vocabulary=vocabulary)


def items_of_lines(lines: Iterable[bytes]) -> tuple[list[SentEntry], list[Issue]]:
    """Split NDJSON into its resources, and say which lines cannot be read."""
    items: list[SentEntry] = []
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
    items: Iterable[SentEntry], faults: Iterable[Issue] = (), vocabulary: Vocabulary = MEANINGS
) -> Reading:
    """Take in resources in any order; the answer does not depend on it.

    Args:
        items: The resources.
        faults: What could not even be split into resources.
        vocabulary: What codes mean: the known ones, and a site's own.

    Raises:
        UnreadableError: There were faults and nothing usable beside them.
    """
    collector = Collector(vocabulary)
    collector.issues.extend(faults)
    observations: list[SentEntry] = []
    kept: list[SentEntry] = []
    later: list[SentEntry] = []
    pages: list[SentEntry] = []
    for sent in watched(items):
        if is_page(sent):
            pages.append(sent)
            continue
        item = bounded(collector, sent)
        kind = item.kind
        if kind == "Observation":
            observations.append(item)
        elif kind in REFERENCED_TYPES:
            kept.append(item)
        elif kind == DELETION:
            collector.deletions.append(item)
        else:
            later.append(item)
    if are_missing(pages):
        collector.say("further-pages", LINKS)
    for item in watched(without_older(collector, kept)):
        keep_referenced(collector, item)
    settle_merged(collector)
    for item in watched(without_older(collector, later)):
        take(collector, item)
    for item in watched(without_older(collector, observations)):
        take(collector, item)
    for item in collector.deletions:
        collector.say("deleted-entry", item.path)
    collector.counted += len(collector.deletions)
    say_copies(collector)
    collector.say_servers()
    settle_stays(collector)
    say_unused(collector)
    say_missing_members(collector, observations)
    _refuse_if_nothing_usable(collector)
    records = tuple(
        (key, build_record(collector, data)) for key, data in watched(sorted(collector.patients.items()))
    )
    if not records and not collector.issues:
        # Else it would be said that everything was used.
        collector.say("nobody", "")
    issues = tuple(sorted(collector.issues, key=_issue_order))
    return Reading(records, issues, collector.counted, _unread(collector))


def _unread(collector: Collector) -> dict[str, int]:
    counts: dict[str, int] = {}
    for unread, paths in collector.unused_codes.items():
        words = f" ({label_of(unread.suspected)} in words)" if unread.suspected is not None else ""
        name = f"{unread.code or 'not shown'}{words}"
        counts[name] = counts.get(name, 0) + len(paths)
    return counts


def _issue_order(issue: Issue) -> tuple[object, ...]:
    numbers = tuple(int(n) for n in re.findall(r"\d+", issue.path)[:1])
    return (numbers, issue.path, issue.key, issue.text)


def _refuse_if_nothing_usable(collector: Collector) -> None:
    if any(not data.is_empty for data in collector.patients.values()):
        return
    errors = [issue for issue in collector.issues if issue.severity in (Severity.ERROR, Severity.FATAL)]
    if errors:
        raise UnreadableError(*errors)
