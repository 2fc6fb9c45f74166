"""Calculated osmolality of blood: twice the sodium, the glucose and the urea of one time."""

from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal


class Osmolality(Plain, frozen=True):
    """The terms of one time; without a urea it is at least what the two others come to, in mOsm/kg."""

    sodium: Measurement
    sodium_as: Signal
    glucose: Measurement
    urea: Measurement | None

    @property
    def value(self) -> Decimal:
        """The sum, without the urea where none was measured."""
        urea = self.urea.value if self.urea is not None else Decimal(0)
        return 2 * self.sodium.value + self.glucose.value + urea

    @property
    def is_hyperosmolar(self) -> bool:
        """Whether it and the glucose are those of the hyperosmolar state."""
        return criteria.OSMOLALITY.is_met_by(self.value) and criteria.HYPEROSMOLAR_GLUCOSE.is_met_by(
            self.glucose.value
        )

    @property
    def at(self) -> datetime:
        """When the last of sodium and glucose was taken."""
        return max(self.sodium.at, self.glucose.at)

    @property
    def shown(self) -> str:
        """The whole number, as it is said: '352', 'at least 352'."""
        whole = plain(round_half_up(self.value, Decimal(1)))
        return whole if self.urea is not None else f"at least {whole}"

    @property
    def parts(self) -> tuple[tuple[Signal, Measurement], ...]:
        """The results it is worked out of."""
        urea = ((Signal.UREA, self.urea),) if self.urea is not None else ()
        return ((self.sodium_as, self.sodium), (Signal.GLUCOSE, self.glucose), *urea)


def osmolality_at(record: Record, moment: datetime, counts_for: timedelta) -> Osmolality | None:
    """Return the newest osmolality as it could be worked out at a moment, None without its two terms."""
    sodiums = [
        (one.at, signal, one)
        for signal in (Signal.SODIUM_GAS, Signal.SODIUM)
        if (one := exact_at(record, signal, moment, counts_for)) is not None
    ]
    glucose = exact_at(record, Signal.GLUCOSE, moment, counts_for)
    if not sodiums or glucose is None:
        return None
    _, signal, sodium = max(sodiums, key=lambda one: (one[0], one[1] is Signal.SODIUM))
    return Osmolality(sodium, signal, glucose, exact_at(record, Signal.UREA, moment, counts_for))


def exact_at(record: Record, signal: Signal, moment: datetime, counts_for: timedelta) -> Measurement | None:
    """Return the newest result at a moment, None where it is too old or only an interval."""
    newest = record.series(signal).recent(moment, counts_for)
    return newest if newest is not None and newest.is_exact else None


class OsmolalGap(Plain, frozen=True):
    """A measured osmolality and what sodium, glucose and urea come to beside it."""

    measured: Measurement
    calculated: Osmolality

    @property
    def value(self) -> Decimal:
        """What is dissolved besides, in mOsm/kg."""
        return self.measured.value - self.calculated.value

    @property
    def is_high(self) -> bool:
        """Whether it is more than the well have."""
        return gas.OSMOLAL_GAP.is_met_by(self.value)


def osmolal_gap(record: Record, moment: datetime) -> OsmolalGap | None:
    """Return the gap of the osmolality measured nearest to a moment; None without all its terms near it."""
    near = gas.ELECTROLYTES_NEAR.length
    measured = record.series(Signal.OSMOLALITY).nearest(moment, near)
    if measured is None or not measured.is_exact:
        return None
    calculated = osmolality_at(record, measured.at + near, 2 * near)
    return (
        OsmolalGap(measured, calculated) if calculated is not None and calculated.urea is not None else None
    )
