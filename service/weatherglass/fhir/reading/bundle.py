"""From bytes to records: a Bundle of any type, one resource, or NDJSON.

Entries are decoded one by one. A bad one becomes an issue with its path and takes
nothing else with it. What cannot be read as a whole raises `UnreadableError`.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import msgspec
from msgspec import Raw

from weatherglass.clinical.record import Record
from weatherglass.clinical.references import Origin
from weatherglass.fhir import r4
from weatherglass.fhir.issues import Issue, IssueKey, Severity, UnreadableError
from weatherglass.fhir.json_faults import duplicate_key, may_repeat_a_key, place_of_fault
from weatherglass.fhir.reading.build import build_record
from weatherglass.fhir.reading.condition import read_condition
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
from weatherglass.fhir.reading.procedure import read_allergy, read_procedure
from weatherglass.fhir.reading.salvage import fault_in, take_apart

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

#: Stands for an entry that is not JSON while the Bundle around it is.
_SPOILT = "?"

_RESOURCE_TYPE = re.compile(rb'\{\s*"resourceType"\s*:\s*"([A-Za-z]{1,64})"')
_KNOWN_TYPE = re.compile(r"[A-Z][A-Za-z]{1,63}")
_MESSAGE_PATH = re.compile(r"^(?P<what>.*?)(?: - at `(?P<path>[^`]*)`)?$", re.DOTALL)


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


class Item(NamedTuple):
    """One resource, still undecoded, and where it stood."""

    kind: str
    raw: bytes | Raw
    place: Place
    full_url: str | None


def read_bytes(body: bytes) -> Reading:
    """Read one Bundle or one resource.

    Raises:
        UnreadableError: The body is not JSON, not a FHIR resource, or nothing in it
            can be used because of faults.
    """
    return read_items(items_of(body))


def items_of(body: bytes, container: str = "Bundle") -> list[Item]:
    """Split a body into its resources.

    Raises:
        UnreadableError: Not JSON, or not a resource.
    """
    kind = _kind_of(body, container)
    if kind != "Bundle":
        return [Item(kind, body, Place(kind if container == "Bundle" else container, -1), None)]
    try:
        bundle = _decode_whole(body, r4.Bundle, container)
    except UnreadableError as unreadable:
        return _salvaged(body, container, unreadable)
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


def _salvaged(body: bytes, container: str, unreadable: UnreadableError) -> list[Item]:
    """Keep the good entries of a Bundle that is not JSON as a whole."""
    parts = take_apart(body, "entry")
    if parts is None:
        raise unreadable
    bundle = _decode_whole(parts.shell, r4.Bundle, container)
    items: list[Item] = []
    for index, text in enumerate(parts.elements):
        place = Place(container, index)
        try:
            entry = r4.decode(text, r4.Entry)
        except (msgspec.MsgspecError, RecursionError):
            items.append(Item(_SPOILT, text, place, None))
        else:
            items.extend(_items_in(entry, place))
    return [*items, *_further_pages(bundle)]


def _further_pages(bundle: r4.Bundle) -> Iterator[Item]:
    if bundle.type == "searchset" and any(link.relation == "next" for link in bundle.link):
        yield Item("", b"", Place("Bundle.link", -1), None)


def _entries(bundle: r4.Bundle, container: str) -> Iterator[Item]:
    for index, entry in enumerate(bundle.entry):
        yield from _items_in(entry, Place(container, index))


def _items_in(entry: r4.Entry, place: Place) -> Iterator[Item]:
    raw = entry.resource
    if entry.request is not None and entry.request.method == "DELETE":
        yield Item("DELETE", raw, place, None)
        return
    if not raw or raw == b"null":
        return
    match = _RESOURCE_TYPE.match(raw)
    kind = match[1].decode("ascii") if match else _peek(raw)
    if kind != "Bundle":
        yield Item(kind, raw, place, entry.fullUrl)
        return
    try:
        inner = r4.decode(raw, r4.Bundle)
    except (msgspec.MsgspecError, RecursionError):
        yield Item("", raw, place, None)
    else:
        yield from _entries(inner, f"{place.path}.entry")


def read_lines(lines: Iterable[bytes]) -> Reading:
    """Read NDJSON: one resource a line, any order; a bad line is an issue of its own."""
    items: list[Item] = []
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
    return read_items(items, faults)


def read_items(items: Iterable[Item], faults: Iterable[Issue] = ()) -> Reading:
    """Take in resources in any order; the answer does not depend on it.

    Raises:
        UnreadableError: There were faults and nothing usable beside them.
    """
    intake = Intake()
    intake.issues.extend(faults)
    later: list[Item] = []
    for item in items:
        if item.kind in _SHELVED:
            _shelve(intake, item)
        else:
            later.append(item)
    for item in later:
        _take(intake, item)
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


def _shelve(intake: Intake, item: Item) -> None:
    intake.counted += 1
    if item.kind == "Patient":
        patient = _decode(intake, item, r4.Patient)
        if patient is not None:
            origin = _origin(item, "Patient", patient.id)
            read_patient(intake, patient, _names(item, "Patient", patient.id), str(origin))
    elif item.kind == "Medication":
        medication = _decode(intake, item, r4.Medication)
        if medication is not None:
            read_medication(intake, medication, _names(item, "Medication", medication.id))
    else:
        location = _decode(intake, item, r4.Location)
        if location is not None:
            read_location(intake, location, _names(item, "Location", location.id))


def _take(intake: Intake, item: Item) -> None:
    intake.counted += 1
    kind = item.kind
    known = _READERS.get(kind)
    if known is None:
        _take_other(intake, item)
        return
    into, reader = known
    resource = _decode(intake, item, into)
    if resource is not None:
        reader(intake, resource, item.place, _origin(item, kind, resource.id))


def _take_other(intake: Intake, item: Item) -> None:
    if item.kind == "DELETE":
        intake.note(Severity.INFORMATION, IssueKey.DELETED, item.place.path, "A deleted entry; not used.")
    elif item.place.container == "Bundle.link":
        intake.counted -= 1
        intake.note(
            Severity.WARNING,
            IssueKey.INCOMPLETE_BUNDLE,
            "Bundle.link",
            "The search result has further pages that were not sent; the review may be incomplete.",
        )
    elif item.kind == _SPOILT:
        intake.issues.append(_spoilt_issue(item))
    elif item.kind == "OperationOutcome":
        intake.note(
            Severity.WARNING,
            IssueKey.INCOMPLETE_BUNDLE,
            item.place.path,
            "The sender reports a problem of its own; the record may be incomplete.",
        )
    elif _KNOWN_TYPE.fullmatch(item.kind):
        intake.unused_types.setdefault(item.kind, []).append(item.place)
    else:
        intake.note(
            Severity.ERROR,
            IssueKey.WRONG_RESOURCE,
            item.place.path,
            "Not a FHIR resource: resourceType is missing or unreadable; not used.",
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
    return code if re.fullmatch(r"[A-Za-z0-9.\-]{1,24}", code) else "(not shown)"


def _refuse_if_nothing_usable(intake: Intake) -> None:
    if any(not gathered.is_empty for gathered in intake.patients.values()):
        return
    errors = [issue for issue in intake.issues if issue.severity in (Severity.ERROR, Severity.FATAL)]
    if errors:
        raise UnreadableError(*errors)


def _spoilt_issue(item: Item) -> Issue:
    """Say what is wrong with an entry that could be told apart but not read."""
    path = item.place.path.removesuffix(".resource")
    try:
        r4.decode(item.raw, r4.Entry)
    except msgspec.ValidationError as fault:
        return _type_issue(fault, path)
    except msgspec.DecodeError:
        where, what = fault_in(bytes(item.raw))
        return Issue(Severity.ERROR, IssueKey.NOT_JSON, path + where, f"Not valid JSON: {what}; not used.")
    except RecursionError:
        pass
    return Issue(Severity.ERROR, IssueKey.TOO_DEEP, item.place.path, "Nested too deeply; not used.")


# Decoding one resource


def _decode(intake: Intake, item: Item, into: type[Any]) -> Any:
    path = item.place.path
    try:
        resource = r4.decode(item.raw, into)
    except msgspec.ValidationError as fault:
        intake.issues.append(_type_issue(fault, path))
        return None
    except msgspec.DecodeError:
        where, what = place_of_fault(bytes(item.raw))
        place = f"{path}.{where}" if where else path
        intake.note(Severity.ERROR, IssueKey.NOT_JSON, place, f"Not valid JSON: {what}; not used.")
        return None
    except RecursionError:
        intake.note(Severity.ERROR, IssueKey.TOO_DEEP, path, "Nested too deeply; not used.")
        return None
    if may_repeat_a_key(item.kind, item.raw, resource):
        repeated = duplicate_key(bytes(item.raw))
        if repeated is not None:
            intake.note(
                Severity.ERROR,
                IssueKey.DUPLICATE_KEY,
                f"{path}{repeated}",
                "The element stands twice in one object, so its value is not certain; the "
                "resource was not used.",
            )
            return None
    return resource


def _type_issue(fault: msgspec.ValidationError, path: str) -> Issue:
    match = _MESSAGE_PATH.match(str(fault))
    what = match["what"] if match else ""
    inside = (match["path"] or "$") if match else "$"
    key = IssueKey.MISSING_ELEMENT if "missing required field" in what else IssueKey.WRONG_TYPE
    # The message names types and elements only, never a value.
    text = what.replace("`", "'").replace("Object missing", "The resource is missing")
    return Issue(
        Severity.ERROR, key, path + inside.removeprefix("$").replace("[...]", ""), f"{text}; not used."
    )


def _decode_whole(body: bytes, into: type[Any], container: str) -> Any:
    try:
        return r4.decode(body, into)
    except msgspec.ValidationError as fault:
        path = "Bundle" if container == "Bundle" else container
        raise UnreadableError(_type_issue(fault, path)) from None
    except msgspec.DecodeError:
        raise UnreadableError(_not_json(body, container)) from None
    except RecursionError:
        raise UnreadableError(_too_deep(container)) from None


def _kind_of(body: bytes, container: str) -> str:
    match = _RESOURCE_TYPE.match(body.lstrip())
    if match:
        return match[1].decode("ascii")
    try:
        return r4.decode(body, r4.Named).resourceType
    except msgspec.ValidationError:
        raise UnreadableError(
            Issue(
                Severity.FATAL,
                IssueKey.WRONG_RESOURCE,
                "" if container == "Bundle" else container,
                "Expected a JSON object with a resourceType; send a Bundle, one resource, or NDJSON.",
            )
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


def _peek(raw: Raw) -> str:
    try:
        return r4.decode(raw, r4.Named).resourceType
    except (msgspec.MsgspecError, RecursionError):
        return ""


# Names


def _origin(item: Item, kind: str, identity: str | None) -> Origin:
    if item.full_url is not None and item.full_url.startswith("urn:"):
        return Origin(item.full_url)
    if identity:
        return Origin(f"{kind}/{identity}")
    return Origin(item.full_url or item.place.path)


def _names(item: Item, kind: str, identity: str | None) -> list[str]:
    names = [str(_origin(item, kind, identity))]
    if identity:
        names.append(f"{kind}/{identity}")
    if item.full_url:
        names.append(item.full_url)
    return names
