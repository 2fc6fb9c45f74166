"""Written doses as numbers, where the order says them in a unit of mass or in units of insulin."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Final

from weatherglass.model.record import MedicineOrder
from weatherglass.model.sources import Origin

Dose = tuple[Decimal, Origin]

_MICRO: Final = Decimal("0.001")
_IN_MILLIGRAMS: Final = {
    **dict.fromkeys(("mg", "milligram", "milligrams"), Decimal(1)),
    **dict.fromkeys(("g", "gram", "grams"), Decimal(1000)),
    **dict.fromkeys(("ug", "mcg", "\u00b5g", "\u03bcg", "microgram", "micrograms"), _MICRO),
}
_IN_UNITS: Final = dict.fromkeys(
    ("u", "unit", "units", "{unit}", "{units}", "[iu]", "iu", "[arb'u]", "international unit"), Decimal(1)
)
_FACTORS: Final = {"mg": _IN_MILLIGRAMS, "unit": _IN_UNITS}


def daily_milligrams(order: MedicineOrder | None) -> Decimal | None:
    """Return the dose of a day in milligrams; None where it is not written so."""
    return daily_in("mg", order)


def daily_in(unit: str, order: MedicineOrder | None) -> Decimal | None:
    """Return the dose of a day in "mg" or "unit"; None where it is not written so."""
    factor = _factor(unit, order)
    return order.daily_dose * factor if order is not None and order.daily_dose and factor else None


def single_in(unit: str, order: MedicineOrder | None) -> Decimal | None:
    """Return one dose in "mg" or "unit"; None where it is not written so."""
    factor = _factor(unit, order)
    return order.dose * factor if order is not None and order.dose and factor else None


def doses_a_day(order: MedicineOrder | None) -> Decimal | None:
    """Return how many doses a day holds, a part of one for weekly ones; None where it is not written."""
    if order is None or not order.dose or order.daily_dose is None:
        return None
    return order.daily_dose / order.dose


def largest_doses(orders: Iterable[MedicineOrder]) -> Mapping[tuple[str, str], tuple[Dose, ...]]:
    """Return the two largest single doses of each ingredient, by ingredient and "mg" or "unit"."""
    found: dict[tuple[str, str], tuple[Dose, ...]] = {}
    for order in {order.origin: order for order in orders}.values():
        for unit in _FACTORS:
            dose = single_in(unit, order)
            if dose is None:
                continue
            for name in order.medicine.ingredients:
                ranked = sorted((*found.get((name, unit), ()), (dose, order.origin)), reverse=True)
                found[name, unit] = tuple(ranked[:2])
    return found


def _factor(unit: str, order: MedicineOrder | None) -> Decimal | None:
    return _FACTORS[unit].get(order.dose_unit.casefold().strip()) if order is not None else None
