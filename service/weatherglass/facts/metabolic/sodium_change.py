"""Has the sodium changed by more than the brain can follow, in a day or on the way to it?"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Remark, Series
from weatherglass.model.signals import Signal
from weatherglass.model.words.lists import inside_a_sentence, listed


class SodiumChange(Plain, frozen=True):
    """A rapid change that still stands.

    Attributes:
        before: The furthest sodium of the day before it.
        since: When the first result of the present run was too far from its own day before.
        risk: What makes the brain easily harmed by a rise; empty where nothing does.
    """

    newest: Measurement
    before: Measurement
    since: datetime
    risk: str

    @property
    def change(self) -> Decimal:
        """By how much, and which way."""
        return self.newest.value - self.before.value

    @property
    def is_corrected(self) -> bool:
        """Whether a low sodium rises."""
        return self.change > 0 and trend_limits.SODIUM_LOW_BEFORE.is_met_by(self.before.value)

    @property
    def is_on_course(self) -> bool:
        """Whether a rise of a low sodium is on the way beyond what a day may bring."""
        return self.is_corrected and not trend_limits.SODIUM_CHANGE.is_met_by(self.change)


def sodium_change(
    record: Record, signal: Signal, as_of: datetime, counts_for: timedelta
) -> SodiumChange | None:
    """Compare each sodium of a specimen with the lowest and the highest of the 24 hours before it."""
    results = tuple(
        r
        for r in record.series(signal).items
        if r.is_exact and Remark.DAY_ONLY not in r.remarks  # A day is not placed in 24 hours.
    )
    if Series(results).recent(as_of, counts_for) is None:
        return None
    window = trend_limits.SODIUM_WINDOW.length
    lowest, highest = SlidingExtreme(window), SlidingExtreme(window, highest=True)
    levels: list[int] = []
    froms: list[Measurement | None] = []
    for place, result in enumerate(results):
        low, high = lowest.before(result.at), highest.before(result.at)
        around = [results[index] for index in (low, high) if index is not None]
        furthest = max(around, key=lambda r: abs(result.value - r.value), default=None)
        change = Decimal(0) if furthest is None else abs(result.value - furthest.value)
        levels.append(int(_is_rapid(record, change, furthest, result)))
        lowest.add(result.at, result.value, place)
        highest.add(result.at, result.value, place)
        froms.append(furthest)
    run = run_at_level([r.at for r in results], levels, bridge=trend_limits.REPEAT_AFTER.length)
    if run is None:
        return None
    before = froms[-1] if levels[-1] else _not_taken_back(record, results, froms, run)
    if before is None:
        return None
    return SodiumChange(results[-1], before, run.since, _at_risk(record, before))


def _not_taken_back(
    record: Record, results: Sequence[Measurement], froms: Sequence[Measurement | None], run: Run
) -> Measurement | None:
    """Return from where a change of the last day went that still stands: a slower hour undoes no harm."""
    newest = results[-1]
    place = next(index for index, one in enumerate(results) if one.at == run.until)
    before = froms[place]
    if before is None or newest.at - results[place].at > trend_limits.SODIUM_WINDOW.length:
        return None
    went_up = results[place].value > before.value
    change = newest.value - before.value if went_up else before.value - newest.value
    return before if _is_rapid(record, change, before, newest) else None


def _is_rapid(record: Record, change: Decimal, before: Measurement | None, now: Measurement) -> bool:
    """Tell whether a change is rapid: a rise from a low sodium sooner where the brain is easily harmed."""
    if trend_limits.SODIUM_CHANGE.is_met_by(change):
        return True
    if before is None or now.value < before.value:
        return False
    if _is_early(change, before, now):
        return True
    return trend_limits.SODIUM_RISE_AT_RISK.is_met_by(change) and bool(_at_risk(record, before))


def _is_early(change: Decimal, before: Measurement, now: Measurement) -> bool:
    """Tell whether a rise from a very low sodium is on the way beyond what a day may bring."""
    return (
        trend_limits.SODIUM_RISE_EARLY.is_met_by(change)
        and trend_limits.SODIUM_EARLY_FROM.is_met_by(before.value)
        and now.at - before.at <= trend_limits.SODIUM_EARLY_WINDOW.length
    )


def _at_risk(record: Record, before: Measurement) -> str:
    """Return what makes a brain easily harmed by a rise from a low sodium; empty where nothing does."""
    if not trend_limits.SODIUM_LOW_BEFORE.is_met_by(before.value):
        return ""
    names = [inside_a_sentence(one.text) for one in record.told_of(*trend_limits.SODIUM_HARMS_SOONER)]
    if trend_limits.SODIUM_VERY_LOW_BEFORE.is_met_by(before.value):
        names.append(f"sodium {plain(before.value)} before")
    return listed(list(dict.fromkeys(names))) if names else ""
