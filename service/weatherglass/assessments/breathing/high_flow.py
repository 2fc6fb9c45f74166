"""Does high-flow oxygen fail: saturation over oxygen over breathing rate, by the hours it has run?"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.assessments.telling.ventilation_words import critical_care_now
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.breathing.oxygen_course import OxygenPoint
from weatherglass.facts.rounds.consciousness import number_of
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit, plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Letter, OxygenDelivery, Signal
from weatherglass.model.words.clock_words import lasting

_HUNDREDTH = Decimal("0.01")


class _Index(Plain, frozen=True):
    """The index of one round on high-flow oxygen."""

    point: OxygenPoint
    saturation: Measurement
    rate: Measurement
    ran: timedelta

    @property
    def value(self) -> Decimal:
        fraction = self.point.fraction or Decimal(1)
        return round_half_up(self.saturation.value / fraction / self.rate.value, _HUNDREDTH)

    @property
    def limit(self) -> gas.RoxLimit | None:
        """The limit that it is below, by the hours that the oxygen has run."""
        row = next((one for one in gas.ROX_LIMITS if self.ran >= one.after), None)
        return row if row is not None and row.cutoff.is_met_by(self.value) else None


def assess_high_flow(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest round on high-flow oxygen, in adults."""
    if bedside.is_child:
        return
    newest = bedside.oxygen_now
    if newest is None or newest.device is not OxygenDelivery.HIGH_FLOW:
        return
    indices = list(_indices(bedside, bedside.oxygen_course))
    limit = indices[-1].limit if indices else None
    if limit is not None:
        yield _finding(bedside, indices, limit)


def _indices(bedside: Bedside, course: Sequence[OxygenPoint]) -> Iterator[_Index]:
    """Go through the rounds of the present run of high-flow oxygen that hold all three."""
    start = len(course) - 1
    while start and course[start - 1].device is OxygenDelivery.HIGH_FLOW:
        start -= 1
    for point in course[start:]:
        observed = bedside.sets[point.place]
        saturation = number_of(observed, Signal.SPO2)
        rate = number_of(observed, Signal.RESPIRATION_RATE)
        if not point.fraction or saturation is None or rate is None:
            continue
        if saturation.is_exact and rate.is_exact and rate.value > 0:
            yield _Index(point, saturation, rate, point.at - course[start].at)


def _since(indices: Sequence[_Index]) -> datetime:
    first = first_of_run(indices, lambda one: one.limit is not None)
    return (first or indices[-1]).point.at


def _finding(bedside: Bedside, indices: Sequence[_Index], limit: gas.RoxLimit) -> Finding:
    newest = indices[-1]
    since = _since(indices)
    said = f"High-flow oxygen for {lasting(newest.ran)} with a ROX index of {plain(newest.value)}"
    below = f"below {plain(limit.cutoff.limit.value)} it often fails"
    return tell(
        About(Kind.OXYGEN_REQUIREMENT, "high-flow", Letter.BREATHING),
        Urgency.URGENT,
        rests_on(bedside, since, newest.saturation, newest.rate, newest.point, at=newest.point.at),
        brief=said,
        sentence=f"{said}, {below}: {critical_care_now(bedside)}.",
        measures=(
            Measure("rox-index", "ROX index", newest.value, Unit.RATIO),
            measure_of(Signal.SPO2, newest.saturation),
            measure_of(Signal.RESPIRATION_RATE, newest.rate),
            Measure("oxygen-delivery", "air or oxygen", newest.point.words, at=newest.point.at),
        ),
        sources=(limit.cutoff, gas.ROX_ASKS),
        decided_by="a ROX index below its limit on high-flow oxygen",
    )
