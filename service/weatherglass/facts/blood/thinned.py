"""What keeps this patient's blood from clotting: medicines that act, or only just ended, and the INR."""

from collections.abc import Collection, Iterable
from datetime import datetime
from typing import Final

from weatherglass.facts.medicines.doses import is_preventive
from weatherglass.facts.medicines.drug_chart import Line, Standing, is_in_use, systemic_classes
from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.record.medicines import MedicineOrder
from weatherglass.model.sources import Origin

_REFUSED: Final = " (recorded as not taken)"
_ANTICOAGULANTS = frozenset(each.value for each in ours.ANTICOAGULANTS)


def anticoagulants(patient: Illness) -> tuple[MedicineOrder, ...]:
    """Return the anticoagulants and thrombolytics on the chart."""
    return patient.on_chart(ours.ANTICOAGULANTS)


def beyond_prevention(
    patient: Illness, classes: Collection[MedicineClass] = ours.ANTICOAGULANTS
) -> tuple[MedicineOrder, ...]:
    """Return what is on the chart of these classes in a dose that is not surely for prevention alone."""
    orders = patient.on_chart(classes)
    if not orders:
        return ()
    preventive = {line.order for line in patient.drug_chart.lines if is_preventive(patient.named(line))}
    return tuple(order for order in orders if order.origin not in preventive)


def only_prevents_after(patient: Illness, moment: datetime | None) -> bool:
    """Tell whether every anticoagulant only prevents clots, and was begun a day or more after a moment."""
    lines = _in_use(patient)
    known = {line.order for line in lines}
    if may_still_act(patient) or any(order.origin not in known for order in anticoagulants(patient)):
        return False
    return moment is not None and bool(lines) and all(prevents_after(patient, one, moment) for one in lines)


def _in_use(patient: Illness) -> list[Line]:
    return [
        line
        for line in patient.drug_chart.lines
        if line.standing is Standing.IN_USE and not line.classes.isdisjoint(_ANTICOAGULANTS)
    ]


def prevents_after(patient: Illness, line: Line, moment: datetime) -> bool:
    """Tell whether a line only prevents clots, and was begun a day or more after a moment."""
    began = line.since
    return (
        is_preventive(patient.named(line))
        and began is not None
        and began - moment >= ours.PREVENTION_AFTER_A_BLEED.length
    )


def antithrombotics(patient: Illness) -> tuple[MedicineOrder, ...]:
    """Return these, and what keeps platelets from clumping."""
    return patient.on_chart(ours.ANTICOAGULANTS | ours.ANTIPLATELETS)


def as_taken(patient: Illness, orders: Iterable[MedicineOrder]) -> str:
    """Name medicines that thin the blood, each once, with the word of who says that one is not taken."""
    refused = {line.order for line in patient.drug_chart.lines if line.not_taken is not None}
    orders = tuple(orders)
    here = {one.medicine.ingredients for one in orders if not one.is_statement and one.medicine.ingredients}
    # What is ordered here stands for the same medicine from home.
    kept = (one for one in orders if not (one.is_statement and one.medicine.ingredients in here))
    said = (f"{one.medicine.text}{_REFUSED if one.origin in refused else ''}" for one in kept)
    return ", ".join(dict.fromkeys(said))


def may_still_act(patient: Illness) -> tuple[tuple[str, Origin], ...]:
    """Return the anticoagulants that have ended and may still act, each with what says so."""
    on_chart = {order.origin for order in anticoagulants(patient)}
    ended = [(order.medicine.text, order.origin) for order in _just_ended(patient)]
    given = [
        (line.medicine.text, line.last_dose.origin if line.last_dose is not None else line.order)
        for line in _given_lately(patient)
        if line.order not in on_chart
    ]
    return tuple(dict([*given, *ended]).items())


def is_anticoagulated(patient: Illness) -> bool:
    """Tell whether an anticoagulant or a thrombolytic acts, by an order or by its doses."""
    return bool(_in_use(patient)) or bool(anticoagulants(patient)) or bool(may_still_act(patient))


def thinned_since(patient: Illness) -> datetime | None:
    """Return when the first of what thins the blood was begun; None where it may always have been there."""
    if is_inr_prolonged(patient) or may_still_act(patient):
        return None
    began = [order.began for order in antithrombotics(patient)]
    dated = [at for at in began if at is not None]
    return min(dated) if dated and len(dated) == len(began) else None


def is_inr_prolonged(patient: Illness) -> bool:
    """Tell whether the newest INR that counts is prolonged."""
    inr = patient.inr_now
    return inr is not None and ours.INR_PROLONGED.is_met_by(inr.value)


def _just_ended(patient: Illness) -> tuple[MedicineOrder, ...]:
    """Return anticoagulants that have ended and may still act, and that no other line goes on with."""
    found = []
    for order in patient.drug_chart.ended:
        classes = systemic_classes(order.medicine.classes, order.route)
        if order.ends is None or classes.isdisjoint(_ANTICOAGULANTS):
            continue
        slow = MedicineClass.VITAMIN_K_ANTAGONIST in classes
        acts_for = ours.VITAMIN_K_ANTAGONIST_ACTS_FOR if slow else ours.ANTICOAGULANT_ACTS_FOR
        is_fresh = order.ends <= patient.as_of <= order.ends + acts_for.length
        if is_fresh and not is_in_use(order.medicine, patient.drug_chart.used):
            found.append(order)
    return tuple(found)


def _given_lately(patient: Illness) -> tuple[Line, ...]:
    """Return anticoagulants of which doses are recorded and no order is in force."""
    return tuple(
        line
        for line in patient.drug_chart.lines
        if line.standing is Standing.ENDED and not line.classes.isdisjoint(_ANTICOAGULANTS)
    )
