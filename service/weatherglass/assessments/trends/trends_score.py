"""Is the score rising, or has it stayed high?

NEWS2 against the lowest total of the previous 24 hours, the bands of response it has
crossed, the parameters that newly score 3, and how long it has stayed at 5 or more. No
publication sets a limit for a rise; the limits are ours.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import SetResult
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.steady import days_before
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.findings import Finding, Kind, Measure, Urgency
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.numbers.statistics import (
    MANN_KENDALL_SOURCE,
    MIN_POINTS_FOR_SIGNIFICANCE,
    THEIL_SEN_SOURCE,
    mann_kendall,
    theil_sen_slope,
)
from weatherglass.model.signals import Letter
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.lists import listed

_WINDOW = trend_limits.SCORE_RISE_WINDOW.length
_GONE = ours.GONE_AFTER.length
_BRIDGE = trend_limits.REPEAT_AFTER.length
_MOST = int(ours.STEADY_POINTS.value)
#: Totals are whole numbers, and all of these are "at least": compared as such, being the hot path.
_RISE, _FLOOR, _HIGH, _URGENT, _EMERGENCY = (
    int(cutoff.limit.value)
    for cutoff in (
        trend_limits.SCORE_RISE,
        trend_limits.SCORE_RISE_FLOOR,
        trend_limits.SUSTAINED_HIGH,
        news2_2017.URGENT_RESPONSE,
        news2_2017.EMERGENCY_RESPONSE,
    )
)
#: Where the bands of response begin, the highest first.
_FLOORS = (_EMERGENCY, _URGENT)
_SETS = int(trend_limits.SUSTAINED_SETS.value)
_BANDS = ("below 5", "5-6", "7 or more")


@dataclass(slots=True)
class _Step:
    """One scored round against the day before it.

    Attributes:
        lowest: The round with the lowest total of the previous 24 hours.
        newly_red: Parameters that score 3 and did not within the day before.
        sets_high: Complete sets in a row, up to this one, at 5 or more. An incomplete one that is surely
            below ends them too, and so does as long without one as who has left would be.
        level: 0 no trend, then by the band of the total.
    """

    result: SetResult
    lowest: SetResult | None = None
    highest: SetResult | None = None
    newly_red: list[str] = field(default_factory=list)
    sets_high: int = 0
    high_since: datetime | None = None
    level: int = 0

    @property
    def total(self) -> int:
        """The total, or the lowest possible one when a row is open."""
        return self.result.lowest

    @property
    def rise(self) -> int:
        """Points above the lowest total of the day before, 0 when there is none."""
        before = self.lowest.total if self.lowest is not None else None
        return 0 if before is None else self.total - before


def assess_score_trends(bedside: Bedside) -> Iterator[Finding]:
    """Follow NEWS2 where it applies."""
    if bedside.news2 and bedside.may_use_news2:
        finding = _news2(bedside, _telling(_replay(bedside.news2)))
        if finding is not None:
            yield finding


def _band(total: int) -> int:
    return (total >= _URGENT) + (total >= _EMERGENCY)


# The past, round by round


def _replay(results: Sequence[SetResult]) -> list[_Step]:
    steps = []
    lowest, highest = SlidingExtreme(_WINDOW), SlidingExtreme(_WINDOW, highest=True)
    not_red: dict[int, datetime] = {}
    sets_high = 0
    high_since: datetime | None = None
    high_until: datetime | None = None
    for place, result in enumerate(results):
        at = result.observed.end
        low, high = lowest.before(at), highest.before(at)
        step = _Step(
            result,
            results[low] if low is not None else None,
            results[high] if high is not None else None,
        )
        step.newly_red = _newly_red(result, not_red, at)
        if result.total is not None:
            total = Decimal(result.total)
            lowest.add(at, total, place)
            highest.add(at, total, place)
        if result.highest < _HIGH or (high_until is not None and at - high_until > _GONE):
            sets_high, high_since, high_until = 0, None, None
        if result.total is not None and result.total >= _HIGH:
            sets_high, high_since, high_until = sets_high + 1, high_since or at, at
        step.sets_high, step.high_since = sets_high, high_since
        step.level = _level(step)
        steps.append(step)
    return steps


def _telling(steps: list[_Step]) -> list[_Step]:
    """Leave out open rounds at the end that do not show the trend before them to be over."""
    end = len(steps)
    while end > 1 and not steps[end - 1].level and not steps[end - 1].result.is_complete:
        end -= 1
    return steps[:end] if steps[end - 1].level and _stands(steps[end - 1], steps[end:]) else steps


def _stands(step: _Step, later: Sequence[_Step]) -> bool:
    """Tell whether nothing that was measured again has brought a total below its band of response."""
    return _last_known((step, *later)) >= next((each for each in _FLOORS if step.total >= each), step.total)


def _last_known(steps: Sequence[_Step]) -> int:
    """Return the total of some rounds, each sign as it was measured last."""
    points = [row.lowest for row in steps[0].result.results]
    for one in steps[1:]:
        again = [row.points for row in one.result.results]
        points = [before if now is None else now for before, now in zip(points, again, strict=True)]
    return sum(points)


def _newly_red(result: SetResult, not_red: dict[int, datetime], at: datetime) -> list[str]:
    """Name the parameters that score 3 and scored less within the day before.

    A row keeps its place whichever saturation scale is used.
    """
    newly = []
    for place, outcome in enumerate(result.results):
        points = outcome.points
        if points is None:
            continue
        if points < 3:
            not_red[place] = at
        elif place in not_red and at - not_red[place] <= _WINDOW:
            newly.append(result.rows[place].label)
    return newly if newly and not _is_as_usual(result) else []


def _is_as_usual(result: SetResult) -> bool:
    """Tell whether what scores 3 is as usual for this person, so that the total alone asks."""
    asks = news2_2017.NEWS2.tier_for(total=result.lowest, highest_single=result.highest_single)
    return result.tier != asks


def _level(step: _Step) -> int:
    total = step.total
    band = _band(total)
    before = step.lowest.total if step.lowest is not None else None
    has_risen = step.rise >= _RISE and total >= _FLOOR
    has_crossed = before is not None and band > _band(before)
    is_sustained = step.sets_high >= _SETS
    return band + 1 if has_risen or has_crossed or step.newly_red or is_sustained else 0


# The newest


def _news2(bedside: Bedside, steps: Sequence[_Step]) -> Finding | None:
    choices = bedside.choices
    times = [step.result.observed.end for step in steps]
    run = run_at_level(times, [step.level for step in steps], bridge=_BRIDGE)
    newest = steps[-1]
    if run is not None and _is_open_and_high(steps, run):
        return None  # Nobody knows that it is not as high as it was.
    if run is None or bedside.state_of(run) is None or bedside.as_of - times[-1] > choices.look_back:
        return None
    slope = _slope(steps) if newest.level else ()
    course = _course(bedside, newest, slope) if newest.level else _settling(bedside, run)
    return tell(
        About(Kind.SCORE_TREND, news2_2017.NEWS2.key, Letter.OVERALL),
        Urgency(newest.level),
        rests_on(bedside, run, newest.lowest, newest.result, at=times[-1]),
        brief=_brief(bedside, newest),
        sentence=f"NEWS2 {_total(bedside, newest)}: {course}.",
        course=course,
        measures=(*_measures(newest), *slope),
        sources=(
            trend_limits.SCORE_RISE,
            news2_2017.URGENT_RESPONSE,
            *((trend_limits.SUSTAINED_HIGH,) if newest.sets_high > 1 else ()),
            *((THEIL_SEN_SOURCE, MANN_KENDALL_SOURCE) if slope else ()),
        ),
        cautions=_cautions(newest),
        decided_by=_rule(newest),
    )


def _brief(bedside: Bedside, newest: _Step) -> str:
    changed = _changes(bedside, newest)[0] if newest.level else "no longer rising or high"
    return f"NEWS2 {_total(bedside, newest)}, {changed}"


def _total(bedside: Bedside, step: _Step) -> str:
    """Return a total, with its time where a later round says too little to take its place."""
    end = step.result.observed.end
    then = f" {bedside.clock.at(end)}" if end < bedside.news2[-1].observed.end else ""
    return f"{step.result.total_words}{then}"


def _changes(bedside: Bedside, step: _Step) -> list[str]:
    """Say each change that counts, the rise first."""
    parts = []
    before = step.lowest
    if before is not None and before.total is not None and step.total > before.total:
        ago = lasting(step.result.observed.end - before.observed.end)
        parts.append(f"up from {before.total} ({ago} before)")
    if step.newly_red:
        parts.append(f"newly 3 points for {listed(step.newly_red)}")
    if step.sets_high >= _SETS and step.high_since is not None:
        since = bedside.clock.full(step.high_since)
        parts.append(f"5 or more in {step.sets_high} complete sets in a row since {since}")
    return parts


def _course(bedside: Bedside, step: _Step, slope: Sequence[Measure]) -> str:
    parts = _changes(bedside, step)
    if slope:
        parts.append("rising steadily")
    peak = step.highest.total if step.highest is not None else None
    if peak is not None and peak > step.total and step.result.is_complete:
        parts.append(f"down from {peak} at its highest")
    return ", ".join(parts)


def _settling(bedside: Bedside, run: Run) -> str:
    return f"no longer rising or high; it was until {bedside.clock.full(run.until)}"


def _measures(step: _Step) -> Iterator[Measure]:
    result = step.result
    yield _score("total", "NEWS2 now", Decimal(step.total), result.observed.end)
    before = step.lowest
    if before is not None and before.total is not None:
        yield _score(
            "lowest-24-hours", "lowest NEWS2 of 24 hours", Decimal(before.total), before.observed.end
        )
        yield _score("rise", "rise of NEWS2", Decimal(step.rise))
    if step.newly_red:
        yield Measure("newly-3", "newly 3 points", ", ".join(step.newly_red))
    if step.sets_high:
        yield Measure(
            "sets-at-5-or-more",
            "complete sets in a row at 5 or more",
            Decimal(step.sets_high),
            at=step.high_since,
        )


def _score(key: str, label: str, value: Decimal, at: datetime | None = None) -> Measure:
    return Measure(key, label, value, Unit.SCORE, at)


def _is_open_and_high(steps: Sequence[_Step], run: Run) -> bool:
    """Tell whether open rounds are all that followed a high total, and leave it at 5 or more."""
    end = next((place for place in range(len(steps) - 1, -1, -1) if steps[place].result.is_complete), None)
    if steps[-1].level or steps[-1].result.is_complete or end is None:
        return False
    return steps[end].result.observed.end >= run.until and _last_known(steps[end:]) >= _HIGH


def _slope(steps: Sequence[_Step]) -> tuple[Measure, ...]:
    """Return slope and probability where the totals of the day rise steadily."""
    newest = steps[-1].result.observed.end
    held: list[SetResult] = []
    for step in reversed(steps):
        if newest - step.result.observed.end > _WINDOW or len(held) == _MOST:
            break
        if step.result.total is not None:
            held.append(step.result)
    if len(held) < MIN_POINTS_FOR_SIGNIFICANCE:
        return ()
    held.reverse()
    totals = [Decimal(one.total or 0) for one in held]
    found = mann_kendall(totals)
    slope = theil_sen_slope([days_before(newest, one.observed.end) for one in held], totals)
    # One-sided: that a rise is the harmful direction was known before looking.
    if found.p_rising is None or found.p_rising > ours.STEADY_PROBABILITY.value or not slope or slope < 0:
        return ()
    return (
        _score("slope-per-day", f"slope a day over {len(held)} sets", slope),
        Measure("probability", "one-sided probability without a trend", found.p_rising),
    )


def _cautions(step: _Step) -> Iterator[str]:
    if not step.result.is_complete:
        yield "The newest set is not complete: the rise is counted from the lowest possible total."
    if step.highest is not None and (step.highest.total or 0) > step.total:
        yield trend_limits.FALLING_SCORE_SILENCES_NOTHING.text


def _rule(step: _Step) -> str:
    if not step.level:
        return ""
    reasons = []
    if step.rise >= _RISE and step.total >= _FLOOR:
        reasons.append(f"NEWS2 up by {_RISE} or more in 24 hours")
    elif step.newly_red:
        reasons.append("a parameter newly scores 3")
    elif step.sets_high >= _SETS:
        reasons.append("NEWS2 5 or more in consecutive complete sets")
    else:
        reasons.append("a response threshold crossed upwards")
    return f"{reasons[0]}, now {_BANDS[_band(step.total)]}"
