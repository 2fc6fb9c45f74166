"""The anion gap of a blood gas: is it of chloride, and what of it do lactate and ketones not explain?"""

from decimal import Decimal

from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.metabolic import metabolic
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal


class AnionGap(Plain, frozen=True):
    """The gap of one sample and what lies near it.

    Attributes:
        bare: Sodium less chloride and bicarbonate.
        parts: What it is worked out of, the chloride second, an albumin last.
        albumin: By which it is adjusted; None where none is near.
        lactate: The nearest, None where none is near.
        ketones: The same.
    """

    bare: Decimal
    parts: tuple[tuple[Signal, Measurement], ...]
    albumin: Measurement | None
    lactate: Measurement | None
    ketones: Measurement | None

    @property
    def value(self) -> Decimal:
        """The gap, adjusted by the albumin where that is known."""
        if self.albumin is None:
            return self.bare
        return self.bare + gas.GAP_FOR_ALBUMIN.value * (limits.ALBUMIN_NORMAL.value - self.albumin.value)

    @property
    def is_high(self) -> bool:
        """Whether it is above the usual one."""
        return gas.GAP_HIGH.is_met_by(self.value)

    @property
    def chloride(self) -> Measurement:
        """The chloride."""
        return self.parts[1][1]

    @property
    def is_of_chloride(self) -> bool:
        """Whether chloride is high where the gap is not: what acidosis there is, is of chloride."""
        return not self.is_high and gas.CHLORIDE_HIGH.is_met_by(self.chloride.value)

    @property
    def is_of_ketones(self) -> bool:
        """Whether ketones as of ketoacidosis explain it."""
        return self.ketones is not None and metabolic.KETONES.is_met_by(self.ketones.value)

    @property
    def is_of_lactate(self) -> bool:
        """Whether a lactate as of tissue hypoperfusion explains it."""
        return self.lactate is not None and gas.LACTATE_EXPLAINS.is_met_by(self.lactate.value)

    @property
    def left(self) -> Decimal:
        """What of the gap neither is usual nor lactate and ketones come to."""
        known = (_most(one) for one in (self.lactate, self.ketones) if one is not None)
        return self.value - gas.NORMAL_GAP.value - sum(known, Decimal(0))


def anion_gap(record: Record, sample: GasSample) -> AnionGap | None:
    """Return the gap of a sample; None without its sodium, chloride or bicarbonate."""
    sodium = _near(record, (Signal.SODIUM_GAS, Signal.SODIUM), sample)
    chloride = _near(record, (Signal.CHLORIDE,), sample)
    base = sample.bicarbonate
    if sodium is None or chloride is None or base is None:
        return None
    albumin = record.series(Signal.ALBUMIN).nearest(sample.ph.at, gas.ALBUMIN_NEAR.length)
    exact = albumin if albumin is not None and albumin.is_exact else None
    near = gas.ELECTROLYTES_NEAR.length
    return AnionGap(
        sodium[1].value - chloride[1].value - base.value,
        (
            sodium,
            chloride,
            (Signal.BICARBONATE, base),
            *(((Signal.ALBUMIN, exact),) if exact is not None else ()),
        ),
        exact,
        record.series(Signal.LACTATE).nearest(sample.ph.at, near),
        record.series(Signal.KETONES).nearest(sample.ph.at, near),
    )


def _most(one: Measurement) -> Decimal:
    """Return the most that a result can be: '< 0.1' is at most 0.1."""
    return one.value if one.highest is None else one.highest


def _near(
    record: Record, signals: tuple[Signal, ...], sample: GasSample
) -> tuple[Signal, Measurement] | None:
    """Return the exact result nearest to the sample, of the gas machine before the laboratory."""
    for signal in signals:
        one = record.series(signal).nearest(sample.ph.at, gas.ELECTROLYTES_NEAR.length)
        if one is not None and one.is_exact:
            return signal, one
    return None


def acidosis_words(record: Record, sample: GasSample) -> str:
    """Say what a metabolic acidosis is called: hyperchloraemic where it is of chloride."""
    gap = anion_gap(record, sample)
    return f"{'hyperchloraemic ' if gap is not None and gap.is_of_chloride else ''}metabolic acidosis"
