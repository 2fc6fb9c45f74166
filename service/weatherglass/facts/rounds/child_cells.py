"""Where a value of a child lies in the rows of Bedside PEWS for the age: too high, too low, or inside."""

from decimal import Decimal

from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import BandTable

_BY_AGE = {
    Signal.PULSE: pews.HEART_RATE,
    Signal.RESPIRATION_RATE: pews.RESPIRATION_RATE,
    Signal.SYSTOLIC_PRESSURE: pews.SYSTOLIC_PRESSURE,
}


def is_of_the_age(signal: Signal, value: Decimal, months: int) -> bool:
    """Tell whether a sign scores nothing at this age; false of one that has no row of ages."""
    rows = _BY_AGE.get(signal)
    return rows is not None and rows[pews.age_group(months)].points_of(value) == 0


def pulse_above(value: Decimal, months: int) -> Decimal:
    """Return what a pulse scores for being too fast, 0 where it is not."""
    return _above(pews.HEART_RATE[pews.age_group(months)], value)


def pulse_below(value: Decimal, months: int) -> Decimal:
    """Return what a pulse scores for being too slow, 0 where it is not."""
    return _below(pews.HEART_RATE[pews.age_group(months)], value)


def pressure_above(value: Decimal, months: int) -> Decimal:
    """Return what a systolic pressure scores for being too high, 0 where it is not."""
    return _above(pews.SYSTOLIC_PRESSURE[pews.age_group(months)], value)


def pressure_below(value: Decimal, months: int) -> Decimal:
    """Return what a systolic pressure scores for being too low, 0 where it is not."""
    return _below(pews.SYSTOLIC_PRESSURE[pews.age_group(months)], value)


def _above(table: BandTable, value: Decimal) -> Decimal:
    return Decimal(table.points_of(value) if value >= _normal(table) else 0)


def _below(table: BandTable, value: Decimal) -> Decimal:
    return Decimal(table.points_of(value) if value < _normal(table) else 0)


def _normal(table: BandTable) -> Decimal:
    """Return where the row that scores nothing begins."""
    return next(row.low for row in table.bands if row.points == 0 and row.low is not None)
