"""The results that a DiagnosticReport or a panel holds inside itself (FHIR R4, references.html, contained).

A contained resource has no life of its own: what it does not say of its subject and its
time, what is around it says. A report that was taken back or has not been made takes its results with it.
"""

from collections.abc import Set as AbstractSet

from msgspec import Raw, Struct

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import Period, Reference
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.r4 import Observation
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.contained import say_contained
from weatherglass.fhir.reading.decoding import decode_one, peek
from weatherglass.fhir.reading.entries.gate import has_modifier
from weatherglass.fhir.reading.observations.observation import read_observation
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.people.addresses import short_name, unversioned
from weatherglass.model.sources import Origin

#: Reports whose results count (FHIR R4 value set diagnostic-report-status).
_COUNTS = frozenset({"partial", "preliminary", "final", "amended", "corrected", "appended"})


class _Report(r4.Resource, gc=False):
    """A report or a panel, as far as its contained results need it."""

    status: str = ""
    subject: Reference | None = None
    effectiveDateTime: str | None = None
    effectiveInstant: str | None = None
    effectivePeriod: Period | None = None
    focus: Raw = Raw()
    contained: tuple[Raw, ...] = ()


def read_results_inside(collector: Collector, entry: SentEntry) -> bool:
    """Read the Observations inside a report or a panel; tell whether there were any to read."""
    if b'"contained"' not in entry.raw:
        return False
    try:
        report = decode(entry.raw, _Report)
    except UNREADABLE:
        return False  # Its type is named as not read; nothing of it can be.
    inside = [(n, raw) for n, raw in enumerate(report.contained) if peek(raw) == "Observation"]
    means_else = has_modifier(report) or report.focus
    if not inside or report.status not in _COUNTS or means_else:
        say_contained(collector, entry)
        return False
    say_contained(collector, entry, but=frozenset({"Observation"}))
    read = (_read(collector, report, entry, number, bytes(raw)) for number, raw in inside)
    # Once a patient: a look for labels goes through the whole report.
    for data in {id(data): data for data in read if data is not None}.values():
        collector.keep_labels(data, entry)  # What is secret of a report is secret of its results.
    return True


def _read(
    collector: Collector, report: _Report, around: SentEntry, number: int, raw: bytes
) -> PatientData | None:
    """Read one result inside, and return whose it is."""
    entry = SentEntry(f"{around.path}.contained", number, "Observation", raw, around.full_url)
    found = decode_one(collector, raw, entry, Observation)
    if found is None:
        return None
    if found.subject is None:
        found.subject = report.subject
    if not _is_timed(found):
        found.effectiveDateTime, found.effectivePeriod = report.effectiveDateTime, report.effectivePeriod
        found.effectiveInstant = report.effectiveInstant
    read_observation(collector, found, entry, _origin(report, around, entry, found.id))
    return collector.whose(found.subject, entry)


def _is_timed(found: Observation) -> bool:
    times = (found.effectiveDateTime, found.effectiveInstant, found.effectivePeriod, found.effectiveTiming)
    return any(time is not None for time in times)


def _origin(report: _Report, around: SentEntry, entry: SentEntry, identity: str | None) -> Origin:
    """Name a result by its report, and inside it by its id, or else by its place."""
    url = around.full_url or ""
    own = f"{around.kind}/{report.id}" if report.id else ""
    name = url if around.apart or url.startswith("urn:") or not own else own
    if not name:
        return Origin(entry.path)
    return Origin(f"{name}#{identity or f'contained-{entry.position}'}")


class _Results(Struct, gc=False):
    result: tuple[Reference, ...] = ()


def results_missing(raw: bytes | Raw, there: AbstractSet[str]) -> int:
    """Return how many results a report names that are not among the names of what was sent."""
    try:
        results = decode(raw, _Results).result
    except UNREADABLE:
        return 0
    named = (unversioned(one.reference) for one in results if one.reference)
    return sum(
        not name.startswith("#") and name not in there and short_name(name) not in there for name in named
    )
