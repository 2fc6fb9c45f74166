"""Written doses as numbers, where the order says them in a unit of mass."""

from decimal import Decimal

from weatherglass.model.record import MedicineOrder

_IN_MILLIGRAMS = {
    "mg": Decimal(1),
    "milligram": Decimal(1),
    "milligrams": Decimal(1),
    "g": Decimal(1000),
    "gram": Decimal(1000),
    "grams": Decimal(1000),
    "ug": Decimal("0.001"),
    "mcg": Decimal("0.001"),
    "\u00b5g": Decimal("0.001"),
    "\u03bcg": Decimal("0.001"),
    "microgram": Decimal("0.001"),
    "micrograms": Decimal("0.001"),
}


def daily_milligrams(order: MedicineOrder | None) -> Decimal | None:
    """Return the dose of a day in milligrams; None where it is not written so."""
    if order is None or order.daily_dose is None:
        return None
    factor = _IN_MILLIGRAMS.get(order.dose_unit.casefold().strip())
    return order.daily_dose * factor if factor is not None else None
