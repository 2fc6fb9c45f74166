"""Which medicine a chart's resource is about: coded in place, contained, or referred to.

An order whose Medication was not sent takes its name from a dose that names the order, and such a
dose from its order. What is nameless after that stays on the chart as an order without a name.
"""

from collections.abc import Sequence
from typing import TypeVar

import msgspec
from msgspec import Raw, Struct

from weatherglass.fhir import r4
from weatherglass.fhir.datatypes import CodeableConcept, Reference
from weatherglass.fhir.decoding import UNREADABLE, decode
from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.patient_data import PatientData, SentEntry
from weatherglass.fhir.reading.problems.concept_words import coded, text_of, texts_of
from weatherglass.fhir.safe_text import one_line
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import (
    UNNAMED,
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.model.sources import Origin
from weatherglass.model.words.lists import capital
from weatherglass.terminology.medicines import Identity, identify


def medicine_of(
    collector: Collector,
    data: PatientData,
    entry: SentEntry,
    concept: CodeableConcept | None,
    reference: Reference | None,
    contained: tuple[Raw, ...],
) -> Medicine:
    """Recognise the medicine of one resource; an issue when it is unknown or has no name."""
    concepts: list[CodeableConcept] = [concept] if concept is not None else []
    medication: r4.Medication | None = None
    shown = text_of(concept)
    if reference is not None:
        shown = shown or one_line(reference.display or "")
        medication = _referred(collector, reference, contained, entry.full_url)
        if medication is None and reference.reference:
            issue = "medication-by-display" if shown else "medication-not-sent"
            collector.say(issue, f"{entry.path}.medicationReference", data.key)
        if medication is not None:
            if medication.code is not None:
                concepts.append(medication.code)
            shown = text_of(medication.code) or shown
            concepts.extend(i.itemCodeableConcept for i in medication.ingredient if i.itemCodeableConcept)
    codes, texts = coded(concepts), texts_of(*concepts)
    if reference is not None and reference.display:
        texts.append(reference.display)
    element = "medicationReference" if concept is None and reference is not None else _CONCEPT
    if not codes and not texts:
        if concept is None and reference is None and is_of_release_5(entry):
            collector.say("medicine-of-release-5", f"{entry.path}.medication", data.key)
        elif element == _CONCEPT or medication is not None or not (reference and reference.reference):
            collector.say("medicine-unnamed", f"{entry.path}.{element}", data.key)
        return Medicine(text=UNNAMED)
    identity = identify(codes, [*texts, *collector.own_medicines.named(codes, texts)])
    _say_doubts(collector, data, f"{entry.path}.{element}", identity)
    return Medicine(
        text=shown or (texts[0] if texts else _by_code(identity, codes)),
        ingredients=identity.ingredients,
        classes=frozenset(c.value for c in identity.classes),
        method=identity.method,
        route_hint=identity.route_hint,
        also_named=identity.also_named,
    )


def _say_doubts(collector: Collector, data: PatientData, at: str, identity: Identity) -> None:
    """Say that nobody recognised a medicine, or that its code and its words name different ones."""
    if identity.method is MatchMethod.NONE:
        collector.say("medicine-not-recognised", at, data.key)
    if not set(identity.also_named) <= set(identity.ingredients):
        collector.say("medicine-named-twice", at, data.key)


_CONCEPT = "medicationCodeableConcept"


class _OfRelease5(Struct, gc=False):
    medication: Raw = Raw()


_release_5 = msgspec.json.Decoder(_OfRelease5).decode


def is_of_release_5(entry: SentEntry) -> bool:
    """Tell whether the medicine stands where R5 writes it; R4 has no element of that name."""
    try:
        return bytes(_release_5(entry.raw).medication).startswith(b"{")
    except UNREADABLE:
        return False


def _by_code(identity: Identity, codes: Sequence[tuple[str, str]]) -> str:
    """Name a medicine that came as a code alone: by its ingredients, else by the code that was recognised."""
    name = " with ".join(identity.ingredients)
    if not name and identity.method is not MatchMethod.NONE and codes:
        name = f"{identity.method.value} {one_line(codes[0][1])}"
    return capital(name) or UNNAMED


_Charted = TypeVar("_Charted", MedicineOrder, Administration)


def with_names(
    orders: Sequence[MedicineOrder], doses: Sequence[Administration]
) -> tuple[list[MedicineOrder], list[Administration]]:
    """Name orders by the doses that refer to them, and doses by their orders.

    Returns:
        The orders, of which only those in force may still be without a name; and the doses with one.
    """
    by_dose = {dose.order: dose.medicine for dose in doses if dose.order and not dose.medicine.is_unnamed}
    named = [_named(order, by_dose.get(order.origin)) for order in orders]
    by_order: dict[Origin | None, Medicine] = {
        order.origin: order.medicine for order in named if not order.medicine.is_unnamed
    }
    given = [_named(dose, by_order.get(dose.order)) for dose in doses]
    return (
        [o for o in named if not (o.medicine.is_unnamed and o.status is OrderStatus.STOPPED)],
        [dose for dose in given if not dose.medicine.is_unnamed],
    )


def _named(charted: _Charted, medicine: Medicine | None) -> _Charted:
    if medicine is None or not charted.medicine.is_unnamed:
        return charted
    route = medicine.route_hint if charted.route is Route.UNKNOWN else charted.route
    return replace(charted, medicine=medicine, route=route)


def _referred(
    collector: Collector, reference: Reference, contained: tuple[Raw, ...], full_url: str | None
) -> r4.Medication | None:
    name = reference.reference or ""
    if name.startswith("#"):
        for raw in contained:
            try:
                medication = decode(raw, r4.Medication)
            except UNREADABLE:
                continue
            if medication.id == name[1:]:
                return medication
        return None
    kept = collector.find(collector.referenced.medications, name, full_url)
    return kept.resource if kept is not None else None
