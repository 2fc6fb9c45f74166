"""Is there too little oxygen in the blood, whatever is breathed?

A venous pO2 says nothing. One of an unnamed vessel counts unless the saturation beside it says
that it cannot be arterial.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.oxygen_course import OxygenPoint, breathed_at
from weatherglass.facts.rounds.scoring import measure_of
from weatherglass.facts.series.runs import run_at_level
from weatherglass.knowledge.limits import blood_gas as gas
from weatherglass.knowledge.limits import oxygen_targets as targets
from weatherglass.model.findings import Finding, Kind, Letter, Measure, Urgency
from weatherglass.model.quantities import Unit, plain, round_half_up
from weatherglass.model.record import Measurement, Remark, Series
from weatherglass.model.signals import Sample, Signal
from weatherglass.model.sources import Source

_TENTH = Decimal("0.1")
_WHOLE = Decimal(1)


def assess_hypoxaemia(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest pO2 that is not venous."""
    results = [
        one
        for one in bedside.record.series(Signal.PO2_ARTERIAL).items
        if one.spread is None and one.sample is not Sample.VENOUS
    ]
    newest = Series(results).recent(bedside.as_of, bedside.choices.gas_counts_for)
    if newest is None:
        return
    levels = [_level(bedside, one) for one in results]
    run = run_at_level([one.at for one in results], levels)
    if run is None or not levels[-1]:
        return
    point = breathed_at(bedside.oxygen_course, newest.at, gas.BREATHED_NEAR.length)
    urgency = (Urgency.ROUTINE, Urgency.ROUTINE, Urgency.URGENT, Urgency.EMERGENCY)[levels[-1]]
    yield Finding(
        kind=Kind.BLOOD_GAS,
        key="hypoxaemia",
        letter=Letter.BREATHING,
        urgency=urgency,
        sentence=_sentence(newest, point, levels[-1]),
        brief=f"Hypoxaemia, pO2 {plain(newest.value)} kPa{_breathed(point)}",
        at=newest.at,
        state=bedside.state_of(run),
        since=run.since,
        measures=tuple(_measures(newest, point)),
        evidence=tuple(dict.fromkeys((newest.origin, *(point.origins if point is not None else ())))),
        sources=(_source(levels[-1]),),
        decided_by="" if levels[-1] == 1 else f"pO2 below {'6.7' if levels[-1] == 3 else '8.0'} kPa",
        provisional=Remark.PROVISIONAL in newest.remarks,
    )


def _level(bedside: Bedside, result: Measurement) -> int:
    """Rank a pO2: 3 below 6.7, 2 below 8.0, 1 low inside a low range, 0 not low or not arterial."""
    if not gas.HYPOXAEMIA.is_met_by(result.value):
        return 0
    if result.sample is not Sample.ARTERIAL and _looks_venous(bedside, result.at):
        return 0
    if gas.SEVERE_HYPOXAEMIA.is_met_by(result.value):
        return 3
    target = bedside.oxygen_target
    is_low_range = (
        target is not None
        and target.target_high is not None
        and target.target_high <= targets.RISK_OF_HYPERCAPNIA.high
    )
    return 1 if is_low_range and not gas.HYPOXAEMIA_OF_A_LOW_RANGE.is_met_by(result.value) else 2


def _looks_venous(bedside: Bedside, at: datetime) -> bool:
    """Tell whether the saturation taken near says that a low pO2 cannot be arterial."""
    spo2 = bedside.record.series(Signal.SPO2).nearest(at, gas.BREATHED_NEAR.length)
    return spo2 is not None and gas.SATURATION_OF_AN_ARTERY.is_met_by(spo2.value)


def _source(level: int) -> Source:
    if level == 1:
        return gas.HYPOXAEMIA_OF_A_LOW_RANGE.source
    return (gas.SEVERE_HYPOXAEMIA if level == 3 else gas.HYPOXAEMIA).source


def _breathed(point: OxygenPoint | None) -> str:
    return f" on {point.words}" if point is not None else ""


def _sentence(newest: Measurement, point: OxygenPoint | None, level: int) -> str:
    severe = "Severe hypoxaemia" if level == 3 else "Hypoxaemia"
    vessel = "" if newest.sample is Sample.ARTERIAL else ", if this is arterial blood"
    quotient = _quotient(newest, point)
    ratio = f", P/F {quotient} kPa ({_mmhg(quotient)} mmHg)" if quotient is not None else ""
    inside = ", as in a prescribed range of 92 or less" if level == 1 else ""
    return f"{severe}: pO2 {plain(newest.value)} kPa{_breathed(point)}{ratio}{vessel}{inside}."


def _quotient(newest: Measurement, point: OxygenPoint | None) -> Decimal | None:
    if point is None or not point.fraction:
        return None
    return round_half_up(newest.value / point.fraction, _TENTH)


def _mmhg(kilopascal: Decimal) -> Decimal:
    return round_half_up(kilopascal * gas.MMHG_IN_KPA.value, _WHOLE)


def _measures(newest: Measurement, point: OxygenPoint | None) -> Iterator[Measure]:
    yield measure_of(Signal.PO2_ARTERIAL, newest)
    quotient = _quotient(newest, point)
    if quotient is not None:
        yield Measure(key="p-f-ratio", label="pO2 over FiO2", value=quotient, unit=Unit.KILOPASCAL)
    if point is not None:
        yield Measure(key="oxygen-delivery", label="air or oxygen", value=point.words, at=point.at)
