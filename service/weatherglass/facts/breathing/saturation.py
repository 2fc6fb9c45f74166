"""Every saturation against its range: below it, or above it while oxygen is given.

The range recorded for the patient decides. Without one the published range stands in: 88-92 %
where carbon dioxide is kept or a risk of it is recorded, unless there is shock; 94-98 % else.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.breathing.oxygen_course import OxygenPoint
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.breathing import oxygen_targets as targets
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import Directive
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal

_WHOLE = Decimal(1)


def is_narrow(high: Decimal | None) -> bool:
    """Tell whether a range of saturation up to here is one for people who keep carbon dioxide."""
    return high is not None and high <= targets.RISK_OF_HYPERCAPNIA.high


class OxygenExcess(Plain, frozen=True, kw_only=True):
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
        return is_narrow(self.high)

    @property
    def range_words(self) -> str:
        """The range: '88-92 %'."""
        return f"{plain(self.low)}-{plain(self.high)} %"

    @property
    def at_once(self) -> str:
        """What is done at the bedside: less; only where more than the range keeps carbon dioxide."""
        return f"Oxygen down to {self.range_words}" if self.is_narrow else ""

    @property
    def words(self) -> str:
        """What is given, without what to do: 'More oxygen is given than the target asks for: ...'."""
        asks = "the target asks for" if self.is_prescribed else "the published range asks for"
        value = f"{plain(self.spo2.value)} % on {self.point.words}"
        return f"More oxygen is given than {asks}: {value}, above {self.range_words}"


class Saturation(Plain, frozen=True):
    """One saturation with what was breathed; `oxygen` is None where that is unknown."""

    spo2: Measurement
    oxygen: OxygenPoint | None
    at: datetime

    @property
    def whole(self) -> Decimal:
        """The saturation as it is compared."""
        return round_half_up(self.spo2.value, _WHOLE)

    @property
    def is_on_oxygen(self) -> bool:
        """Whether more than air was breathed."""
        return self.oxygen is not None and self.oxygen.is_oxygen


class SaturationCourse(Plain, frozen=True, kw_only=True):
    """Every saturation against the range that holds now.

    Attributes:
        readings: Oldest first, none older than the range that was recorded.
        is_prescribed: Whether the range is recorded for the patient.
        below: For each, whether it lies below the range.
        above: For each, whether it lies above the range while oxygen is given.
    """

    readings: tuple[Saturation, ...]
    low: Decimal
    high: Decimal
    is_prescribed: bool
    below: tuple[bool, ...]
    above: tuple[bool, ...]

    def excess(self, as_of: datetime, look_back: timedelta) -> OxygenExcess | None:
        """Return what is given too much in the newest round with a saturation, None where it is not."""
        run = last_run([one.at for one in self.readings], self.above)
        if run is None or not run.is_present or as_of - self.readings[-1].at > look_back:
            return None
        newest = self.readings[-1]
        if newest.oxygen is None:
            return None
        return OxygenExcess(
            spo2=newest.spo2,
            point=newest.oxygen,
            low=self.low,
            high=self.high,
            is_prescribed=self.is_prescribed,
            since=run.since,
        )


def saturation_course(
    rounds: Sequence[ObservationSet],
    course: Sequence[OxygenPoint],
    target: Directive | None,
    *,
    keeps: bool,
) -> SaturationCourse:
    """Hold every saturation against the range that holds now.

    Args:
        rounds: Rounds of observations, oldest first.
        course: What was breathed in them.
        target: The range recorded for the patient.
        keeps: Without one, whether that of people who keep carbon dioxide stands in.
    """
    low, high = _range(target, keeps=keeps)
    since = target.at if target is not None else None
    readings = tuple(one for one in _readings(rounds, course) if since is None or one.at >= since)
    return SaturationCourse(
        readings=readings,
        low=low,
        high=high,
        is_prescribed=target is not None,
        below=tuple(one.whole < low for one in readings),
        above=tuple(one.whole > high and one.is_on_oxygen for one in readings),
    )


def _readings(rounds: Sequence[ObservationSet], course: Sequence[OxygenPoint]) -> Iterator[Saturation]:
    breathed = {point.place: point for point in course}
    for place, one in enumerate(rounds):
        spo2 = one.number(Signal.SPO2)
        if spo2 is not None and spo2.is_exact:
            yield Saturation(spo2, breathed.get(place), one.end)


def _range(target: Directive | None, *, keeps: bool) -> tuple[Decimal, Decimal]:
    if target is not None and target.target_low is not None and target.target_high is not None:
        return target.target_low, target.target_high
    published = targets.RISK_OF_HYPERCAPNIA if keeps else targets.MOST_ADULTS
    return published.low, published.high
