"""Blood gas samples: the results that belong to one sample, brought together by their time."""

from dataclasses import dataclass
from datetime import datetime

from weatherglass.clinical.criteria import context_choices as ours
from weatherglass.clinical.criteria import critical_results as limits
from weatherglass.clinical.quantities import plain
from weatherglass.clinical.record import Measurement, Record
from weatherglass.clinical.signals import FACTS, Signal


@dataclass(frozen=True, slots=True)
class GasSample:
    """The results of one blood gas.

    Attributes:
        vessel: The signals of pH and carbon dioxide: arterial or venous.
    """

    vessel: tuple[Signal, Signal]
    ph: Measurement
    pco2: Measurement | None
    bicarbonate: Measurement | None
    base_excess: Measurement | None
    lactate: Measurement | None

    @property
    def is_acid(self) -> bool:
        """Whether pH is below the published limit."""
        return limits.ACIDAEMIA.is_met_by(self.ph.value)

    @property
    def is_severe(self) -> bool:
        """Whether pH is below the limit of severe acidosis."""
        return ours.SEVERE_ACIDAEMIA.is_met_by(self.ph.value)

    @property
    def respiratory(self) -> int:
        """0 no, 1 hypercapnia, 2 respiratory acidosis, 3 in the range of NIV, 4 severe."""
        if self.pco2 is None or not limits.HYPERCAPNIA.is_met_by(self.pco2.value):
            return 0
        if not self.is_acid:
            return 1
        if self.is_severe:
            return 4
        return 3 if limits.VENTILATION_HYPERCAPNIA.is_met_by(self.pco2.value) else 2

    @property
    def metabolic(self) -> int:
        """0 no, 1 bicarbonate below 22, 2 below 18, 3 severe."""
        low = self.bicarbonate is not None and limits.BICARBONATE_LOW.is_met_by(self.bicarbonate.value)
        if not self.is_acid or not low or self.bicarbonate is None:
            return 0
        if self.is_severe:
            return 3
        return 2 if limits.BICARBONATE_VERY_LOW.is_met_by(self.bicarbonate.value) else 1

    @property
    def parts(self) -> tuple[tuple[Signal, Measurement], ...]:
        """What the sample holds."""
        held = (
            (self.vessel[0], self.ph),
            (self.vessel[1], self.pco2),
            (Signal.BICARBONATE, self.bicarbonate),
            (Signal.BASE_EXCESS, self.base_excess),
            (Signal.LACTATE, self.lactate),
        )
        return tuple((signal, one) for signal, one in held if one is not None)

    @property
    def numbers(self) -> str:
        """The results as they are said: 'pH 7.31, pCO2 4.4 kPa, HCO3 16.4'."""
        return ", ".join(_said(signal, one) for signal, one in self.parts)


ARTERIAL = (Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL)
VENOUS = (Signal.PH_VENOUS, Signal.PCO2_VENOUS)


def _said(signal: Signal, one: Measurement) -> str:
    unit = " kPa" if signal in (Signal.PCO2_ARTERIAL, Signal.PCO2_VENOUS) else ""
    return f"{FACTS[signal].short} {plain(one.value)}{unit}"


def gas_samples(record: Record, vessel: tuple[Signal, Signal]) -> tuple[GasSample, ...]:
    """Return every sample with an exact pH, oldest first."""
    ph, pco2 = vessel
    return tuple(
        GasSample(
            vessel,
            one,
            _together(record, pco2, one.at),
            _together(record, Signal.BICARBONATE, one.at),
            _together(record, Signal.BASE_EXCESS, one.at),
            _together(record, Signal.LACTATE, one.at),
        )
        for one in record.series(ph).items
        if one.spread is None
    )


def _together(record: Record, signal: Signal, at: datetime) -> Measurement | None:
    """Return the result of the same sample: the nearest in time within five minutes."""
    window = ours.SAME_SAMPLE.length
    near = [m for m in record.series(signal).within(at - window, at + window) if m.spread is None]
    return min(near, key=lambda m: (abs(m.at - at), m.at), default=None)
