"""Is more oxygen given than the range of saturation asks for?

The range recorded for the patient decides. Without one the published range stands in: 88-92 %
where carbon dioxide is kept or a risk of it is recorded, unless there is shock; 94-98 % else.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.rounds.oxygen_course import OxygenPoint
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.limits import oxygen_targets as targets
from weatherglass.model.quantities import plain, round_half_up
from weatherglass.model.record import Directive, Measurement
from weatherglass.model.signals import Signal

_WHOLE = Decimal(1)
_RETAINS = Decimal(92)


@dataclass(frozen=True, slots=True, kw_only=True)
class OxygenExcess:
    """A saturation above its range while oxygen is given.

    Attributes:
        is_prescribed: Whether the range is recorded for the patient.
        since: When the saturation first stood above it without a break.
    """

    spo2: Measurement
    point: OxygenPoint
    low: Decimal
    high: Decimal
    is_prescribed: bool
    since: datetime

    @property
    def is_narrow(self) -> bool:
        """Whether the range is one for people who keep carbon dioxide."""
        return self.high <= _RETAINS

    @property
    def range_words(self) -> str:
        """The range: '88-92 %'."""
        return f"{plain(self.low)}-{plain(self.high)} %"

    @property
    def words(self) -> str:
        """What is given, without what to do: 'More oxygen is given than the target asks for: ...'."""
        asks = "the target asks for" if self.is_prescribed else "the published range asks for"
        value = f"{plain(self.spo2.value)} % on {self.point.words}"
        return f"More oxygen is given than {asks}: {value}, above {self.range_words}"


def oxygen_excess(
    rounds: Sequence[ObservationSet],
    course: Sequence[OxygenPoint],
    target: Directive | None,
    *,
    keeps: bool,
    as_of: datetime,
    look_back: timedelta,
) -> OxygenExcess | None:
    """Return what is given too much in the newest round with a saturation, None where it is not.

    Args:
        rounds: Rounds of observations, oldest first.
        course: What was breathed in them.
        target: The range recorded for the patient.
        keeps: Without one, whether that of people who keep carbon dioxide stands in.
        as_of: The moment of the review.
        look_back: How old the newest saturation may be.
    """
    low, high = _range(target, keeps=keeps)
    breathed = {point.place: point for point in course}
    times: list[datetime] = []
    met: list[bool] = []
    newest: tuple[Measurement, OxygenPoint | None] | None = None
    for place, one in enumerate(rounds):
        spo2 = one.number(Signal.SPO2)
        if spo2 is None or spo2.spread is not None:
            continue
        if target is not None and target.at is not None and one.end < target.at:
            continue
        point = breathed.get(place)
        times.append(one.end)
        met.append(round_half_up(spo2.value, _WHOLE) > high and point is not None and point.is_oxygen)
        newest = (spo2, point)
    run = last_run(times, met)
    if newest is None or newest[1] is None or run is None or not run.is_present:
        return None
    if as_of - times[-1] > look_back:
        return None
    return OxygenExcess(
        spo2=newest[0],
        point=newest[1],
        low=low,
        high=high,
        is_prescribed=target is not None,
        since=run.since,
    )


def _range(target: Directive | None, *, keeps: bool) -> tuple[Decimal, Decimal]:
    if target is not None and target.target_low is not None and target.target_high is not None:
        return target.target_low, target.target_high
    published = targets.RISK_OF_HYPERCAPNIA if keeps else targets.MOST_ADULTS
    return published.low, published.high
