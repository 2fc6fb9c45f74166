"""The drug chart: orders, statements and administrations, with the medicine recognised.

Which orders count is data of the medicine rules; here they are read with their status,
their dates and their route, and an order that is not meant to be given is left out with
an issue. A medicine that nobody can recognise stays on the chart by its own words.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal, DecimalException

import msgspec
from msgspec import Raw

from weatherglass.clinical.record import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.clinical.references import Origin
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.r4 import CodeableConcept, Dosage, Reference
from weatherglass.fhir.reading.intake import Gathered, Intake, Place
from weatherglass.fhir.reading.medicine_identity import identify
from weatherglass.fhir.reading.routes import route_of

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
_TIMES_A_DAY = {"h": Decimal(24), "d": Decimal(1), "min": Decimal(1440)}


def read_medication(intake: Intake, medication: r4.Medication, names: Iterable[str]) -> None:
    """Shelve a Medication under every name it may be referred to by."""
    for name in names:
        intake.shelf.medications[name] = medication


def read_request(intake: Intake, request: r4.MedicationRequest, place: Place, origin: Origin) -> None:
    """Take in one MedicationRequest, or write down why not."""
    status = _REQUEST_STATUS.get(request.status)
    if status is None:
        _status_issue(intake, request.status, place)
        return
    if _is_modified(intake, place, request.modifierExtension, request.implicitRules):
        return
    if request.doNotPerform:
        _left_out(intake, f"{place.path}.doNotPerform", "An order not to give the medicine; not reviewed.")
        return
    if request.intent not in INTENTS_IN_FORCE:
        _left_out(intake, f"{place.path}.intent", "Only orders are reviewed, not proposals or options.")
        return
    gathered = intake.gathered_for(request.subject, place, "subject")
    if gathered is None:
        return
    medicine = _medicine(
        intake,
        gathered,
        place,
        request.medicationCodeableConcept,
        request.medicationReference,
        request.contained,
    )
    if medicine is None:
        return
    starts, ends = _validity(intake, request)
    written = intake.instant(request.authoredOn, gathered)
    gathered.orders.append(
        _order(
            medicine,
            origin,
            status,
            request.dosageInstruction,
            starts=starts,
            ends=ends,
            written=written,
            reason=_first_text(request.reasonCode),
            status_reason=_text_of(request.statusReason),
        )
    )


def read_statement(intake: Intake, statement: r4.MedicationStatement, place: Place, origin: Origin) -> None:
    """Take in one MedicationStatement, or write down why not."""
    status = _STATEMENT_STATUS.get(statement.status)
    if status is None:
        _status_issue(intake, statement.status, place)
        return
    if _is_modified(intake, place, statement.modifierExtension, None):
        return
    gathered = intake.gathered_for(statement.subject, place, "subject")
    if gathered is None:
        return
    medicine = _medicine(
        intake,
        gathered,
        place,
        statement.medicationCodeableConcept,
        statement.medicationReference,
        statement.contained,
    )
    if medicine is None:
        return
    starts, ends = intake.period(statement.effectivePeriod)
    gathered.orders.append(
        _order(
            medicine,
            origin,
            status,
            statement.dosage,
            starts=starts or intake.instant(statement.effectiveDateTime, gathered),
            ends=ends,
            written=intake.instant(statement.dateAsserted, gathered),
            reason=_first_text(statement.reasonCode),
            is_statement=True,
        )
    )


def read_administration(
    intake: Intake, given: r4.MedicationAdministration, place: Place, origin: Origin
) -> None:
    """Take in one MedicationAdministration, or write down why not."""
    if given.status not in _GIVEN:
        _status_issue(intake, given.status, place)
        return
    if _is_modified(intake, place, given.modifierExtension, None):
        return
    gathered = intake.gathered_for(given.subject, place, "subject")
    if gathered is None:
        return
    medicine = _medicine(
        intake,
        gathered,
        place,
        given.medicationCodeableConcept,
        given.medicationReference,
        given.contained,
    )
    if medicine is None:
        return
    started, ended = intake.period(given.effectivePeriod)
    at = intake.instant(given.effectiveDateTime, gathered) or started
    if at is None:
        intake.note(
            Severity.WARNING,
            IssueKey.NO_TIME,
            f"{place.path}.effectiveDateTime",
            "There is no usable time, so the dose was not counted; send effectiveDateTime or a period.",
            gathered.key,
        )
        return
    dosage = given.dosage
    gathered.administrations.append(
        Administration(
            origin=origin,
            medicine=medicine,
            at=at,
            ended=ended,
            route=route_of(dosage.route if dosage else None),
            order=_request_origin(given.request),
            dose_text=(dosage.text or "") if dosage else "",
        )
    )


def _request_origin(request: Reference | None) -> Origin | None:
    if request is None or not request.reference:
        return None
    name = request.reference.split("/_history/", 1)[0]
    if name.startswith("urn:"):
        return Origin(name)
    return Origin("/".join(name.split("/")[-2:]))


# The medicine


def _medicine(
    intake: Intake,
    gathered: Gathered,
    place: Place,
    concept: CodeableConcept | None,
    reference: Reference | None,
    contained: tuple[Raw, ...],
) -> Medicine | None:
    concepts: list[CodeableConcept] = [concept] if concept is not None else []
    shown = _text_of(concept)
    if reference is not None:
        shown = shown or reference.display or ""
        medication = _referred(intake, reference, contained)
        if medication is None and reference.reference:
            intake.note(
                Severity.WARNING,
                IssueKey.REFERENCE_NOT_FOUND,
                f"{place.path}.medicationReference",
                "The Medication is not in the request; it was recognised by its display text only.",
                gathered.key,
            )
        if medication is not None:
            if medication.code is not None:
                concepts.append(medication.code)
            shown = _text_of(medication.code) or shown
            concepts.extend(i.itemCodeableConcept for i in medication.ingredient if i.itemCodeableConcept)
    codes = [(c.system or "", c.code) for each in concepts for c in each.coding if c.code]
    texts = [t for each in concepts for t in (each.text, *(c.display for c in each.coding)) if t]
    if reference is not None and reference.display:
        texts.append(reference.display)
    if not codes and not texts:
        intake.note(
            Severity.WARNING,
            IssueKey.MISSING_ELEMENT,
            f"{place.path}.medicationCodeableConcept",
            "The medicine is not named, so it was not reviewed; send a code or its generic name.",
            gathered.key,
        )
        return None
    identity = identify(codes, texts)
    if identity.method is MatchMethod.NONE:
        intake.note(
            Severity.WARNING,
            IssueKey.MEDICINE_NOT_RECOGNISED,
            f"{place.path}.medicationCodeableConcept",
            "The medicine was not recognised and is listed as not reviewed; send an ATC, RxNorm or "
            "SNOMED CT ingredient code, or the generic name.",
            gathered.key,
        )
    return Medicine(
        text=shown or (texts[0] if texts else "medicine without a name"),
        ingredients=identity.ingredients,
        classes=frozenset(c.value for c in identity.classes),
        method=identity.method,
        route_hint=identity.route_hint,
    )


def _referred(intake: Intake, reference: Reference, contained: tuple[Raw, ...]) -> r4.Medication | None:
    name = reference.reference or ""
    if name.startswith("#"):
        for raw in contained:
            try:
                medication = r4.decode(raw, r4.Medication)
            except (msgspec.MsgspecError, RecursionError):
                continue
            if medication.id == name[1:]:
                return medication
        return None
    name = name.split("/_history/", 1)[0]
    shelf = intake.shelf.medications
    return shelf.get(name) or shelf.get("/".join(name.split("/")[-2:]))


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
    status_reason: str = "",
    is_statement: bool = False,
) -> MedicineOrder:
    first = dosages[0] if dosages else None
    dose, unit = _dose(first)
    route = route_of(first.route if first else None)
    if route is Route.UNKNOWN:
        route = medicine.route_hint
    return MedicineOrder(
        origin=origin,
        medicine=medicine,
        status=status,
        route=route,
        starts=starts,
        ends=ends,
        written=written,
        as_needed=bool(first and (first.asNeededBoolean or first.asNeededCodeableConcept)),
        dose_text=(first.text or "") if first else "",
        dose=dose,
        daily_dose=_daily(dosages, dose),
        dose_unit=unit,
        reason=reason,
        status_reason=status_reason,
        is_statement=is_statement,
    )


def _dose(dosage: Dosage | None) -> tuple[Decimal | None, str]:
    if dosage is None or not dosage.doseAndRate:
        return None, ""
    quantity = dosage.doseAndRate[0].doseQuantity
    if quantity is None:
        return None, ""
    return _plain_number(quantity.value), quantity.code or quantity.unit or ""


def _daily(dosages: Sequence[Dosage], dose: Decimal | None) -> Decimal | None:
    """Add up a day, only when every instruction says how much and how often."""
    total = Decimal(0)
    for dosage in dosages:
        amount, _ = _dose(dosage)
        repeat = dosage.timing.repeat if dosage.timing else None
        if amount is None or repeat is None or dosage.asNeededBoolean:
            return None
        frequency = _plain_number(repeat.frequency) or Decimal(1)
        period = _plain_number(repeat.period)
        per_day = _TIMES_A_DAY.get(repeat.periodUnit or "")
        if not period or per_day is None:
            return None
        total += amount * frequency * per_day / period
    return total if dosages and dose is not None else None


def _plain_number(raw: Raw) -> Decimal | None:
    text = bytes(raw)
    if not text or text[0] not in b"0123456789" or len(text) > 20:
        return None
    try:
        return Decimal(text.decode("ascii"))
    except (DecimalException, UnicodeDecodeError):
        return None


def _validity(intake: Intake, request: r4.MedicationRequest) -> tuple[datetime | None, datetime | None]:
    """Return the time an order is in force: the dosage's own bounds before the supply's."""
    for dosage in request.dosageInstruction:
        repeat = dosage.timing.repeat if dosage.timing else None
        if repeat is not None and repeat.boundsPeriod is not None:
            return intake.period(repeat.boundsPeriod)
    if request.dispenseRequest is not None and request.dispenseRequest.validityPeriod is not None:
        return intake.period(request.dispenseRequest.validityPeriod)
    return None, None


# Texts and issues


def _text_of(concept: CodeableConcept | None) -> str:
    if concept is None:
        return ""
    return concept.text or next((c.display for c in concept.coding if c.display), "")


def _first_text(concepts: Sequence[CodeableConcept]) -> str:
    return next((text for text in map(_text_of, concepts) if text), "")


def _status_issue(intake: Intake, status: str, place: Place) -> None:
    known = status in _NOT_GIVEN
    intake.note(
        Severity.INFORMATION if known else Severity.ERROR,
        IssueKey.NOT_FINAL if known else IssueKey.WRONG_TYPE,
        f"{place.path}.status",
        "A medicine with this status is not reviewed."
        if known
        else "Not a status of this resource; the medicine was not reviewed.",
    )


def _left_out(intake: Intake, path: str, text: str) -> None:
    intake.note(Severity.INFORMATION, IssueKey.NOT_FINAL, path, text)


def _is_modified(intake: Intake, place: Place, extension: Raw, rules: str | None) -> bool:
    if not extension and not rules:
        return False
    intake.note(
        Severity.WARNING,
        IssueKey.MODIFIER,
        place.path,
        "A modifier extension or implicit rules may change the meaning; not used.",
    )
    return True
