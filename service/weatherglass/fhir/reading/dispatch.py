"""One resource on its way to what reads it: decoded, named, handed over; or written down.

What nothing reads is counted and named, never silently dropped.
"""

from collections.abc import Callable, Iterable
from typing import Any

from weatherglass.fhir import r4
from weatherglass.fhir.containers import OperationOutcome
from weatherglass.fhir.datatypes import CodeableConcept
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.collector import Collector, Unread, keep_by_name
from weatherglass.fhir.reading.contained import DATA, say_contained
from weatherglass.fhir.reading.decoding import decode_one
from weatherglass.fhir.reading.entries.other_releases import is_denied
from weatherglass.fhir.reading.medicines.allergy import read_allergy
from weatherglass.fhir.reading.medicines.medication import read_administration, read_request, read_statement
from weatherglass.fhir.reading.medicines.order import read_service_request
from weatherglass.fhir.reading.medicines.supplies import keep_supply
from weatherglass.fhir.reading.observations.in_reports import read_results_inside, results_missing
from weatherglass.fhir.reading.observations.observation import read_observation
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.addresses import short_name, split_address, unversioned
from weatherglass.fhir.reading.people.encounter import read_encounter
from weatherglass.fhir.reading.people.patient import read_patient
from weatherglass.fhir.reading.plans.document import keep_document
from weatherglass.fhir.reading.plans.escalation_plan import read_care_plan, read_consent, read_flag, read_goal
from weatherglass.fhir.reading.problems.condition import read_condition
from weatherglass.fhir.reading.problems.procedure import read_procedure
from weatherglass.fhir.reading.problems.statements import keep_statement
from weatherglass.fhir.reading.versions.identity import identity_of
from weatherglass.fhir.resource_types import NEWER_TYPES, OLDER_TYPES, RESOURCE_TYPES
from weatherglass.model.signals import CodedSignal, Signal, label_of
from weatherglass.model.sources import Origin
from weatherglass.terminology.observations import (
    LOCAL_MEANINGS,
    LOCAL_SYSTEM,
    LOINC,
    LOINC_MEANINGS,
    OWN_EARLIER_RESULT,
    SNOMED,
    SNOMED_MEANINGS,
    Coded,
    Numeric,
)

#: What the review reads.
READERS: dict[str, tuple[type[Any], Callable[..., None]]] = {
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
REFERENCED_TYPES = ("Patient", "Medication", "Location")

#: Stands for an entry that is nested too deeply to be read at all.
TOO_DEEP = "?"


def keep_referenced(collector: Collector, item: SentEntry) -> None:
    """Put what others refer to where they find it."""
    collector.counted += 1
    if item.kind == "Patient":
        patient = decode_one(collector, item.raw, item, r4.Patient)
        if patient is not None:
            origin = origin_of(item, "Patient", patient.id)
            read_patient(collector, patient, _names(item, "Patient", patient.id), str(origin), item)
    elif item.kind == "Medication":
        medication = decode_one(collector, item.raw, item, r4.Medication)
        if medication is not None:
            names = _names(item, "Medication", medication.id)
            keep_by_name(collector.referenced.medications, medication, names, item.full_url)
    else:
        location = decode_one(collector, item.raw, item, r4.Location)
        if location is not None:
            names = _names(item, "Location", location.id)
            keep_by_name(collector.referenced.locations, location, names, item.full_url)


def take(collector: Collector, item: SentEntry) -> None:
    """Hand one resource to what reads it."""
    collector.counted += 1
    kind = item.kind
    known = READERS.get(kind)
    if known is None:
        _take_other(collector, item)
        return
    into, reader = known
    resource = decode_one(collector, item.raw, item, into)
    if resource is None or is_denied(collector, item, resource):
        return
    if kind in _CAN_BE_NOTHING and says_nothing(collector, item, _about(resource)):
        return
    reader(collector, resource, item, origin_of(item, kind, resource.id))
    if b'"contained"' in item.raw:
        _take_inside(collector, item)


#: What a summary has an entry of even where it has none.
_CAN_BE_NOTHING = frozenset(
    "MedicationStatement MedicationRequest Condition Procedure AllergyIntolerance".split()
)


def _about(resource: Any) -> tuple[CodeableConcept | None, ...]:
    return getattr(resource, "code", None), getattr(resource, "medicationCodeableConcept", None)


def _take_inside(collector: Collector, item: SentEntry) -> None:
    """Read the results inside an Observation; say of results inside anything else that they are not read."""
    if item.kind == "Observation":
        read_results_inside(collector, item)
    else:
        say_contained(collector, item, but=DATA - {"Observation"})


def _take_other(collector: Collector, item: SentEntry) -> None:
    if item.kind == TOO_DEEP:
        collector.say("too-deep", item.path)
    elif item.kind == "OperationOutcome":
        _say_outcome(collector, item)
    elif item.kind == "DiagnosticReport" and _take_report(collector, item):
        pass
    elif item.kind in RESOURCE_TYPES or item.kind in NEWER_TYPES:
        collector.unused_types.setdefault(item.kind, []).append(item)
        if item.kind == "MedicationDispense":
            keep_supply(collector, item, origin_of(item, item.kind, identity_of(item)))
        if item.kind == "DocumentReference":
            keep_document(collector, item, origin_of(item, item.kind, identity_of(item)))
        if item.kind != "DiagnosticReport":
            keep_statement(collector, item, origin_of(item, item.kind, identity_of(item)))
            say_contained(collector, item)
    elif item.kind in OLDER_TYPES:
        collector.say("earlier-release", item.path, kind=item.kind)
    else:
        collector.say("not-r4", item.path)


def _take_report(collector: Collector, item: SentEntry) -> bool:
    """Read what a report concludes and the results inside it; tell whether there were results."""
    keep_statement(collector, item, origin_of(item, item.kind, identity_of(item)))
    return read_results_inside(collector, item)


def _say_outcome(collector: Collector, item: SentEntry) -> None:
    """Say that the sender reports a problem; what it says for information only is no problem."""
    found = decode_one(collector, item.raw, item, OperationOutcome)
    if found is not None and found.issue and {one.severity for one in found.issue} == {"information"}:
        collector.unused_types.setdefault(item.kind, []).append(item)
        return
    collector.say("sender-reports-a-problem", item.path)


def say_unused(collector: Collector) -> None:
    """Write down how many resources were not read, by code and by type."""
    for unread, paths in sorted(collector.unused_codes.items(), key=_by_code):
        severity = Severity.WARNING if unread.suspected is not None else Severity.INFORMATION
        collector.note(severity, IssueKey.CODE_NOT_USED, paths[0], _why_unread(unread, len(paths)))
    for kind, places in sorted(collector.unused_types.items()):
        collector.say("type-not-read", places[0].path, number=len(places), kind=kind)


def _by_code(counted: tuple[Unread, list[str]]) -> tuple[str, str]:
    return counted[0].code, counted[0].suspected or ""


def _why_unread(unread: Unread, count: int) -> str:
    if unread.code == OWN_EARLIER_RESULT:
        return f"{count} earlier result(s) of this software ({OWN_EARLIER_RESULT}) were not read back."
    named = f"{count} Observation(s) with code {unread.code or '(not shown)'}"
    if unread.suspected is None:
        return f"{named} are not read by this software."
    return (
        f"{named} name {label_of(unread.suspected)} in words: not a code that is read, so not used; "
        f"send {_code_for(unread.suspected)}."
    )


def _code_for(signal: Signal | CodedSignal) -> str:
    for system, table in ((LOINC, LOINC_MEANINGS), (SNOMED, SNOMED_MEANINGS), (LOCAL_SYSTEM, LOCAL_MEANINGS)):
        for code, meaning in table.items():
            if isinstance(meaning, Numeric | Coded) and meaning.signal is signal:
                return f"{'LOINC' if system == LOINC else system} {code}"
    return "a code of it that is read"


def say_missing_members(collector: Collector, observations: Iterable[SentEntry]) -> None:
    """Write down which panels and reports came without the members that hold their values."""
    reports = collector.unused_types.get("DiagnosticReport", [])
    if not collector.panels and not reports:
        return
    there = {name for entry in observations for name in _names(entry, "Observation", identity_of(entry))}
    missed = [(entry, missing) for entry in reports if (missing := results_missing(entry.raw, there))]
    if missed:
        collector.say(
            "results-not-sent",
            f"{missed[0][0].path}.result",
            number=sum((number for _, number in missed)),
            reports=len(missed),
        )
    for panel in collector.panels:
        # A member that stands inside its panel is read, or named, with it.
        named = [unversioned(member) for member in panel.members if not member.startswith("#")]
        missing = sum(name not in there and short_name(name) not in there for name in named)
        if missing:
            collector.say("members-not-sent", f"{panel.path}.hasMember", panel.patient, number=missing)


# Names


def origin_of(item: SentEntry, kind: str, identity: str | None) -> Origin:
    """Return how a resource of a request is called where it is evidence."""
    if item.full_url is not None and (item.apart or item.full_url.startswith("urn:")):
        return Origin(item.full_url)
    if identity:
        return Origin(f"{kind}/{identity}")
    return Origin(item.full_url or item.path)


def _names(item: SentEntry, kind: str, identity: str | None) -> list[str]:
    if item.apart:
        # The short name means none of them; with the server before it, it does.
        url = item.full_url
        return [url, "/".join(split_address(url))] if url else []
    names = [str(origin_of(item, kind, identity))]
    if identity:
        names.append(f"{kind}/{identity}")
    return [*names, *(name for name in (item.full_url, item.alias) if name)]


# What a summary sends where it has nothing: "no known medications", "no information about problems".
#
# HL7 International Patient Summary, code system absent-unknown-uv-ips: a section must have an entry, so that
# an entry says that none is known, or that nobody knows. Neither is a medicine, a problem or an operation.
# That no allergy is known is an answer, and read as one.

_SYSTEM = "absent-unknown-uv-ips"
_NONE, _NOTHING = "no-known-", "no-"


def says_nothing(collector: Collector, entry: SentEntry, concepts: Iterable[CodeableConcept | None]) -> bool:
    """Tell whether a resource stands for having nothing, and write down what it says.

    Args:
        collector: Where issues go.
        entry: The resource.
        concepts: What it is about.
    """
    if _SYSTEM.encode() not in entry.raw:
        return False
    codings = (coding for one in concepts if one is not None for coding in one.coding)
    codes = [coding.code or "" for coding in codings if (coding.system or "").rstrip("/").endswith(_SYSTEM)]
    said = next((code for code in codes if code.startswith(_NOTHING)), "")
    is_none = said.startswith(_NONE)
    if not said or (is_none and entry.kind == "AllergyIntolerance"):
        return False
    collector.say("none-is-known" if is_none else "nothing-is-known", entry.path)
    return True
