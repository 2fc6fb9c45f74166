"""Which antibacterials on a chart only prevent: by their reason, or by a dose that treats nothing."""

from collections.abc import Mapping, Sequence
from typing import Final

from weatherglass.facts.medicines.doses import prevents_by_its_dose
from weatherglass.model.record.medicines import Administration, Medicine, MedicineOrder, Route
from weatherglass.model.record.problems import INFECTED
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin

_SWALLOWED: Final = frozenset({Route.ORAL, Route.ENTERAL, Route.UNKNOWN})


def only_prevents(order: MedicineOrder) -> bool:
    """Tell whether a line of the chart is for prevention; not where its reason is an infection."""
    if order.indication & INFECTED:
        return False
    return order.for_prophylaxis or (order.route in _SWALLOWED and prevents_by_its_dose(order))


def without_prevention(
    record: Record, doses: Sequence[Administration], covers: frozenset[Origin] = frozenset()
) -> tuple[Administration, ...]:
    """Leave out the doses of which every line that they may be of is for prevention.

    Args:
        record: Whose chart it is.
        doses: What was given.
        covers: Lines of one dose that covers an operation.
    """
    given = frozenset[str]().union(*(_names(dose.medicine) for dose in doses))
    prevents: dict[str, bool] = {}
    for order in record.orders:
        named = given & _names(order.medicine)
        is_so = bool(named) and (order.origin in covers or only_prevents(order))
        prevents.update((name, prevents.get(name, True) and is_so) for name in named)
    return tuple(dose for dose in doses if not _is_in_all(prevents, _names(dose.medicine)))


def _is_in_all(prevents: Mapping[str, bool], names: frozenset[str]) -> bool:
    """Tell whether every known line of these names prevents, and there is one."""
    known = names & prevents.keys()
    return bool(known) and all(prevents[name] for name in known)


def _names(medicine: Medicine) -> frozenset[str]:
    return frozenset(medicine.ingredients or (medicine.text,))
