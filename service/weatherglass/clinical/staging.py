"""Stages of acute kidney injury from a creatinine series, by each of two criteria.

Both walk once over the series, oldest first, so that every past result has its own
stage and the state of the newest one (new, continuing, settling) can be read off.
Windows slide with the walk: nothing is computed twice.

Thresholds are compared in the unit they are printed in. Results in mg/dL are compared
in mg/dL where both results of a pair were reported so.
"""

from bisect import bisect_left, insort
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from weatherglass.clinical.criteria import kdigo_aki_2012 as kdigo
from weatherglass.clinical.criteria import nhs_aki_2014 as nhs
from weatherglass.clinical.quantities import Unit
from weatherglass.clinical.record import Measurement, Remark
from weatherglass.clinical.tables import BandTable

#: A date without a time is kept as noon UTC, at most this far from any moment of its day.
_DAY_SPREAD = timedelta(hours=14)


class ReferenceMethod(StrEnum):
    """Which earlier results a reference value came from."""

    LOWEST_7_DAYS = "lowest of the previous 7 days"
    MEDIAN_YEAR = "median of 8 to 365 days before"
    EPISODE = "reference of the current episode"
    ESTIMATED = "estimated, no earlier result"
    UPPER_LIMIT = "upper reference limit for age"
    NONE = "no earlier result"


@dataclass(frozen=True, slots=True)
class Reference:
    """A reference creatinine in umol/L, how it was chosen and from what."""

    value: Decimal
    method: ReferenceMethod
    results: tuple[Measurement, ...]
    printed: Decimal | None = None


@dataclass(frozen=True, slots=True)
class KidneyStage:
    """The stage of one result by one criterion.

    Attributes:
        stage: 0 to 3, or None when there is nothing to compare with.
        ratio: Result over reference, exact.
        rise: Result minus the lowest of the previous 48 hours, in umol/L.
        rise_from: The result the rise is counted from.
        other: The second reference where a criterion has two, for display.
        rule: Which rule decided, in words.
    """

    index: Measurement
    stage: int | None
    reference: Reference | None
    ratio: Decimal | None
    rise: Decimal | None
    rise_from: Measurement | None
    rule: str
    other: Reference | None = None


class _LowestWithin:
    """The lowest of the results in a sliding window, in constant time a step."""

    def __init__(self, window: timedelta) -> None:
        self._window = window
        self._kept: deque[tuple[datetime, Measurement]] = deque()

    def lowest_before(self, moment: datetime) -> Measurement | None:
        """Return the lowest result at most the window before a moment."""
        kept = self._kept
        earliest = moment - self._window
        while kept and kept[0][0] < earliest:
            kept.popleft()
        return kept[0][1] if kept else None

    def add(self, result: Measurement, *, early: timedelta = timedelta(0)) -> None:
        """Take in the next result; it leaves the window early by a stated time."""
        kept = self._kept
        # Equal values: the later one stays in the window longer.
        while kept and kept[-1][1].value >= result.value:
            kept.pop()
        kept.append((result.at - early, result))


class _MedianBetween:
    """The median of the results between two ages, with results entering and leaving."""

    def __init__(self, youngest: timedelta, oldest: timedelta, results: Sequence[Measurement]) -> None:
        self._youngest = youngest
        self._oldest = oldest
        self._results = results
        self._first = 0
        self._last = 0
        self._sorted: list[tuple[Decimal, datetime, int]] = []

    def at(self, moment: datetime) -> Reference | None:
        """Return the median of results older than the youngest age, up to the oldest."""
        results = self._results
        while self._last < len(results) and moment - results[self._last].at > self._youngest:
            entering = results[self._last]
            insort(self._sorted, (entering.value, entering.at, self._last))
            self._last += 1
        while self._first < self._last and moment - results[self._first].at > self._oldest:
            leaving = results[self._first]
            del self._sorted[bisect_left(self._sorted, (leaving.value, leaving.at, self._first))]
            self._first += 1
        if not self._sorted:
            return None
        half = len(self._sorted) // 2
        high = self._sorted[half]
        low = self._sorted[half - 1] if len(self._sorted) % 2 == 0 else high
        chosen = tuple(results[i] for i in sorted({low[2], high[2]}))
        printed = [m.printed for m in chosen if m.printed is not None]
        return Reference(
            value=(low[0] + high[0]) / 2,
            method=ReferenceMethod.MEDIAN_YEAR,
            results=chosen,
            printed=sum(printed, Decimal(0)) / len(printed) if len(printed) == len(chosen) else None,
        )


def usable(results: Sequence[Measurement]) -> tuple[Measurement, ...]:
    """Return the results that can be compared: exact, or a conflict's middle value."""
    return tuple(r for r in results if r.spread is None or Remark.CONFLICT in r.remarks)


def _walk(
    results: Sequence[Measurement], recent: timedelta
) -> Iterator[tuple[Measurement, Measurement | None, Measurement | None, Reference | None]]:
    """Go through a series: each result with its lowest of 7 days and 48 hours and its median."""
    week = _LowestWithin(recent)
    two_days = _LowestWithin(nhs.RISE_WINDOW.length)
    year = _MedianBetween(recent, nhs.YEAR_WINDOW.length, results)
    dated: deque[Measurement] = deque()
    for index in results:
        timed = Remark.DAY_ONLY not in index.remarks
        # A date without a time serves a window of days once it surely lies before the
        # index and as long as it surely lies inside; it never serves the 48 hours.
        while dated and index.at - dated[0].at > _DAY_SPREAD:
            week.add(dated.popleft(), early=_DAY_SPREAD)
        yield (
            index,
            week.lowest_before(index.at) if timed else None,
            two_days.lowest_before(index.at) if timed else None,
            year.at(index.at),
        )
        if timed:
            week.add(index)
            two_days.add(index)
        else:
            dated.append(index)


def exact_stage_by_ratio(table: BandTable, value: Decimal, reference: Decimal) -> int:
    """Stage by ratio without rounding a quotient: value >= factor x reference.

    Examples:
        >>> exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, Decimal(120), Decimal(80))
        1
        >>> exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, Decimal("119.9"), Decimal(80))
        0
    """
    stage = table.bands[0].points
    for row in table.bands[1:]:
        if row.low is not None and value >= row.low * reference:
            stage = row.points
    return stage


# NHS England, 2014


def stage_nhs(
    results: Sequence[Measurement],
    *,
    is_adult: bool = True,
    upper_limit: Decimal | None = None,
) -> tuple[KidneyStage, ...]:
    """Give every result of a series its AKI warning stage.

    The newest result is compared with the lowest of the previous 7 days (RV1), with the
    median of 8 to 365 days (RV2), and with the lowest of 48 hours (D). The higher ratio
    decides; both are kept.

    Args:
        results: Creatinine in umol/L, ascending in time, one a moment.
        is_adult: 18 years or over.
        upper_limit: Upper reference limit for age, which children are compared with.

    Source:
        NHS England 2014, algorithm. Not covered here: results on dialysis and in the
        newborn, which the caller leaves out.
    """
    return tuple(
        _nhs_one(index, lowest, rise_from, median, is_adult, upper_limit)
        for index, lowest, rise_from, median in _walk(usable(results), nhs.RECENT_WINDOW.length)
    )


def _nhs_one(
    index: Measurement,
    lowest: Measurement | None,
    rise_from: Measurement | None,
    median: Reference | None,
    is_adult: bool,
    upper_limit: Decimal | None,
) -> KidneyStage:
    recent = (
        Reference(lowest.value, ReferenceMethod.LOWEST_7_DAYS, (lowest,), lowest.printed)
        if lowest is not None
        else None
    )
    references = [r for r in (recent, median) if r is not None]
    if not references and not is_adult and upper_limit is not None:
        references = [Reference(upper_limit, ReferenceMethod.UPPER_LIMIT, ())]
    if not references:
        return KidneyStage(index, None, None, None, None, None, "no earlier result within 365 days")
    # The lower reference gives the higher ratio.
    reference = min(references, key=lambda r: r.value)
    other = next((r for r in references if r is not reference), None)
    rise = index.value - rise_from.value if rise_from is not None else None
    ratio = index.value / reference.value
    stage = exact_stage_by_ratio(nhs.STAGE_BY_RATIO, index.value, reference.value)
    rule = "ratio to the reference value"
    if stage:
        if is_adult and nhs.STAGE_3_CREATININE.is_met_by(index.value):
            stage, rule = 3, "ratio of at least 1.5 and creatinine above 354 \u00b5mol/L"
        elif not is_adult and upper_limit is not None and _over_three_limits(index.value, upper_limit):
            stage, rule = 3, "ratio of at least 1.5 and more than 3 times the upper limit for age"
    elif rise is not None and nhs.STAGE_1_RISE.is_met_by(rise):
        stage, rule = 1, "rise of more than 26 \u00b5mol/L within 48 hours"
    return KidneyStage(index, stage, reference, ratio, rise, rise_from, rule, other)


def _over_three_limits(value: Decimal, upper_limit: Decimal) -> bool:
    return nhs.STAGE_3_CHILD_TIMES_UPPER_LIMIT.is_met_by(value / upper_limit)


# KDIGO, 2012


def stage_kdigo(
    results: Sequence[Measurement], *, estimated: Decimal | None = None
) -> tuple[KidneyStage, ...]:
    """Give every result of a series its KDIGO stage by creatinine.

    Reference, in this order (ours, in keeping with the guideline): the lowest result of
    the previous 7 days; else the median of 8 to 365 days; else an estimate where the site
    allows one. Once injury is found its reference stays for the episode: otherwise the
    second high result would make the first one look normal.

    Args:
        results: Creatinine in umol/L, ascending in time, one a moment.
        estimated: Back-calculated baseline, only when the site has switched it on.

    Source:
        KDIGO 2012, section 2, Table 2, serum creatinine. Urine output and renal
        replacement therapy are judged by the caller, who has the whole record.
    """
    stages: list[KidneyStage] = []
    episode: Reference | None = None
    for index, lowest, rise_from, median in _walk(usable(results), kdigo.RATIO_WINDOW.length):
        recent = (
            Reference(lowest.value, ReferenceMethod.LOWEST_7_DAYS, (lowest,), lowest.printed)
            if lowest is not None
            else None
        )
        reference = recent or median
        if reference is None and estimated is not None:
            reference = Reference(estimated, ReferenceMethod.ESTIMATED, ())
        if episode is not None and (reference is None or episode.value < reference.value):
            reference = Reference(episode.value, ReferenceMethod.EPISODE, episode.results, episode.printed)
        outcome = _kdigo_one(index, reference, rise_from)
        stages.append(outcome)
        if outcome.stage and reference is not None:
            if episode is None or reference.value < episode.value:
                episode = reference
        else:
            episode = None
    return tuple(stages)


def _kdigo_one(index: Measurement, reference: Reference | None, rise_from: Measurement | None) -> KidneyStage:
    if reference is None:
        return KidneyStage(index, None, None, None, None, None, "single result, cannot be staged")
    stage = _kdigo_ratio(index, reference)
    rise = index.value - rise_from.value if rise_from is not None else None
    rose = rise_from is not None and _kdigo_rise(index, rise_from)
    rule = "ratio to the reference value"
    if not stage and rose:
        stage, rule = 1, "rise of at least 26.5 \u00b5mol/L (0.3 mg/dL) within 48 hours"
    if stage and _kdigo_ceiling(index):
        stage, rule = 3, "acute rise to at least 353.6 \u00b5mol/L (4.0 mg/dL)"
    return KidneyStage(index, stage, reference, index.value / reference.value, rise, rise_from, rule)


def _kdigo_ratio(index: Measurement, reference: Reference) -> int:
    if index.printed is not None and reference.printed is not None:
        return exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, index.printed, reference.printed)
    return exact_stage_by_ratio(kdigo.STAGE_BY_RATIO, index.value, reference.value)


def _kdigo_rise(index: Measurement, earlier: Measurement) -> bool:
    if index.printed is not None and earlier.printed is not None:
        return kdigo.STAGE_1_RISE_MASS.is_met_by(index.printed - earlier.printed)
    return kdigo.STAGE_1_RISE.is_met_by(index.value - earlier.value)


def _kdigo_ceiling(index: Measurement) -> bool:
    if index.printed is not None:
        return kdigo.STAGE_3_CREATININE_MASS.is_met_by(index.printed)
    return kdigo.STAGE_3_CREATININE.is_met_by(index.value)


#: The unit every creatinine of this module is in.
CREATININE_UNIT = Unit.MICROMOLE_PER_LITRE
