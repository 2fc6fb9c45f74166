"""The drug chart: orders, statements and administrations, with the medicine recognised.

Which orders count is data of the medicine rules; here they are read with their status,
their dates and their route, and an order that is not meant to be given is left out with
an issue. A medicine that nobody can recognise stays on the chart by its own words.
"""

from collections.abc import Sequence
from datetime import datetime

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import CodeableConcept, Reference
from weatherglass.fhir.r4 import AdministrationDosage, Dosage
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.entries.gate import is_modified, say_status
from weatherglass.fhir.reading.medicines.charted_medicine import medicine_of
from weatherglass.fhir.reading.medicines.dosage import (
    bounds_of,
    day_of,
    dose_of,
    is_as_needed,
    is_for_once,
    named_dosage,
    other_dose_of,
    rate_of,
    read_dosages,
    times_a_day_of,
    times_of_day,
)
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.people.addresses import short_name, unversioned
from weatherglass.fhir.reading.plans.plan_source import keep_target, names_oxygen
from weatherglass.fhir.reading.problems.concept_words import text_of
from weatherglass.fhir.reading.problems.problem_words import Words, said_of
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import (
    Administration,
    Medicine,
    MedicineOrder,
    NotTaken,
    Omission,
    OrderStatus,
    Route,
)
from weatherglass.model.sources import Origin
from weatherglass.terminology.routes import route_in_dosage, route_named

#: Intents that mean the medicine is meant to be given.
#: `plan` and the order family count; `proposal` and `option` are somebody's idea.
INTENTS_IN_FORCE = frozenset(
    {"order", "original-order", "reflex-order", "filler-order", "instance-order", "plan"}
)
_REQUEST_STATUS = {
    "active": OrderStatus.ACTIVE,
    "on-hold": OrderStatus.ON_HOLD,
    "stopped": OrderStatus.STOPPED,
    "completed": OrderStatus.STOPPED,
    "draft": OrderStatus.DRAFT,
}
_STATEMENT_STATUS = {
    "active": OrderStatus.ACTIVE,
    "on-hold": OrderStatus.ON_HOLD,
    "stopped": OrderStatus.STOPPED,
    "completed": OrderStatus.STOPPED,
}
_NOT_GIVEN = {"cancelled", "entered-in-error", "unknown", "intended", "not-taken", "not-done"}
_GIVEN = {"in-progress", "completed", "stopped", "on-hold"}


def read_request(
    collector: Collector, request: r4.MedicationRequest, entry: SentEntry, origin: Origin
) -> None:
    """Take in one MedicationRequest, or write down why not."""
    status = _REQUEST_STATUS.get(request.status)
    if status is None:
        say_status(collector, f"{entry.path}.status", "a medicine", is_known=request.status in _NOT_GIVEN)
        return
    if is_modified(collector, request, entry.path):
        return
    if request.doNotPerform:
        collector.say("medicine-not-to-give", f"{entry.path}.doNotPerform")
        if status is OrderStatus.ACTIVE and request.intent in INTENTS_IN_FORCE:
            _forbid(collector, request, entry, origin)
        return
    if request.intent not in INTENTS_IN_FORCE:
        collector.say("no-order", f"{entry.path}.intent")
        return
    charted = _charted(collector, request, entry)
    if charted is None:
        return
    data, medicine = charted
    dosages = read_dosages(
        collector, data, request.dosageInstruction, Dosage, f"{entry.path}.dosageInstruction"
    )
    starts, ends = _validity(collector, request, dosages)
    written = collector.instant(request.authoredOn, data)
    order = _order(
        medicine,
        origin,
        status,
        dosages,
        starts=starts,
        ends=ends,
        written=written,
        reason=_first_text(request.reasonCode),
        indication=said_of(request.reasonCode, request.reasonReference),
        status_reason=text_of(request.statusReason),
    )
    data.orders.append(replace(order, ran_its_course=request.status == "completed"))
    if status is OrderStatus.ACTIVE and names_oxygen(medicine.text):
        texts = (medicine.text, *(dosage.text or "" for dosage in dosages))
        keep_target(collector, data, entry, origin, texts, at=written or starts, ends=ends)


def _forbid(collector: Collector, request: r4.MedicationRequest, entry: SentEntry, origin: Origin) -> None:
    """Keep an order not to give a medicine, to compare it with what was ordered."""
    charted = _charted(collector, request, entry)
    if charted is None:
        return
    data, medicine = charted
    at = collector.instant(request.authoredOn, data)
    reason = _first_text(request.reasonCode)
    data.not_taken.append(NotTaken(origin=origin, medicine=medicine, at=at, reason=reason, is_order=True))


def read_statement(
    collector: Collector, statement: r4.MedicationStatement, entry: SentEntry, origin: Origin
) -> None:
    """Take in one MedicationStatement, or write down why not."""
    status = _STATEMENT_STATUS.get(statement.status)
    is_taken = statement.status != "not-taken"
    if status is None and is_taken:
        say_status(collector, f"{entry.path}.status", "a medicine", is_known=statement.status in _NOT_GIVEN)
        return
    if is_modified(collector, statement, entry.path):
        return
    charted = _charted(collector, statement, entry)
    if charted is None:
        return
    data, medicine = charted
    starts, ends = collector.period(statement.effectivePeriod)
    starts = starts or collector.instant(statement.effectiveDateTime, data)
    written = collector.instant(statement.dateAsserted, data)
    if status is None:
        reason = _first_text(statement.statusReason) or _first_text(statement.reasonCode)
        data.not_taken.append(
            NotTaken(
                origin=origin, medicine=medicine, at=written or starts, since=starts, ends=ends, reason=reason
            )
        )
        return
    data.orders.append(
        _order(
            medicine,
            origin,
            status,
            read_dosages(collector, data, statement.dosage, Dosage, f"{entry.path}.dosage"),
            starts=starts,
            ends=ends,
            written=written,
            reason=_first_text(statement.reasonCode),
            indication=said_of(statement.reasonCode),
            is_statement=True,
        )
    )


def read_administration(
    collector: Collector, given: r4.MedicationAdministration, entry: SentEntry, origin: Origin
) -> None:
    """Take in one MedicationAdministration, or write down why not."""
    is_omitted = given.status == "not-done"
    if given.status not in _GIVEN and not is_omitted:
        say_status(collector, f"{entry.path}.status", "a medicine", is_known=given.status in _NOT_GIVEN)
        return
    if is_modified(collector, given, entry.path):
        return
    charted = _charted(collector, given, entry)
    if charted is None:
        return
    data, medicine = charted
    started, ended = collector.period(given.effectivePeriod)
    at = collector.instant(given.effectiveDateTime, data) or started
    if at is None:
        collector.say("dose-without-time", f"{entry.path}.effectiveDateTime", data.key)
        return
    if is_omitted:
        order, reason = _request_origin(given.request), _first_text(given.statusReason)
        data.omissions.append(Omission(origin=origin, medicine=medicine, at=at, order=order, reason=reason))
        return
    dosages = read_dosages(collector, data, given.dosage, r4.AdministrationDosage, f"{entry.path}.dosage")
    dosage = dosages[0] if dosages else None
    data.administrations.append(
        Administration(
            origin=origin,
            medicine=medicine,
            at=at,
            ended=ended,
            route=_route(dosage, medicine),
            order=_request_origin(given.request),
            dose_text=_given_text(dosage),
            running=given.status == "in-progress" and ended is None,
        )
    )


def _charted(
    collector: Collector,
    resource: r4.MedicationRequest | r4.MedicationStatement | r4.MedicationAdministration,
    entry: SentEntry,
) -> tuple[PatientData, Medicine] | None:
    """Return whose chart a resource belongs on and its medicine, or write down why not."""
    data = collector.data_for(resource.subject, entry, "subject")
    if data is None:
        return None
    medicine = medicine_of(
        collector,
        data,
        entry,
        resource.medicationCodeableConcept,
        resource.medicationReference,
        resource.contained,
    )
    return data, medicine


def _given_text(dosage: r4.AdministrationDosage | None) -> str:
    if dosage is None or dosage.text:
        return one_line(dosage.text or "") if dosage else ""
    amount, unit = dose_of(dosage)
    return f"{amount} {unit}".rstrip() if amount is not None else ""


def _request_origin(request: Reference | None) -> Origin | None:
    if request is None or not request.reference:
        return None
    name = unversioned(request.reference)
    return Origin(name if name.startswith("urn:") else short_name(name))


# The order


def _order(
    medicine: Medicine,
    origin: Origin,
    status: OrderStatus,
    dosages: Sequence[Dosage],
    *,
    starts: datetime | None,
    ends: datetime | None,
    written: datetime | None,
    reason: str,
    indication: Words,
    status_reason: str = "",
    is_statement: bool = False,
) -> MedicineOrder:
    dose_text = one_line(dosages[0].text or "") or rate_of(dosages[0]) if dosages else ""
    dosages = dosages or named_dosage(medicine.text)
    first = dosages[0] if dosages else None
    day = day_of(dosages)
    return MedicineOrder(
        origin=origin,
        medicine=medicine,
        status=status,
        route=_route(first, medicine),
        starts=starts,
        ends=ends,
        written=written,
        as_needed=first is not None and is_as_needed(first),
        dose_text=dose_text,
        dose=day.dose.amount,
        daily_dose=day.regular,
        daily_at_most=day.at_most,
        dose_unit=day.dose.unit,
        reason=reason,
        status_reason=status_reason,
        is_statement=is_statement,
        indication=indication.kinds,
        for_prophylaxis=indication.prevents and not indication.kinds,
        due=times_of_day(dosages),
        a_day=times_a_day_of(dosages),
        other_dose=other_dose_of(dosages),
        for_once=is_for_once(dosages),
    )


def _route(dosage: Dosage | AdministrationDosage | None, medicine: Medicine) -> Route:
    """Return the recorded route, else the one that the medicine's name implies, else its dosage says."""
    if dosage is None:
        return medicine.route_hint
    for route in (route_of(dosage.route), medicine.route_hint):
        if route is not Route.UNKNOWN:
            return route
    return route_in_dosage(dosage.text or "")


def _validity(
    collector: Collector, request: r4.MedicationRequest, dosages: Sequence[Dosage]
) -> tuple[datetime | None, datetime | None]:
    """Return the time an order is in force: the dosage's own bounds before the supply's."""
    bounds = bounds_of(collector, dosages)
    if bounds is not None:
        return bounds
    if request.dispenseRequest is not None and request.dispenseRequest.validityPeriod is not None:
        return collector.period(request.dispenseRequest.validityPeriod)
    return None, None


# Texts and issues


def _first_text(concepts: Sequence[CodeableConcept]) -> str:
    return next((text for text in map(text_of, concepts) if text), "")


def route_of(concept: CodeableConcept | None) -> Route:
    """Return the route a concept names, "not recorded" when it names none we know."""
    if concept is None:
        return Route.UNKNOWN
    codings = concept.coding
    return route_named(
        (coding.code or "" for coding in codings), (concept.text, *(coding.display for coding in codings))
    )
