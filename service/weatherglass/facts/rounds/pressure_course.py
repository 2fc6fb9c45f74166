"""Systolic pressure against the patient's own normal, reading by reading.

The own normal is the median of the week before without the last six hours. A pressure
that is low as usual is told apart from a fall, and whether blood still gets where it
should (urine, alertness, lactate) is told with it; what is not recorded is not known.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from weatherglass.facts.kidneys.urine import Passed, UrineChart
from weatherglass.facts.rounds.alertness import Alertness
from weatherglass.facts.series.usual_range import EXCLUDED, LEAST_READINGS, WINDOW, UsualRange
from weatherglass.facts.series.windows import SlidingMedian
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Consciousness, Signal
from weatherglass.model.sources import Origin

_UNSCORED_FROM = next(
    band.low for band in news2_2017.SYSTOLIC_PRESSURE.bands if band.low is not None and not band.points
)


class PressureStep(Plain, frozen=True):
    """One systolic pressure against the own normal at its time.

    Attributes:
        usual: The own normal; None below three readings.
        is_fall: More than 40 below the own normal, and certain.
        is_low: At or below the published limit, whatever is usual.
        is_first_fall: As far below, but neither certain nor confirmed: to be measured again.
        is_confirmed: A fall that a second reading confirms.
    """

    reading: Measurement
    usual: Decimal | None
    is_fall: bool
    is_low: bool
    is_first_fall: bool = False
    is_confirmed: bool = False

    @property
    def below_usual(self) -> Decimal:
        """How far it is below the own normal; 0 where that is not known."""
        return self.usual - self.reading.value if self.usual is not None else Decimal(0)

    @property
    def level(self) -> int:
        """0 neither, 1 a fall, 2 a low pressure."""
        return 2 if self.is_low else int(self.is_fall)


def pressure_course(readings: Sequence[Measurement]) -> tuple[PressureStep, ...]:
    """Compare every exact systolic pressure with the own normal of its time, oldest first.

    A fall is certain when the reading before it, at most six hours older, was one too, or
    when the pressure is below 100.
    """
    exact = [one for one in readings if one.is_exact]
    median = SlidingMedian(
        [one.at for one in exact], [one.value for one in exact], oldest=WINDOW, youngest=EXCLUDED
    )
    steps = []
    fell_at: datetime | None = None
    for one in exact:
        count, middle = median.at(one.at)
        usual = middle if count >= LEAST_READINGS else None
        falls = usual is not None and trend_limits.PRESSURE_FALL.is_met_by(usual - one.value)
        confirmed = fell_at is not None and one.at - fell_at <= EXCLUDED
        certain = falls and (confirmed or trend_limits.PRESSURE_FALL_CERTAIN.is_met_by(one.value))
        fell_at = one.at if falls else None
        low = trend_limits.PRESSURE_LOW.is_met_by(one.value)
        steps.append(PressureStep(one, usual, certain, low, falls and not certain, falls and confirmed))
    return tuple(steps)


def is_surely_low(one: Measurement) -> bool:
    """Tell whether a pressure is at or below the published limit, wherever in its interval it lies."""
    highest = one.highest
    return highest is not None and trend_limits.PRESSURE_LOW.is_met_by(highest)


class Shock(Plain, frozen=True):
    """A pressure at which blood does not get where it should.

    Attributes:
        since: Since when every pressure has been as low.
    """

    reading: Measurement
    since: datetime


class Kept(StrEnum):
    """Whether a sign of blood flow is kept."""

    YES = "kept"
    NO = "not kept"
    UNKNOWN = "not recorded"


class Perfusion(Plain, frozen=True, kw_only=True):
    """What shows whether blood gets where it should.

    Attributes:
        urine: Over the newest 6 to 12 charted hours.
        rate: Its mL/kg/h, None without urine or weight.
        alertness: The newest answer; None where none counts.
        lactate: The newest lactate that is current.
    """

    urine: Passed | None
    rate: Decimal | None
    urine_kept: Kept
    alertness: Consciousness | None
    alertness_at: datetime | None
    alertness_origins: tuple[Origin, ...]
    alert_kept: Kept
    lactate: Measurement | None

    @property
    def alertness_words(self) -> str:
        """The newest answer as it is said; empty where none counts."""
        return str(self.alertness).replace("-", " ") if self.alertness is not None else ""

    @property
    def is_kept(self) -> bool:
        """Whether urine and alertness are known to be kept and lactate is not raised."""
        return self.urine_kept is Kept.YES and self.alert_kept is Kept.YES and not self.lactate_is_raised

    @property
    def lactate_is_raised(self) -> bool:
        """Whether the newest lactate is above the published limit."""
        return self.lactate is not None and limits.LACTATE[-1].cutoff.is_met_by(self.lactate.value)

    @property
    def is_failing(self) -> bool:
        """Whether any of the signs is known not to be kept."""
        return Kept.NO in (self.urine_kept, self.alert_kept) or self.lactate_is_raised


def perfusion(
    record: Record,
    course: Sequence[Alertness],
    urine: UrineChart,
    weight: Measurement | None,
    as_of: datetime,
    *,
    counts_for: timedelta,
) -> Perfusion:
    """Gather the newest urine output, alertness and lactate."""
    passed = _passed(urine, as_of)
    rate = passed.per_kilogram(weight.value) if passed is not None and weight is not None else None
    kept = Kept.UNKNOWN
    if rate is not None:
        kept = Kept.YES if ours.URINE_KEPT.is_met_by(rate) else Kept.NO
    lactate = record.series(Signal.LACTATE).recent(as_of, counts_for)
    if lactate is not None and not lactate.is_exact:
        lactate = None
    answer, at, origins, alert = _alertness(course, as_of)
    return Perfusion(
        urine=passed,
        rate=rate,
        urine_kept=kept,
        alertness=answer,
        alertness_at=at,
        alertness_origins=origins,
        alert_kept=alert,
        lactate=lactate,
    )


def _passed(urine: UrineChart, as_of: datetime) -> Passed | None:
    """Return the urine of the longest of 12 down to 6 hours that is charted well enough.

    The hours end with the newest entry that is at most six hours old.
    """
    ends = urine.ends
    if not ends or as_of - ends[-1] > ours.URINE_SHORTEST.length:
        return None
    for length in (ours.URINE_LOOK_BACK.length, ours.URINE_SHORTEST.length):
        passed = urine.over(ends[-1], length)
        if passed.is_covered:
            return passed
    return None


def _alertness(
    course: Sequence[Alertness], as_of: datetime
) -> tuple[Consciousness | None, datetime | None, tuple[Origin, ...], Kept]:
    newest = course[-1] if course else None
    if newest is None or as_of - newest.one.end > ours.VITAL_SIGNS_COUNT_FOR.length:
        return None, None, (), Kept.UNKNOWN
    kept = Kept.YES if newest.value is Consciousness.ALERT else Kept.NO
    return newest.value, newest.answer.at, newest.answer.origins, kept


def scores_points(systolic: Decimal) -> bool:
    """Tell whether a systolic pressure is low enough to score in NEWS2."""
    return systolic < _UNSCORED_FROM and news2_2017.SYSTOLIC_PRESSURE.points_of(systolic) > 0


def is_low_as_usual(record: Record, newest: PressureStep, usual: UsualRange | None, *, was_ill: bool) -> bool:
    """Tell whether a low pressure is no lower than it has long been for this patient.

    The question arises for a pressure that scores and is not a fall. Long means a
    recorded condition, or an own normal of 100 or less from readings that span a day or
    more and are not all of an illness (`was_ill`). Either way the reading is at most 10
    below the own normal.
    """
    value = newest.reading.value
    if newest.is_fall or not scores_points(value):
        return False
    if usual is not None and not ours.NEAR_USUAL.is_met_by(usual.median - value):
        return False
    if record.known_of(ConditionKind.LOW_PRESSURE_IS_USUAL):
        return True
    return (
        usual is not None
        and not was_ill
        and ours.LOW_AS_USUAL.is_met_by(usual.median)
        and usual.spans >= ours.LONG_STANDING_FOR.length
    )
