"""Is there too little oxygen in the blood, whatever is breathed?"""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.oxygen_course import OxygenPoint, breathed_at
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.knowledge.breathing import oxygen_targets
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit, plain, round_half_up
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, Sample, Signal

_TENTH = Decimal("0.1")
_WHOLE = Decimal(1)


def assess_hypoxaemia(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest pO2 that is not venous."""
    found = bedside.hypoxaemia
    if found is None:
        return
    newest, level, run, limit = found
    point = breathed_at(bedside.oxygen_course, newest.at, gas.BREATHED_NEAR.length)
    urgency = (Urgency.ROUTINE, Urgency.ROUTINE, Urgency.URGENT, Urgency.EMERGENCY)[level]
    yield tell(
        About(Kind.BLOOD_GAS, "hypoxaemia", Letter.BREATHING),
        urgency,
        rests_on(bedside, run, newest, point, at=newest.at),
        brief=f"Hypoxaemia, pO2 {plain(newest.value)} kPa{_breathed(point)}",
        sentence=_sentence(newest, point, level),
        measures=_measures(newest, point),
        sources=(limit,),
        decided_by="" if level == 1 else f"pO2 below {limit.limit.value} kPa",
    )


def _breathed(point: OxygenPoint | None) -> str:
    return f" on {point.words}" if point is not None else ""


def _sentence(newest: Measurement, point: OxygenPoint | None, level: int) -> str:
    severe = "Severe hypoxaemia" if level == 3 else "Hypoxaemia"
    vessel = "" if newest.sample is Sample.ARTERIAL else ", if this is arterial blood"
    quotient = _quotient(newest, point)
    ratio = ""
    if quotient is not None:
        ratio = f", P/F {quotient} kPa ({round_half_up(quotient * gas.MMHG_IN_KPA.value, _WHOLE)} mmHg)"
    narrow = plain(oxygen_targets.RISK_OF_HYPERCAPNIA.high)
    inside = f", as in a prescribed range of {narrow} or less" if level == 1 else ""
    return f"{severe}: pO2 {plain(newest.value)} kPa{_breathed(point)}{ratio}{vessel}{inside}."


def _quotient(newest: Measurement, point: OxygenPoint | None) -> Decimal | None:
    if point is None or not point.fraction:
        return None
    return round_half_up(newest.value / point.fraction, _TENTH)


def _measures(newest: Measurement, point: OxygenPoint | None) -> Iterator[Measure]:
    yield measure_of(Signal.PO2_ARTERIAL, newest)
    quotient = _quotient(newest, point)
    if quotient is not None:
        yield Measure("p-f-ratio", "pO2 over FiO2", quotient, Unit.KILOPASCAL)
    if point is not None:
        yield Measure("oxygen-delivery", "air or oxygen", point.words, at=point.at)
