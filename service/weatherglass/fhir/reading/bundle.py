"""From bytes to records: a Bundle of any type, one resource, or NDJSON.

Entries are decoded one by one. A bad one becomes an issue with its path and takes
nothing else with it. What cannot be read as a whole raises `UnreadableError`.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import msgspec

from weatherglass.clinical.record import Record
from weatherglass.clinical.references import Origin
from weatherglass.fhir import r4
from weatherglass.fhir.codes import MEANINGS, OWN_EARLIER_RESULT, Vocabulary
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import duplicate_key
from weatherglass.fhir.reading.addresses import split_address
from weatherglass.fhir.reading.build import build_record
from weatherglass.fhir.reading.condition import read_condition
from weatherglass.fhir.reading.currency import say_copies, without_older
from weatherglass.fhir.reading.decoding import (
    RESOURCE_TYPE,
    decode_one,
    decode_whole,
    kind_of,
    peek,
    require_utf8,
)
from weatherglass.fhir.reading.deletion import DELETION, deletion_of
from weatherglass.fhir.reading.encounter import read_encounter, read_location, settle_stays
from weatherglass.fhir.reading.escalation_plan import (
    read_care_plan,
    read_consent,
    read_flag,
    read_goal,
)
from weatherglass.fhir.reading.intake import Intake, Place
from weatherglass.fhir.reading.medication import (
    read_administration,
    read_medication,
    read_request,
    read_statement,
)
from weatherglass.fhir.reading.observation import read_observation
from weatherglass.fhir.reading.order import read_service_request
from weatherglass.fhir.reading.patient import read_patient
from weatherglass.fhir.reading.plain_observations import take_plain_observations
from weatherglass.fhir.reading.procedure import read_allergy, read_procedure
from weatherglass.fhir.reading.salvage import take_apart
from weatherglass.fhir.resource_types import RESOURCE_TYPES

#: What the review reads; everything else is counted and named, never silently dropped.
_READERS: dict[str, tuple[type[Any], Callable[..., None]]] = {
    "Observation": (r4.Observation, read_observation),
    "Condition": (r4.Condition, read_condition),
    "MedicationRequest": (r4.MedicationRequest, read_request),
    "MedicationStatement": (r4.MedicationStatement, read_statement),
    "MedicationAdministration": (r4.MedicationAdministration, read_administration),
    "Encounter": (r4.Encounter, read_encounter),
    "Procedure": (r4.Procedure, read_procedure),
    "ServiceRequest": (r4.ServiceRequest, read_service_request),
    "Consent": (r4.Consent, read_consent),
    "Flag": (r4.Flag, read_flag),
    "CarePlan": (r4.CarePlan, read_care_plan),
    "Goal": (r4.Goal, read_goal),
    "AllergyIntolerance": (r4.AllergyIntolerance, read_allergy),
}
#: Read first, because the others refer to them.
_SHELVED = ("Patient", "Medication", "Location")

#: Stands for an entry that is nested too deeply to be read at all.
_TOO_DEEP = "?"

#: How nearly every entry begins.
_OBSERVATION = (b'{"resourceType":"Observation"', b'{"resourceType": "Observation"')


@dataclass(frozen=True, slots=True)
class Reading:
    """What one request held.

    Attributes:
        records: One record a patient, in order of the patient's reference.
        issues: Everything that was not used, or used with a reservation.
        counted: How many resources were looked at.
    """

    records: tuple[tuple[str, Record], ...]
    issues: tuple[Issue, ...]
    counted: int


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
    if body.count(b'"entry"') > 1 and (repeated := duplicate_key(body)) is not None:
        raise UnreadableError(
            Issue(
                Severity.FATAL,
                IssueKey.DUPLICATE_KEY,
                f"{'Bundle' if container == 'Bundle' else container}{repeated}",
                "An element stands twice in one object, so part of the request would be lost; send it once.",
            )
        )
    return [*_entries(bundle, container), *_further_pages(bundle)]


def _shallow_entries(body: bytes, container: str, too_deep: UnreadableError) -> Iterator[Place]:
    """Keep what can be read of a Bundle in which something is nested too deeply."""
    parts = take_apart(body, "entry")
    if parts is None:
        raise too_deep
    yield from _further_pages(decode_whole(parts.shell, r4.Bundle, container))
    for position, text in enumerate(parts.elements):
        try:
            yield from _items_in(r4.decode(text, r4.Entry), container, position)
        except RecursionError:
            yield Place(container, position, _TOO_DEEP, text)
        except msgspec.MsgspecError:
            raise too_deep from None


def _further_pages(bundle: r4.Bundle) -> Iterator[Place]:
    if bundle.type == "searchset" and any(link.relation == "next" for link in bundle.link):
        yield Place("Bundle.link", -1)


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
    except (msgspec.MsgspecError, RecursionError):
        yield Place(container, position, "", raw)
    else:
        yield from _entries(inner, f"{Place(container, position).path}.entry")
        yield from _further_pages(inner)


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
    for item in items:
        kind = item.kind
        if kind == "Observation":
            observations.append(item)
        elif kind in _SHELVED:
            shelved.append(item)
        elif kind == DELETION:
            intake.deletions.append(item)
        else:
            later.append(item)
    for item in without_older(intake, shelved):
        _shelve(intake, item)
    for item in without_older(intake, later):
        _take(intake, item)
    for item in take_plain_observations(intake, observations):
        _take(intake, item)
    for item in intake.deletions:
        intake.note(Severity.INFORMATION, IssueKey.DELETED, item.path, "A deleted entry; not used.")
    intake.counted += len(intake.deletions)
    say_copies(intake)
    intake.say_servers()
    settle_stays(intake)
    _say_unused(intake)
    _refuse_if_nothing_usable(intake)
    records = tuple(
        (key, build_record(intake, gathered)) for key, gathered in sorted(intake.patients.items())
    )
    return Reading(records, tuple(sorted(intake.issues, key=_issue_order)), intake.counted)


def _issue_order(issue: Issue) -> tuple[object, ...]:
    numbers = tuple(int(n) for n in re.findall(r"\d+", issue.path)[:1])
    return (numbers, issue.path, issue.key, issue.text)


def _shelve(intake: Intake, item: Place) -> None:
    intake.counted += 1
    if item.kind == "Patient":
        patient = decode_one(intake, item.raw, item, r4.Patient)
        if patient is not None:
            origin = _origin(item, "Patient", patient.id)
            read_patient(intake, patient, _names(item, "Patient", patient.id), str(origin), item)
    elif item.kind == "Medication":
        medication = decode_one(intake, item.raw, item, r4.Medication)
        if medication is not None:
            read_medication(intake, medication, _names(item, "Medication", medication.id), item.full_url)
    else:
        location = decode_one(intake, item.raw, item, r4.Location)
        if location is not None:
            read_location(intake, location, _names(item, "Location", location.id), item.full_url)


def _take(intake: Intake, item: Place) -> None:
    intake.counted += 1
    kind = item.kind
    known = _READERS.get(kind)
    if known is None:
        _take_other(intake, item)
        return
    into, reader = known
    resource = decode_one(intake, item.raw, item, into)
    if resource is not None:
        reader(intake, resource, item, _origin(item, kind, resource.id))


def _take_other(intake: Intake, item: Place) -> None:
    if item.container == "Bundle.link":
        intake.counted -= 1
        intake.note(
            Severity.WARNING,
            IssueKey.INCOMPLETE_BUNDLE,
            "Bundle.link",
            "The search result has further pages that were not sent; the review may be incomplete.",
        )
    elif item.kind == _TOO_DEEP:
        intake.note(Severity.ERROR, IssueKey.TOO_DEEP, item.path, "Nested too deeply; not used.")
    elif item.kind == "OperationOutcome":
        intake.note(
            Severity.WARNING,
            IssueKey.INCOMPLETE_BUNDLE,
            item.path,
            "The sender reports a problem of its own; the record may be incomplete.",
        )
    elif item.kind in RESOURCE_TYPES:
        intake.unused_types.setdefault(item.kind, []).append(item)
    else:
        intake.note(
            Severity.ERROR,
            IssueKey.WRONG_RESOURCE,
            item.path,
            "Not a FHIR R4 resource: resourceType is missing, unreadable or unknown; not used.",
        )


def _say_unused(intake: Intake) -> None:
    for code, places in sorted(intake.unused_codes.items()):
        intake.note(
            Severity.INFORMATION,
            IssueKey.CODE_NOT_USED,
            f"{places[0].path}.code",
            f"{len(places)} Observation(s) with code {_shown(code)} were not needed by any rule.",
        )
    for kind, places in sorted(intake.unused_types.items()):
        intake.note(
            Severity.INFORMATION,
            IssueKey.RESOURCE_NOT_USED,
            places[0].path,
            f"{len(places)} {kind} resource(s) were not needed by any rule.",
        )


def _shown(code: str) -> str:
    # Codes are facts of a terminology, but a sender may have put anything there.
    # A code has a figure in it; a word without one may be anything, but for our own.
    known = code == OWN_EARLIER_RESULT or re.fullmatch(r"(?=.*\d)[A-Za-z0-9.\-]{1,24}", code)
    return code if known else "(not shown)"


def _refuse_if_nothing_usable(intake: Intake) -> None:
    if any(not gathered.is_empty for gathered in intake.patients.values()):
        return
    errors = [issue for issue in intake.issues if issue.severity in (Severity.ERROR, Severity.FATAL)]
    if errors:
        raise UnreadableError(*errors)


# Names


def _origin(item: Place, kind: str, identity: str | None) -> Origin:
    if item.full_url is not None and (item.apart or item.full_url.startswith("urn:")):
        return Origin(item.full_url)
    if identity:
        return Origin(f"{kind}/{identity}")
    return Origin(item.full_url or item.path)


def _names(item: Place, kind: str, identity: str | None) -> list[str]:
    if item.apart:
        # The short name means none of them; with the server before it, it does.
        url = item.full_url
        return [url, "/".join(split_address(url))] if url else []
    names = [str(_origin(item, kind, identity))]
    if identity:
        names.append(f"{kind}/{identity}")
    return [*names, *(name for name in (item.full_url, item.alias) if name)]
