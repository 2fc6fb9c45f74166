"""Does this patient need more oxygen than yesterday?

NEWS2 gives two points for any oxygen and so cannot see the need growing. More counts as
a step from air to oxygen, a higher fraction, a higher flow, or the next device, against
the least support of the previous 24 hours.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.oxygen_course import OxygenPoint
from weatherglass.facts.breathing.oxygen_need import STARTED, OxygenNeed, OxygenStep
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit, plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, OxygenDelivery, Signal
from weatherglass.model.sources import Cited, our_choice
from weatherglass.model.words.clock_words import lasting

_RESERVOIR_OR_MORE = our_choice("a reservoir mask or more ranks as a need above 40 %")
_STEPPED_DOWN = our_choice("oxygen that is less than it was since the least of a day asks for nothing more")


def assess_oxygen_requirement(bedside: Bedside) -> Iterator[Finding]:
    """Compare what is breathed with the least of the previous 24 hours."""
    need = bedside.oxygen_need
    run = need.run if need is not None else None
    if need is None or bedside.state_of(run) is None:
        return
    if need.newest.level == 1 and need.most is not None:
        yield _stepped_down(bedside, need, need.most)
    else:
        yield _more(bedside, need) if need.newest.level else _settling(bedside, need)


def _stepped_down(bedside: Bedside, need: OxygenNeed, most: OxygenPoint) -> Finding:
    """Say that what was begun within the day is on its way down: it asks nobody for more."""
    point = need.newest.point
    return tell(
        About(Kind.OXYGEN_REQUIREMENT, "oxygen-requirement", Letter.BREATHING),
        Urgency.ROUTINE,
        rests_on(bedside, need.run, most, point, at=point.at),
        brief=f"Oxygen is being stepped down: {point.words}, from {most.words} {bedside.clock.at(most.at)}",
        measures=_measures(need.newest, None),
        sources=(_STEPPED_DOWN,),
    )


def _more(bedside: Bedside, need: OxygenNeed) -> Finding:
    newest, start = need.newest, need.first
    point, least = newest.point, newest.least
    is_high = newest.level > 1
    stepped = f" with {start.words} and stepped up" if start is not None else ""
    before = f", from {least.words} {lasting(point.at - least.at)} before" if least is not None else ""
    spo2 = bedside.sets[point.place].number(Signal.SPO2)
    reached = f"; saturation {plain(spo2.value)} %" if spo2 is not None else ""
    reasons = ", ".join(newest.reasons)
    how = f" ({reasons}{stepped})" if stepped or newest.reasons != (STARTED,) else ""
    excess = bedside.oxygen_excess
    if excess is not None:
        # Above its range nobody knows how much is needed: that shows once it is reduced.
        is_high = is_high and not excess.is_narrow
        brief = f"Oxygen was stepped up: {point.words}{before}"
        later = "how much is needed shows once the saturation is back in its range"
        sentence = f"{brief}{how}; {later}."
    else:
        brief = f"More oxygen is needed: {point.words}{before}"
        sentence = f"{brief}{how}{reached}."
    return tell(
        About(Kind.OXYGEN_REQUIREMENT, "oxygen-requirement", Letter.BREATHING),
        Urgency.URGENT if is_high else Urgency.PROMPT,
        rests_on(bedside, need.run, newest.least, point, spo2, at=point.at),
        brief=brief,
        sentence=sentence,
        measures=_measures(newest, spo2),
        sources=_sources(bedside, point, is_high=is_high),
        cautions=_cautions(bedside, point),
        decided_by="more oxygen in 24 hours, now a need above 40 % or by reservoir mask or more"
        if is_high
        else "more oxygen than the least of 24 hours",
    )


def _settling(bedside: Bedside, need: OxygenNeed) -> Finding:
    newest = need.newest
    return tell(
        About(Kind.OXYGEN_REQUIREMENT, "oxygen-requirement", Letter.BREATHING),
        Urgency.ROUTINE,
        rests_on(bedside, need.run, newest.point),
        brief=f"The need for oxygen is no longer growing: {newest.point.words}",
        measures=_measures(newest, None),
        sources=(trend_limits.OXYGEN_FLOW_STEP,),
    )


def _measures(newest: OxygenStep, spo2: Measurement | None) -> Iterator[Measure]:
    for key, label, point in (
        ("oxygen-delivery", "air or oxygen", newest.point),
        ("least-support", "least support of 24 hours", newest.least),
    ):
        if point is not None:
            yield Measure(key, label, point.words, at=point.at, origin=point.origins[0])
    point = newest.point
    for key, label, value, unit in (
        ("oxygen-flow", "oxygen flow", point.flow, Unit.LITRE_PER_MINUTE),
        ("fio2", "inspired oxygen fraction", point.fraction, Unit.FRACTION),
    ):
        if value is not None:
            yield Measure(key, label, value, unit, point.at)
    if spo2 is not None:
        yield measure_of(Signal.SPO2, spo2)


def _sources(bedside: Bedside, point: OxygenPoint, *, is_high: bool) -> Iterator[Cited]:
    yield trend_limits.OXYGEN_FLOW_STEP
    yield news2_2017.OXYGEN_NEED_IS_DETERIORATION
    if is_high:
        yield trend_limits.OXYGEN_HIGH_NEED
        at_risk = bedside.record.has(ConditionKind.COPD)
        yield (trend_limits.OXYGEN_HELD_AT_COPD if at_risk else trend_limits.OXYGEN_HELD_AT)
        if point.fraction is None:
            yield _RESERVOIR_OR_MORE


def _cautions(bedside: Bedside, point: OxygenPoint) -> Iterator[str]:
    if point.device is OxygenDelivery.OXYGEN:
        yield "The device is not recorded."
    if bedside.record.has(ConditionKind.HYPERCAPNIA):
        yield "Hypercapnic respiratory failure is recorded: keep to the prescribed range."
