"""What bears on possible bleeding, gathered once for every question that asks.

Bleeding is suspected on a fall in haemoglobin or on recorded bleeding. Everything else
(pulse against pressure, INR, platelets, an operation, antithrombotics) only supports it.
"""

import re
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import accumulate, pairwise
from typing import NamedTuple

from weatherglass.facts.rounds.child_cells import pressure_below, pulse_above
from weatherglass.facts.rounds.shock_index import ShockIndex, shock_index_of
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.facts.series.windows import SlidingExtreme
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits import trend_limits
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.scores import shock_index
from weatherglass.model.plain import Plain
from weatherglass.model.quantities import plain, unit_words
from weatherglass.model.record import (
    Condition,
    ConditionKind,
    Done,
    Measurement,
    ProcedureKind,
    Reason,
    Record,
    Remark,
)
from weatherglass.model.signals import FACTS, Bleeding, CodedSignal, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.statistics import reference_change
from weatherglass.model.words.lists import listed

_HUNDREDTH = Decimal("0.01")
_FALLS = (
    trend_limits.HAEMOGLOBIN_FALL,
    trend_limits.HAEMOGLOBIN_FALL_MAJOR,
    trend_limits.HAEMOGLOBIN_FALL_LIFE_THREATENING,
)
_BY_CHANCE = next(
    reference_change(analytical_cv=one.analytical_cv, within_subject_cv=one.within_subject_cv).rise
    for one in trend_limits.BIOLOGICAL_VARIATION
    if one.signal is Signal.HAEMOGLOBIN
)
OPERATIONS = frozenset(
    {
        ProcedureKind.SURGERY,
        ProcedureKind.CARDIAC_SURGERY,
        ProcedureKind.NEUROSURGERY,
        ProcedureKind.TRANSPLANT,
    }
)


_WEEK = trend_limits.HAEMOGLOBIN_LAST_KNOWN.length
#: Bleeding as a problem list has it.
BLEEDING_KINDS = (
    ConditionKind.BLEEDING,
    ConditionKind.MELAENA,
    ConditionKind.INTRACRANIAL_BLEEDING,
    ConditionKind.CRITICAL_SITE_BLEEDING,
)


class HaemoglobinFall(NamedTuple):
    """The newest haemoglobin against the highest of the window before it.

    Attributes:
        level: 1 from 20 g/L, 2 from 30, 3 from 50; 0 below.
        run: The run of falls that the newest result belongs to, or the last one.
    """

    newest: Measurement
    before: Measurement
    fall: Decimal
    level: int
    run: Run | None


class SteadyHaemoglobin(NamedTuple):
    """The newest haemoglobins, none of which was higher than the last by more than chance."""

    first: Measurement
    newest: Measurement


class AfterOperation(NamedTuple):
    """The newest pulse and systolic pressure, and the best of each since a fresh operation."""

    operation: Done
    pulse: Measurement
    pulse_before: Measurement
    systolic: Measurement
    systolic_before: Measurement
    since: datetime


class ChildInShock(NamedTuple):
    """What the newest round of a child shows of lost blood, where a shock index means nothing.

    Attributes:
        signs: A pulse fast for the age, a pressure low for it, a slow capillary refill: any of them.
        is_shock: Whether it is shock: two of them, or a pressure far too low.
        since: Since when every round has shown as much; of shock since when it is shock.
    """

    signs: tuple[tuple[Signal, Measurement], ...]
    is_shock: bool
    since: datetime

    @property
    def words(self) -> str:
        """The signs, as they are said: 'pulse 146 /min and capillary refill time 3 s'."""
        return listed(
            [
                f"{FACTS[signal].label} {plain(one.value)} {unit_words(FACTS[signal].unit)}"
                for signal, one in self.signs
            ]
        )


class RecordedBleeding(Plain, frozen=True, kw_only=True):
    """Bleeding that somebody wrote down.

    Attributes:
        is_visible_gut: Vomited blood or black stool, whatever the haemoglobin shows yet.
        is_black: Black stool, by its words.
        is_in_the_skull: Bleeding inside the skull.
        is_critical: Inside the skull or another closed place, where little blood does great harm.
        is_minor: From the nose, the gums or into the urine, and nowhere else that is said.
        is_confirmed: Whether it is more than somebody's suspicion.
        measured: The millilitres of a measured loss.
    """

    text: str
    at: datetime | None
    origin: Origin
    is_visible_gut: bool = False
    is_black: bool = False
    is_in_the_skull: bool = False
    is_critical: bool = False
    is_minor: bool = False
    is_confirmed: bool = True
    measured: Decimal | None = None

    @property
    def volume(self) -> Decimal | None:
        """How many millilitres were measured, or the words say, were lost; None where neither says any."""
        return self.measured if self.measured is not None else _volume_in(self.text.casefold())


_VOLUME = re.compile(r"(?<![\d.,])(\d{1,5}(?:[.,]\d{1,2})?)\s*(mls?|millilit(?:re|er)s?|l|lit(?:re|er)s?)\b")


def _volume_in(words: str) -> Decimal | None:
    found = [
        Decimal(number.replace(",", ".")) * (1 if unit.startswith("m") else 1000)
        for number, unit in _VOLUME.findall(words)
    ]
    return max(found, default=None)


class BloodLoss(Plain, frozen=True, kw_only=True):
    """What the record holds about possible bleeding.

    Attributes:
        fall: The newest haemoglobin against the highest before; None without two results.
        recorded: Bleeding seen at the bedside, on the problem list or as the reason of a stay, recent.
        shock_index: Of the newest round with a pulse and a pressure, in adults.
        operations: Recent operations.
        transfusions: Recent transfusions, which can hide a fall.
        after_operation: Pulse and pressure that go the way of bleeding since a fresh operation.
        child: What stands in for the shock index in a child.
        steady: How long haemoglobin has not fallen; None without two results.
    """

    fall: HaemoglobinFall | None
    recorded: tuple[RecordedBleeding, ...]
    shock_index: ShockIndex | None
    operations: tuple[Done, ...]
    transfusions: tuple[Done, ...]
    after_operation: "AfterOperation | None" = None
    child: ChildInShock | None = None
    steady: SteadyHaemoglobin | None = None

    @property
    def operation_that_took_it(self) -> Done | None:
        """The operation across which haemoglobin fell, where it has been steady for long enough since."""
        fall, steady = self.fall, self.steady
        if fall is None or steady is None:
            return None
        if steady.newest.at - steady.first.at < ours.STEADY_AFTER_OPERATION.length:
            return None
        across = [one for one in self.operations if fall.before.at < one.until <= steady.first.at]
        return across[-1] if across else None

    @property
    def has_fallen(self) -> bool:
        """Whether haemoglobin has fallen by the published amount."""
        return self.fall is not None and self.fall.level > 0


def bleeding_since(fall: HaemoglobinFall | None, recorded: Iterable[RecordedBleeding]) -> datetime | None:
    """Return when the first of what speaks of bleeding began; None where nothing of it has a time."""
    began = [one.at for one in recorded if one.at is not None]
    if fall is not None and fall.run is not None:
        began.append(fall.run.since)
    return min(began, default=None)


def blood_loss(
    record: Record,
    as_of: datetime,
    rounds: Sequence[ObservationSet],
    *,
    child_months: int | None,
    is_mother: bool,
) -> BloodLoss:
    """Gather what bears on possible bleeding.

    Args:
        record: The record as it stands.
        as_of: The moment of the review.
        rounds: Rounds of observations, oldest first.
        child_months: The age of a child in completed months; None in an adult.
        is_mother: Whether a pregnancy is on record, or one that ended lately.
    """
    is_child = child_months is not None
    fall = haemoglobin_fall(record)
    index = None if is_child else _shock_index(rounds, as_of)
    kinds = (*BLEEDING_KINDS, *_small_too(record, as_of, fall, index))
    measured = measured_loss(record, as_of, is_mother=is_mother)
    return BloodLoss(
        fall=fall,
        recorded=(*_recorded(record, as_of, kinds), *((measured,) if measured is not None else ())),
        shock_index=index,
        operations=_recent(record, as_of, OPERATIONS, ours.OPERATION_BLEEDS_FOR.length),
        transfusions=_recent(
            record, as_of, frozenset({ProcedureKind.TRANSFUSION}), ours.TRANSFUSION_HIDES_FOR.length
        ),
        after_operation=None if is_child else _after_operation(record, as_of, rounds),
        child=child_in_shock(rounds, as_of, child_months) if child_months is not None else None,
        steady=_steady(record),
    )


def child_in_shock(rounds: Sequence[ObservationSet], as_of: datetime, months: int) -> ChildInShock | None:
    """Return what the newest round with any of the three signs shows of lost blood; None where nothing."""
    earliest = as_of - ours.VITAL_SIGNS_COUNT_FOR.length
    seen = [(one, _signs_of_loss(one, months)) for one in rounds if _has_a_sign(one)]
    if not seen or seen[-1][0].end < earliest or not seen[-1][1]:
        return None
    newest, signs = seen[-1]
    is_shock = _is_shock(signs, months)
    since = newest.end
    for one, shown in reversed(seen):
        if not shown or (is_shock and not _is_shock(shown, months)):
            break
        since = one.end
    return ChildInShock(signs, is_shock, since)


_SIGNS_OF_LOSS = (Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.CAPILLARY_REFILL)


def _has_a_sign(one: ObservationSet) -> bool:
    return any(one.number(signal) is not None for signal in _SIGNS_OF_LOSS)


def _signs_of_loss(one: ObservationSet, months: int) -> tuple[tuple[Signal, Measurement], ...]:
    measured = ((signal, one.number(signal)) for signal in _SIGNS_OF_LOSS)
    return tuple(
        (signal, value)
        for signal, value in measured
        if value is not None and value.spread is None and _shows_loss(signal, value.value, months)
    )


def _shows_loss(signal: Signal, value: Decimal, months: int) -> bool:
    if signal is Signal.PULSE:
        return ours.CHILD_PULSE_POINTS.is_met_by(pulse_above(value, months))
    if signal is Signal.SYSTOLIC_PRESSURE:
        return pressure_below(value, months) > 0
    return pews.CAPILLARY_REFILL.points_of(value) > 0


def _is_shock(signs: Sequence[tuple[Signal, Measurement]], months: int) -> bool:
    pressure = next((one.value for signal, one in signs if signal is Signal.SYSTOLIC_PRESSURE), None)
    is_low = pressure is not None and ours.CHILD_PRESSURE_POINTS.is_met_by(pressure_below(pressure, months))
    return len(signs) > 1 or is_low


def _small_too(
    record: Record, as_of: datetime, fall: HaemoglobinFall | None, index: ShockIndex | None
) -> tuple[ConditionKind, ...]:
    """Return the kind of small bleeding where it is no longer small; nothing where it may be."""
    if index is None or not index.is_high:
        return ()
    limits = (
        (Signal.HAEMOGLOBIN, ours.SMALL_BLEEDING_HAEMOGLOBIN),
        (Signal.INR, ours.SMALL_BLEEDING_INR),
    )
    known = ((record.series(signal).recent(as_of, _WEEK), limit) for signal, limit in limits)
    is_large = any(
        one is not None and one.spread is None and limit.is_met_by(one.value) for one, limit in known
    )
    is_falling = fall is not None and fall.level > 0
    return (ConditionKind.MINOR_BLEEDING,) if is_large or is_falling else ()


def _after_operation(
    record: Record, as_of: datetime, rounds: Sequence[ObservationSet]
) -> AfterOperation | None:
    """Return a rising pulse with a falling pressure of the day after an operation."""
    fresh = _recent(record, as_of, OPERATIONS, ours.OPERATION_IS_FRESH_FOR.length)
    if not fresh:
        return None
    operation = max(fresh, key=lambda one: (one.until, one.origin))
    began = operation.until
    pairs = [
        (pulse, systolic)
        for one in rounds
        if one.end >= began
        and (pulse := one.number(Signal.PULSE)) is not None
        and (systolic := one.number(Signal.SYSTOLIC_PRESSURE)) is not None
        and pulse.spread is None
        and systolic.spread is None
        and systolic.value > 0
    ]
    slowest: Measurement | None = None
    highest: Measurement | None = None
    found: AfterOperation | None = None
    for pulse, systolic in pairs:
        if (
            slowest is not None
            and highest is not None
            and _goes_as_bleeding(pulse, slowest, systolic, highest)
        ):
            since = found.since if found is not None else max(pulse.at, systolic.at)
            found = AfterOperation(operation, pulse, slowest, systolic, highest, since)
        else:
            found = None
        slowest = pulse if slowest is None or pulse.value < slowest.value else slowest
        highest = systolic if highest is None or systolic.value > highest.value else highest
    return found


def _goes_as_bleeding(
    pulse: Measurement, slowest: Measurement, systolic: Measurement, highest: Measurement
) -> bool:
    return (
        shock_index.HIGH.is_met_by(pulse.value / systolic.value)
        and ours.PULSE_UP_AFTER_OPERATION.is_met_by(pulse.value - slowest.value)
        and ours.PRESSURE_DOWN_AFTER_OPERATION.is_met_by(highest.value - systolic.value)
    )


def measured_loss(record: Record, as_of: datetime, *, is_mother: bool) -> RecordedBleeding | None:
    """Return the measured loss of the last day where it is large, or more than a birth usually takes.

    A total never becomes less: numbers that do are parts of one, and are added up. Its time is when it
    reached the last of the limits that it has passed, so that a repeat moves no deadline.
    """
    listed_for = ours.BIRTH_LOSS_LISTED_FOR.length
    found = [one for one in record.series(Signal.BLOOD_LOSS).items if as_of - one.at <= listed_for]
    if not found:
        return None
    values = [one.value for one in found]
    are_parts = any(after < before for before, after in pairwise(values))
    totals = list(accumulate(values) if are_parts else accumulate(values, max))
    after_surgery = any(as_of - one.until <= listed_for for one in record.done(ProcedureKind.SURGERY))
    of_a_birth = ours.BIRTH_LOSS_MAJOR if after_surgery else ours.BIRTH_LOSS_MINOR
    steps = [of_a_birth, ours.BIRTH_LOSS_MAJOR] if is_mother else [ours.LARGE_LOSS]
    passed = [limit for limit in (*steps, ours.VERY_LARGE_LOSS) if limit.is_met_by(totals[-1])]
    if not passed:
        return None
    reached = next(one for one, total in zip(found, totals, strict=True) if passed[-1].is_met_by(total))
    parts = f" in {len(found)} parts" if are_parts else ""
    return RecordedBleeding(
        text=f"blood loss {plain(totals[-1])} mL{parts}",
        at=reached.at,
        origin=reached.origin,
        measured=totals[-1],
    )


def haemoglobin_fall(record: Record) -> HaemoglobinFall | None:
    """Compare each haemoglobin with the highest known in the 48 hours before it; return the newest.

    What was known when those hours began counts too, up to a week old: a low value that is measured
    again is no less of a fall.
    """
    results = [
        r
        for r in record.series(Signal.HAEMOGLOBIN).items
        if r.spread is None and Remark.DAY_ONLY not in r.remarks
    ]
    highest = SlidingExtreme(trend_limits.HAEMOGLOBIN_WINDOW.length, highest=True)
    levels: list[int] = []
    before: Measurement | None = None
    for place, result in enumerate(results):
        top = highest.before(result.at)
        inside = results[top] if top is not None else None
        before = _from(result, inside, _known_at_first(results, place))
        fall = before.value - result.value if before is not None else Decimal(0)
        levels.append(_degree(fall))
        highest.add(result.at, result.value, place)
    if not results:
        return None
    newest = results[-1]
    before = before or newest
    run = run_at_level([r.at for r in results], levels, bridge=trend_limits.REPEAT_AFTER.length)
    return HaemoglobinFall(newest, before, before.value - newest.value, levels[-1], run)


def _steady(record: Record) -> SteadyHaemoglobin | None:
    """Return the newest results from which haemoglobin has not fallen; blood that was given hides a fall."""
    given = max((one.until for one in record.done(ProcedureKind.TRANSFUSION)), default=None)
    results = [one for one in record.series(Signal.HAEMOGLOBIN).items if one.spread is None]
    first: Measurement | None = None
    for one in reversed(results):
        lost = one.value - results[-1].value
        if lost * 100 > one.value * _BY_CHANCE or (given is not None and one.at <= given):
            break
        first = one
    return SteadyHaemoglobin(first, results[-1]) if first is not None and first is not results[-1] else None


def _from(result: Measurement, inside: Measurement | None, first: Measurement | None) -> Measurement | None:
    """Return what a result has fallen from: the highest inside the window, unless only the other shows it."""
    if inside is None or first is None:
        return inside or first
    is_deeper = _degree(first.value - result.value) > _degree(inside.value - result.value)
    return first if is_deeper else inside


def _degree(fall: Decimal) -> int:
    return sum(cutoff.is_met_by(fall) for cutoff in _FALLS)


def _known_at_first(results: Sequence[Measurement], place: int) -> Measurement | None:
    """Return the last result before the window of one began, None where it is too old."""
    at = results[place].at
    first = bisect_left(results, at - trend_limits.HAEMOGLOBIN_WINDOW.length, hi=place, key=lambda r: r.at)
    last = results[first - 1] if first else None
    return last if last is not None and at - last.at <= trend_limits.HAEMOGLOBIN_LAST_KNOWN.length else None


def _recorded(record: Record, as_of: datetime, kinds: Sequence[ConditionKind]) -> list[RecordedBleeding]:
    found = []
    seen = record.coded(CodedSignal.BLEEDING).latest
    if (
        seen is not None
        and seen.value is Bleeding.PRESENT
        and as_of - seen.at <= ours.BLEEDING_SEEN_FOR.length
    ):
        text = seen.text.strip().rstrip(".") or "bleeding seen at the bedside"
        found.append(_written(text, seen.at, seen.origin, frozenset()))
    found.extend(
        _written(
            condition.text,
            condition.began,
            condition.origin,
            condition.kinds,
            is_confirmed=condition.confirmed,
        )
        for condition in record.conditions_of(*kinds)
        if _is_recent(condition, as_of)
    )
    listed = {one.text.casefold() for one in found}
    found.extend(
        _written(reason.text, reason.at, reason.origin, reason.kinds)
        for reason in record.reasons
        if not reason.kinds.isdisjoint(kinds)
        and _is_of_now(reason, as_of)
        and reason.text.casefold() not in listed
    )
    return found


_GUT = re.compile(r"\b(?:ha?ematemesis|mela?ena|vomit\w* blood|coffee[- ]ground|black (?:\w+ )?stools?)")
#: Of these, what the Glasgow-Blatchford score calls melaena.
_BLACK = re.compile(r"\b(?:mela?ena|black (?:\w+ )?stools?)\b")
#: Not of a catheter that lies in the epidural space.
_SKULL = re.compile(
    r"\b(?:subdural|subarachnoid|extradural|epidural|intracranial|intracerebral|cerebral)\b"
    r"(?! (?:site|catheter|space|palsy))"
)


def _written(
    text: str,
    at: datetime | None,
    origin: Origin,
    kinds: frozenset[ConditionKind],
    *,
    is_confirmed: bool = True,
) -> RecordedBleeding:
    words = text.casefold()
    is_in_the_skull = ConditionKind.INTRACRANIAL_BLEEDING in kinds or bool(_SKULL.search(words))
    return RecordedBleeding(
        text=text or _said_by(kinds),  # A code may have come alone.
        at=at,
        origin=origin,
        is_visible_gut=ConditionKind.MELAENA in kinds or bool(_GUT.search(words)),
        is_black=bool(_BLACK.search(words)),
        is_in_the_skull=is_in_the_skull,
        is_critical=is_in_the_skull or ConditionKind.CRITICAL_SITE_BLEEDING in kinds,
        is_minor=ConditionKind.MINOR_BLEEDING in kinds and not (is_in_the_skull or kinds & _ELSEWHERE),
        is_confirmed=is_confirmed,
    )


#: Where blood is lost that is more than small.
_ELSEWHERE = frozenset(BLEEDING_KINDS) - {ConditionKind.BLEEDING}


def _said_by(kinds: frozenset[ConditionKind]) -> str:
    """Return what a kind of bleeding is called, the most particular one."""
    return next((kind.value for kind in reversed(BLEEDING_KINDS) if kind in kinds), BLEEDING_KINDS[0].value)


def _is_recent(condition: Condition, as_of: datetime) -> bool:
    # Without a date an active problem counts: what is not known is not harmless.
    return condition.may_have_begun_within(ours.BLEEDING_LISTED_FOR.length, as_of)


def _is_of_now(reason: Reason, as_of: datetime) -> bool:
    """Tell whether a stay that goes on was begun for it lately, or something was asked for because of it."""
    is_over = reason.ends is not None and reason.ends < as_of
    return not is_over and (reason.at is None or as_of - reason.at <= ours.BLEEDING_LISTED_FOR.length)


def _shock_index(rounds: Sequence[ObservationSet], as_of: datetime) -> ShockIndex | None:
    earliest = as_of - ours.VITAL_SIGNS_COUNT_FOR.length
    for one in reversed(rounds):
        if one.end < earliest:
            return None
        found = shock_index_of(one)
        if found is not None:
            return found
    return None


def _recent(
    record: Record, as_of: datetime, kinds: Iterable[ProcedureKind], window: timedelta
) -> tuple[Done, ...]:
    """Return what of these kinds ended, or was begun, so lately."""
    return tuple(one for one in record.done(*kinds) if as_of - one.until <= window)
