"""How a blood gas is read, step by step: the process, what it explains, the gap, the oxygen.

Every step names its inputs and the source of its formula. Nothing here is urgent: a step that shows
a second disorder is judged where the gas is.
"""

from collections.abc import Iterator
from decimal import Decimal
from enum import Enum

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.gas_samples import GasSample, kpa, mmhg
from weatherglass.facts.breathing.oxygen_course import breathed_at
from weatherglass.facts.metabolic.anion_gap import AnionGap, anion_gap
from weatherglass.facts.metabolic.osmolality import osmolal_gap
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.metabolic import metabolic
from weatherglass.model.findings import Measure, Step
from weatherglass.model.numbers.quantities import as_sent, plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source

_TENTH, _WHOLE = Decimal("0.1"), Decimal(1)


class Second(Enum):
    """A second disorder beside a respiratory one, by the bicarbonate."""

    ACIDOSIS = "a metabolic acidosis"
    ALKALOSIS = "a metabolic alkalosis"


class Band(Plain, frozen=True):
    """The bicarbonate that a respiratory disorder brings, in mmol/L, acute and chronic."""

    key: str
    acute: Decimal
    chronic: tuple[Decimal, Decimal]
    sources: tuple[Source, ...]

    def second(self, bicarbonate: Decimal) -> Second | None:
        """Name what else has to be there, None inside the whole band and 2 mmol/L around it."""
        ends = (self.acute, *self.chronic)
        width = gas.COMPENSATION_WIDTH.value
        if bicarbonate < min(ends) - width:
            return Second.ACIDOSIS
        return Second.ALKALOSIS if bicarbonate > max(ends) + width else None


def respiratory_band(sample: GasSample) -> Band | None:
    """Return what bicarbonate a respiratory acidosis or alkalosis brings; None where there is none.

    Only carbon dioxide of an artery or a capillary is read.
    """
    if not sample.is_named or sample.pco2 is None:
        return None
    if sample.is_acid and sample.is_high:
        key = "respiratory-acidosis"
    elif sample.is_alkaline and gas.PCO2_LOW.is_met_by(sample.pco2.value):
        key = "respiratory-alkalosis"
    else:
        return None
    tens = (mmhg(sample.pco2.value) - gas.NORMAL_PCO2.value) / 10
    sign = 1 if key == "respiratory-acidosis" else -1
    rows = {row.label: row for row in gas.COMPENSATIONS if row.key == key}
    normal = gas.NORMAL_BICARBONATE.value

    def moved(by: Decimal) -> Decimal:
        return round_half_up(normal + sign * abs(tens) * by, _TENTH)

    chronic = sorted((moved(rows["chronic"].least), moved(rows["chronic"].most)))
    return Band(
        key,
        moved(rows["acute"].least),
        (chronic[0], chronic[1]),
        tuple(row.source for row in rows.values()),
    )


def second_disorder(sample: GasSample) -> Second | None:
    """Return the second disorder that the measured bicarbonate shows beside a respiratory one."""
    band = respiratory_band(sample)
    if band is None or sample.bicarbonate is None:
        return None
    return band.second(sample.bicarbonate.value)


def gas_steps(bedside: Bedside, sample: GasSample) -> tuple[Step, ...]:
    """Return the steps of reading one sample, those whose inputs are there."""
    found = (
        *_metabolic_compensation(sample),
        *_respiratory_compensation(sample),
        *_gap(bedside, sample),
        *_oxygen(bedside, sample),
    )
    return tuple(found)


# Compensation


def _of(sample: GasSample, *signals: Signal) -> tuple[Measure, ...]:
    return tuple(measure_of(signal, one) for signal, one in sample.parts if signal in signals)


def _metabolic_compensation(sample: GasSample) -> Iterator[Step]:
    carbon = sample.signals[1]
    expected = sample.expected_pco2
    if sample.is_acid and expected is not None and sample.bicarbonate is not None:
        yield Step(
            "expected-pco2",
            f"Expected pCO2 {expected[0]} to {expected[1]} kPa for a metabolic acidosis of HCO3 "
            f"{as_sent(sample.bicarbonate.value)}{_is(sample)}",
            gas.ACIDOSIS_SLOPE.source,
            _of(sample, Signal.BICARBONATE, carbon),
        )
    base = sample.known_bicarbonate
    if sample.is_alkaline and base is not None and gas.BICARBONATE_RAISED.is_met_by(base):
        middle = gas.ALKALOSIS_SLOPE.value * base + gas.ALKALOSIS_HIGHEST.value
        highest, lowest = kpa(middle), kpa(middle - 10)
        yield Step(
            "expected-pco2",
            f"Expected pCO2 {lowest} to {highest} kPa for a metabolic alkalosis of HCO3 "
            f"{plain(round_half_up(base, _TENTH))}{_is(sample)}",
            gas.ALKALOSIS_SLOPE.source,
            _of(sample, Signal.BICARBONATE, carbon),
        )


def _is(sample: GasSample) -> str:
    return f", found {as_sent(sample.pco2.value)}" if sample.pco2 is not None else ", not measured"


def _respiratory_compensation(sample: GasSample) -> Iterator[Step]:
    band = respiratory_band(sample)
    if band is None:
        return
    second = second_disorder(sample)
    found = f", found {as_sent(sample.bicarbonate.value)}" if sample.bicarbonate is not None else ""
    beside = f": {second.value} as well" if second else ""
    yield Step(
        "expected-bicarbonate",
        f"Expected HCO3 {plain(band.acute)} if acute, {plain(band.chronic[0])} to {plain(band.chronic[1])} "
        f"if chronic, for a {band.key.replace('-', ' ')}{found}{beside}",
        band.sources[0],
        _of(sample, Signal.BICARBONATE, sample.signals[1]),
    )


# The anion gap


def _gap(bedside: Bedside, sample: GasSample) -> Iterator[Step]:
    found = anion_gap(bedside.record, sample)
    if found is None:
        return
    said, source = f"Anion gap {plain(found.bare)} mmol/L", gas.ANION_GAP.source
    if found.albumin is not None:
        adjusted = plain(round_half_up(found.value, _TENTH))
        said += f", {adjusted} for an albumin of {plain(found.albumin.value)} g/L"
        source = gas.GAP_FOR_ALBUMIN.source
    inputs = tuple(measure_of(signal, one) for signal, one in found.parts)
    yield Step("anion-gap", f"{said}{': high' if found.is_high else ''}", source, inputs)
    if found.is_high:
        yield from _delta(sample, found.value, inputs)
        yield from _osmolality(bedside, sample, found)


def _delta(sample: GasSample, gap: Decimal, inputs: tuple[Measure, ...]) -> Iterator[Step]:
    base = sample.bicarbonate
    fall = gas.NORMAL_BICARBONATE.value - base.value if base is not None else Decimal(0)
    if not sample.metabolic or fall <= 0:
        return
    ratio = (gap - gas.NORMAL_GAP.value) / fall
    what = ""
    if gas.DELTA_HIGH.is_met_by(ratio):
        what = "a metabolic alkalosis as well"
    elif gas.DELTA_LOW.is_met_by(ratio):
        what = "an acidosis without a gap as well"
    if what:
        shown = plain(round_half_up(ratio, _TENTH))
        yield Step("delta-ratio", f"Delta ratio {shown}: {what}", gas.DELTA_HIGH.source, inputs)


def _osmolality(bedside: Bedside, sample: GasSample, gap: AnionGap) -> Iterator[Step]:
    """Give what a measured osmolality is compared with, where neither lactate nor ketones explain the gap."""
    if gap.is_of_ketones or gap.is_of_lactate:
        return
    measured = osmolal_gap(bedside.record, sample.ph.at)
    if measured is not None:
        yield Step(
            "osmolality",
            f"Osmolal gap {plain(round_half_up(measured.value, _WHOLE))} mOsm/kg: "
            f"measured {plain(measured.measured.value)}, calculated {measured.calculated.shown}",
            gas.OSMOLAL_GAP.source,
            (
                measure_of(Signal.OSMOLALITY, measured.measured),
                *(measure_of(signal, one) for signal, one in measured.calculated.parts),
            ),
        )
        return
    found = bedside.osmolality
    if found is None or found.urea is None:
        return
    yield Step(
        "osmolality",
        f"Calculated osmolality {found.shown} mOsm/kg; a measured one far above it points to an alcohol",
        metabolic.OSMOLALITY.source,
        tuple(measure_of(signal, one) for signal, one in found.parts),
    )


# Oxygen


def _oxygen(bedside: Bedside, sample: GasSample) -> Iterator[Step]:
    point = breathed_at(bedside.oxygen_course, sample.ph.at, gas.BREATHED_NEAR.length)
    if sample.po2 is None or not sample.is_named or point is None or not point.fraction:
        return
    ratio = round_half_up(sample.po2.value / point.fraction, _TENTH)
    yield Step(
        "p-f-ratio",
        f"pO2 over FiO2 {ratio} kPa ({round_half_up(mmhg(ratio), _WHOLE)} mmHg) at FiO2 "
        f"{plain(point.fraction)}",
        gas.P_OVER_F.source,
        _of(sample, Signal.PO2_ARTERIAL),
    )
