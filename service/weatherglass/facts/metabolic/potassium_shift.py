"""A high potassium that a medicine has moved into the cells, from where it comes back.

Insulin and beta-agonists take no potassium out of the body: a lower number of the next hours is no
end of it. In ketoacidosis insulin is given for something else and the potassium is meant to fall.
"""

from datetime import datetime

from weatherglass.knowledge.metabolic import potassium_shift as limits
from weatherglass.knowledge.metabolic.metabolic import GLUCOSE
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Administration, MedicineOrder
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import POTASSIUM_OF_EITHER, Signal


class PotassiumShift(Plain, frozen=True):
    """What was moved, and by what.

    Attributes:
        signal: The series of the high potassium.
        high: The last potassium before the dose, beyond the limit for an ECG.
        dose: The newest dose that moved it.
    """

    signal: Signal
    high: Measurement
    dose: Administration

    @property
    def medicine(self) -> str:
        """The medicine in one word."""
        return "insulin" if limits.is_insulin(self.dose.medicine) else "a beta-agonist"


def potassium_shift(record: Record, as_of: datetime) -> PotassiumShift | None:
    """Return the high potassium that a dose of the last hours has moved, None without one."""
    earliest = as_of - limits.SHIFT_LASTS.length
    doses = [
        one
        for one in record.administrations
        if earliest <= one.at <= as_of and limits.moves_potassium(one.medicine)
    ]
    for dose in reversed(doses):
        before = _before(record, dose.at)
        if before is not None and limits.IS_MOVED.is_met_by(before[1].value):
            return PotassiumShift(before[0], before[1], dose)
    return None


def is_for_potassium(record: Record, order: MedicineOrder) -> bool:
    """Tell whether insulin was ordered in the hours after a potassium that it moves, at no high glucose."""
    if order.began is None or not limits.is_insulin(order.medicine):
        return False
    before = _before(record, order.began)
    if before is None or not limits.IS_MOVED.is_met_by(before[1].value):
        return False
    glucose = record.series(Signal.GLUCOSE).within(order.began - limits.SHIFT_LASTS.length, order.began)
    return not any(GLUCOSE.is_met_by(one.value) for one in glucose)


def _before(record: Record, at: datetime) -> tuple[Signal, Measurement] | None:
    """Return the last exact potassium of the hours before a dose, of either specimen."""
    found = [
        (signal, one)
        for signal in POTASSIUM_OF_EITHER
        if (one := record.series(signal).last_by(at)) is not None
        and one.is_exact
        and at - one.at <= limits.SHIFT_LASTS.length
    ]
    return max(found, key=lambda pair: pair[1].at, default=None)
