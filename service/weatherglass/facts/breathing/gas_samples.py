"""Blood gas samples: the results that belong to one sample, brought together by their time.

What the numbers of one sample come to is worked out here: acid or alkaline blood, carbon
dioxide against what the bicarbonate explains, and what a venous or an unnamed vessel leaves
open. How urgent that is, is asked elsewhere.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from enum import IntEnum

from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.model.numbers.quantities import as_sent, round_half_up
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Sample, Signal

_TENTH = Decimal("0.1")
_KILOPASCAL = (Signal.PCO2_ARTERIAL, Signal.PCO2_VENOUS, Signal.PO2_ARTERIAL)
_WORDS: Mapping[Sample, str] = {
    Sample.ARTERIAL: "arterial",
    Sample.VENOUS: "venous",
    Sample.CAPILLARY: "capillary",
}


class Kept(IntEnum):
    """How far carbon dioxide is kept, the worst last."""

    NOT = 0
    WITHOUT_ACIDOSIS = 1
    IF_ARTERIAL = 2
    ACIDOSIS = 3
    TO_VENTILATE = 4
    LOW_PH = 5
    SEVERE = 6


class Acid(IntEnum):
    """How low bicarbonate is in acid blood, the worst last."""

    NOT = 0
    LOW = 1
    VERY_LOW = 2
    SEVERE = 3


class GasSample(Plain, frozen=True):
    """The results of one blood gas.

    Attributes:
        signals: The signals of pH and carbon dioxide: arterial or venous.
        vessel: What the sender says of the vessel.
        rest_is_earlier: Whether carbon dioxide and bicarbonate are those of the sample before: an acid
            pH that comes alone takes nothing of that back.
    """

    signals: tuple[Signal, Signal]
    vessel: Sample
    ph: Measurement
    pco2: Measurement | None
    bicarbonate: Measurement | None
    base_excess: Measurement | None
    lactate: Measurement | None
    po2: Measurement | None
    rest_is_earlier: bool = False

    # Acid or alkaline

    @property
    def is_acid(self) -> bool:
        """Whether pH is below the published limit."""
        return limits.ACIDAEMIA.is_met_by(self.ph.value)

    @property
    def is_alkaline(self) -> bool:
        """Whether pH is above the published limit."""
        return gas.ALKALAEMIA.is_met_by(self.ph.value)

    @property
    def is_severe(self) -> bool:
        """Whether acidaemia is severe, whatever the vessel."""
        return gas.SEVERE_ACIDAEMIA.is_met_by(self.ph.value)

    @property
    def is_severely_alkaline(self) -> bool:
        """Whether alkalaemia is severe, whatever the vessel."""
        return gas.SEVERE_ALKALAEMIA.is_met_by(self.ph.value)

    @property
    def is_venous(self) -> bool:
        """Whether the sample is said to be venous."""
        return self.vessel is Sample.VENOUS

    @property
    def is_named(self) -> bool:
        """Whether the vessel is known, and carbon dioxide can be read as arterial."""
        return self.vessel in (Sample.ARTERIAL, Sample.CAPILLARY)

    # Carbon dioxide

    @property
    def is_high(self) -> bool:
        """Whether carbon dioxide is above the published limit."""
        return self.pco2 is not None and limits.HYPERCAPNIA.is_met_by(self.pco2.value)

    @property
    def is_surely_high(self) -> bool:
        """Whether carbon dioxide is high even if the sample is venous."""
        if self.pco2 is None:
            return False
        if self.is_named:
            return self.is_high
        return gas.VENOUS_SURELY_HIGH.is_met_by(self.pco2.value) or (
            self.is_high and self._is_acid_by_carbon_dioxide
        )

    @property
    def _is_acid_by_carbon_dioxide(self) -> bool:
        """Whether bicarbonate is not low in blood so acid: then carbon dioxide is high in an artery too."""
        base = self.known_bicarbonate
        return (
            base is not None
            and gas.VENOUS_KEPT_PH.is_met_by(self.ph.value)
            and gas.VENOUS_KEPT_BICARBONATE.is_met_by(base)
        )

    @property
    def fitting_pco2(self) -> Decimal | None:
        """The carbon dioxide in kPa that pH and bicarbonate give, where what was sent cannot be it."""
        if self.pco2 is None or self.bicarbonate is None or self.pco2.value <= 0 or self.rest_is_earlier:
            return None
        ratio = Decimal(10) ** (self.ph.value - gas.PK.value)
        fits = kpa(self.bicarbonate.value / (gas.SOLUBILITY.value * ratio))
        most = gas.NUMBERS_DISAGREE.value
        return None if fits < self.pco2.value * most and self.pco2.value < fits * most else fits

    @property
    def is_explained(self) -> bool:
        """Whether raised carbon dioxide is what a metabolic alkalosis brings."""
        base = self.known_bicarbonate
        if self.pco2 is None or base is None or not gas.BICARBONATE_RAISED.is_met_by(base):
            return False
        return mmhg(self.pco2.value) <= gas.ALKALOSIS_SLOPE.value * base + gas.ALKALOSIS_HIGHEST.value

    @property
    def respiratory(self) -> Kept:
        """How far carbon dioxide is kept."""
        if not self.is_high or (not self.is_acid and self.is_explained):
            return Kept.NOT
        if not self.is_acid:
            return Kept.WITHOUT_ACIDOSIS if self.is_named else Kept.NOT
        if self.is_severe:
            return Kept.SEVERE
        if not self.is_surely_high:
            return Kept.IF_ARTERIAL
        if ours.LOW_PH.is_met_by(self.ph.value):
            return Kept.LOW_PH
        pco2 = self.pco2
        ventilated = pco2 is not None and limits.VENTILATION_HYPERCAPNIA.is_met_by(pco2.value)
        return Kept.TO_VENTILATE if ventilated else Kept.ACIDOSIS

    # Bicarbonate

    @property
    def known_bicarbonate(self) -> Decimal | None:
        """Bicarbonate as measured, else by the Henderson-Hasselbalch equation."""
        if self.bicarbonate is not None:
            return self.bicarbonate.value
        if self.pco2 is None:
            return None
        ratio = Decimal(10) ** (self.ph.value - gas.PK.value)
        return gas.SOLUBILITY.value * mmhg(self.pco2.value) * ratio

    @property
    def metabolic(self) -> Acid:
        """How low bicarbonate is in acid blood."""
        low = self.bicarbonate is not None and limits.BICARBONATE_LOW.is_met_by(self.bicarbonate.value)
        if not self.is_acid or not low or self.bicarbonate is None:
            return Acid.NOT
        if self.is_severe:
            return Acid.SEVERE
        return Acid.VERY_LOW if limits.BICARBONATE_VERY_LOW.is_met_by(self.bicarbonate.value) else Acid.LOW

    @property
    def expected_pco2(self) -> tuple[Decimal, Decimal] | None:
        """The carbon dioxide in kPa that a metabolic acidosis brings; None without a clear one."""
        base = self.bicarbonate
        if base is None or not limits.BICARBONATE_VERY_LOW.is_met_by(base.value):
            return None
        middle = gas.ACIDOSIS_SLOPE.value * base.value + gas.ACIDOSIS_CONSTANT.value
        return kpa(middle - gas.ACIDOSIS_WIDTH.value), kpa(middle + gas.ACIDOSIS_WIDTH.value)

    @property
    def is_above_expected(self) -> bool:
        """Whether more carbon dioxide is kept than a metabolic acidosis allows."""
        expected = self.expected_pco2
        return (
            self.is_named and expected is not None and self.pco2 is not None and self.pco2.value > expected[1]
        )

    @property
    def is_below_expected(self) -> bool:
        """Whether less carbon dioxide is left than a metabolic acidosis brings; sure of any vessel."""
        expected = self.expected_pco2
        return expected is not None and self.pco2 is not None and self.pco2.value < expected[0]

    # In words

    @property
    def parts(self) -> tuple[tuple[Signal, Measurement], ...]:
        """What the sample holds."""
        held = (
            (self.signals[0], self.ph),
            (self.signals[1], self.pco2),
            (Signal.PO2_ARTERIAL, self.po2),
            (Signal.BICARBONATE, self.bicarbonate),
            (Signal.BASE_EXCESS, self.base_excess),
            (Signal.LACTATE, self.lactate),
        )
        return tuple((signal, one) for signal, one in held if one is not None)

    @property
    def numbers(self) -> str:
        """The results as they are said: 'pH 7.31, pCO2 4.4 kPa, HCO3 16.4'."""
        return ", ".join(f"{_said(signal, one)}{self._when(one)}" for signal, one in self.parts)

    @property
    def acid_words(self) -> str:
        """How far off the blood is, by two numbers: 'pH 7.31, HCO3 16.4'."""
        kept = self.bicarbonate
        beside = f", HCO3 {as_sent(kept.value)}{self._when(kept)}" if kept is not None else ""
        return f"pH {as_sent(self.ph.value)}{beside}"

    @property
    def carbon_dioxide_words(self) -> str:
        """How much carbon dioxide is kept, by two numbers: 'pH 7.24, pCO2 8.9 kPa'."""
        kept = self.pco2
        beside = f", pCO2 {as_sent(kept.value)} kPa{self._when(kept)}" if kept is not None else ""
        return f"pH {as_sent(self.ph.value)}{beside}"

    def _when(self, one: Measurement) -> str:
        is_earlier = self.rest_is_earlier and one in (self.pco2, self.bicarbonate, self.base_excess)
        return " before it" if is_earlier else ""

    @property
    def vessel_words(self) -> str:
        """The vessel as it is said: 'arterial', 'vessel not stated'."""
        return _WORDS.get(self.vessel, "vessel not stated")


ARTERIAL = (Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL)
VENOUS = (Signal.PH_VENOUS, Signal.PCO2_VENOUS)


def _said(signal: Signal, one: Measurement) -> str:
    unit = " kPa" if signal in _KILOPASCAL else ""
    return f"{signal.short} {as_sent(one.value)}{unit}"


def mmhg(kilopascal: Decimal) -> Decimal:
    """Return kPa as mmHg, unrounded."""
    return kilopascal * gas.MMHG_IN_KPA.value


def kpa(mmhg: Decimal) -> Decimal:
    """Return mmHg as kPa to a tenth."""
    return round_half_up(mmhg / gas.MMHG_IN_KPA.value, _TENTH)


def gas_samples(record: Record, signals: tuple[Signal, Signal]) -> tuple[GasSample, ...]:
    """Return every sample with an exact pH, oldest first."""
    ph, pco2 = signals
    is_venous = signals == VENOUS
    found = (
        GasSample(
            signals,
            Sample.VENOUS if is_venous else _vessel(one),
            one,
            _together(record, pco2, one.at),
            _together(record, Signal.BICARBONATE, one.at),
            _together(record, Signal.BASE_EXCESS, one.at),
            _together(record, Signal.LACTATE, one.at),
            None if is_venous else _together(record, Signal.PO2_ARTERIAL, one.at),
        )
        for one in record.series(ph).items
        if one.is_exact
    )
    return tuple(_with_the_rest(found))


def _with_the_rest(samples: Iterable[GasSample]) -> Iterator[GasSample]:
    """Read an acid pH that comes alone with the rest of the acid sample before it."""
    whole: GasSample | None = None
    for one in samples:
        if one.pco2 is not None or one.bicarbonate is not None or one.base_excess is not None:
            whole = one
        elif whole is not None and one.is_acid and whole.is_acid and _is_soon_after(one, whole):
            yield replace(
                one,
                pco2=whole.pco2,
                bicarbonate=whole.bicarbonate,
                base_excess=whole.base_excess,
                rest_is_earlier=True,
            )
            continue
        yield one


def _is_soon_after(one: GasSample, before: GasSample) -> bool:
    return one.ph.at - before.ph.at <= ours.REST_OF_A_SAMPLE.length


def recent_sample(samples: Sequence[GasSample], as_of: datetime, counts_for: timedelta) -> GasSample | None:
    """Return the newest of samples that are sorted by time, None where it is older than it counts for."""
    newest = samples[-1] if samples else None
    return newest if newest is not None and as_of - newest.ph.at <= counts_for else None


def _vessel(ph: Measurement) -> Sample:
    return ph.sample if ph.sample in (Sample.ARTERIAL, Sample.CAPILLARY) else Sample.NOT_STATED


def _together(record: Record, signal: Signal, at: datetime) -> Measurement | None:
    """Return the result of the same sample: the nearest in time within five minutes."""
    window = ours.SAME_SAMPLE.length
    near = [m for m in record.series(signal).within(at - window, at + window) if m.is_exact]
    return min(near, key=lambda m: (abs(m.at - at), m.at), default=None)
