"""Which antibacterials on a chart only prevent: by their reason, or by a dose that treats nothing."""

from typing import Final

from weatherglass.facts.medicines.doses import prevents_by_its_dose
from weatherglass.model.record.medicines import Administration, Medicine, MedicineOrder, Route
from weatherglass.model.record.problems import INFECTED
from weatherglass.model.record.record import Record

_SWALLOWED: Final = frozenset({Route.ORAL, Route.ENTERAL, Route.UNKNOWN})


def only_prevents(order: MedicineOrder) -> bool:
    """Tell whether a line of the chart is for prevention; not where its reason is an infection."""
    if order.indication & INFECTED:
        return False
    return order.for_prophylaxis or (order.route in _SWALLOWED and prevents_by_its_dose(order))


def was_for_prevention(record: Record, dose: Administration) -> bool:
    """Tell whether every line that a dose may be of is for prevention."""
    of_it = _names(dose.medicine)
    lines = [order for order in record.orders if not of_it.isdisjoint(_names(order.medicine))]
    return bool(lines) and all(map(only_prevents, lines))


def _names(medicine: Medicine) -> frozenset[str]:
    return frozenset(medicine.ingredients or (medicine.text,))
