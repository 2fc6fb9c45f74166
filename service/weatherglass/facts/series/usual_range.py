"""What is usual for this patient: the middle and the middle half of the own readings.

The publications that speak of "below normal" mean the person's normal. It is taken from
the readings of a week without the last hours, which are what is being judged.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.series.windows import quantile_of
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Measure
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal

WINDOW = trend_limits.PRESSURE_BASELINE_WINDOW.length
EXCLUDED = trend_limits.PRESSURE_BASELINE_EXCLUDES.length
LEAST_READINGS = int(trend_limits.PRESSURE_BASELINE_READINGS.value)
_LOWER, _MIDDLE, _UPPER = Decimal("0.25"), Decimal("0.5"), Decimal("0.75")
_HUNDREDTH = Decimal("0.01")


class UsualRange(Plain, frozen=True):
    """Median and quartiles of the own readings."""

    low: Decimal
    median: Decimal
    high: Decimal
    readings: int
    first: Measurement
    last: Measurement

    @property
    def spans(self) -> timedelta:
        """Time between the first and the last reading counted."""
        return self.last.at - self.first.at


def usual_range(readings: Sequence[Measurement], as_of: datetime) -> UsualRange | None:
    """Return what was usual in the week before the last hours, None below three readings.

    Args:
        readings: In order of time; those outside the window are left out.
        as_of: The moment the window is counted back from.
    """
    counted = [r for r in readings if r.is_exact and as_of - WINDOW <= r.at < as_of - EXCLUDED]
    if len(counted) < LEAST_READINGS:
        return None
    values = sorted(r.value for r in counted)
    return UsualRange(
        quantile_of(values, _LOWER).quantize(_HUNDREDTH),
        quantile_of(values, _MIDDLE),
        quantile_of(values, _UPPER).quantize(_HUNDREDTH),
        len(values),
        counted[0],
        counted[-1],
    )


def usual_measures(signal: Signal, usual: UsualRange | None, *, prefix: str = "usual") -> Iterator[Measure]:
    """Spell out a usual range: its low end, its middle and its high end."""
    if usual is None:
        return
    for end, value in (("low", usual.low), ("high", usual.high), ("median", usual.median)):
        yield Measure(f"{prefix}-{end}", f"usual {signal.label}, {end}", value, signal.unit)
