"""What bears on possible bleeding, gathered once for every question that asks.

Bleeding is suspected on a fall in haemoglobin or on recorded bleeding. Everything else
(pulse against pressure, INR, platelets, an operation, antithrombotics) only supports it.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import NamedTuple

from weatherglass.facts.blood.haemoglobin_fall import (
    HaemoglobinFall,
    SteadyHaemoglobin,
    haemoglobin_fall,
    steady_haemoglobin,
)
from weatherglass.facts.blood.recorded_bleeding import (
    BLEEDING_KINDS,
    RecordedBleeding,
    measured_loss,
    recorded_bleeding,
)
from weatherglass.facts.rounds.child_cells import pressure_below, pulse_above
from weatherglass.facts.rounds.shock_index import ShockIndex, shock_index_of
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.runs import first_of_run
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.scores import shock_index
from weatherglass.knowledge.signs import trend_limits
from weatherglass.model.plain import Plain
from weatherglass.model.record.care import OPERATIONS, Done, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.times.known_times import earliest
from weatherglass.model.words.lists import listed
from weatherglass.model.words.value_words import named_value


class ChildInShock(NamedTuple):
    """What the newest round of a child shows of lost blood, where a shock index means nothing.

    Attributes:
        signs: A pulse fast for the age, a pressure low for it, a slow capillary refill: any of them.
        is_shock: Whether it is shock: two of them, or a pressure far too low.
        since: Since when every round has shown as much; of shock since when it is shock.
        late_since: Since when every round has shown all three, or a pressure far too low beside another: it
            falls last. None where the newest does not.
    """

    signs: tuple[tuple[Signal, Measurement], ...]
    is_shock: bool
    since: datetime
    late_since: datetime | None = None

    @property
    def words(self) -> str:
        """The signs, as they are said: 'pulse 146 /min and capillary refill time 3 s'."""
        return listed([named_value(*sign) for sign in self.signs])


def child_in_shock(rounds: Sequence[ObservationSet], as_of: datetime, months: int) -> ChildInShock | None:
    """Return what the newest round with any of the three signs shows of lost blood; None where nothing."""
    earliest = as_of - ours.VITAL_SIGNS_COUNT_FOR.length
    seen = [(one, _signs_of_loss(one, months)) for one in rounds if _has_a_sign(one)]
    if not seen or seen[-1][0].end < earliest or not seen[-1][1]:
        return None
    signs = seen[-1][1]
    is_shock = _is_shock(signs, months)
    first = first_of_run(seen, lambda one: _is_shock(one[1], months) if is_shock else bool(one[1]))
    late = first_of_run(seen, lambda one: _is_late(one[1], months))
    return ChildInShock(
        signs, is_shock, (first or seen[-1])[0].end, late[0].end if late is not None else None
    )


_Signs = Sequence[tuple[Signal, Measurement]]
_SIGNS_OF_LOSS = (Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.CAPILLARY_REFILL)


def _has_a_sign(one: ObservationSet) -> bool:
    return any(one.number(signal) is not None for signal in _SIGNS_OF_LOSS)


def _signs_of_loss(one: ObservationSet, months: int) -> tuple[tuple[Signal, Measurement], ...]:
    measured = ((signal, one.number(signal)) for signal in _SIGNS_OF_LOSS)
    return tuple(
        (signal, value)
        for signal, value in measured
        if value is not None and value.is_exact and _shows_loss(signal, value.value, months)
    )


def _shows_loss(signal: Signal, value: Decimal, months: int) -> bool:
    if signal is Signal.PULSE:
        return ours.CHILD_PULSE_POINTS.is_met_by(pulse_above(value, months))
    if signal is Signal.SYSTOLIC_PRESSURE:
        return pressure_below(value, months) > 0
    return pews.CAPILLARY_REFILL.points_of(value) > 0


def _is_shock(signs: _Signs, months: int) -> bool:
    return len(signs) > 1 or _is_far_too_low(signs, months)


def _is_late(signs: _Signs, months: int) -> bool:
    return len(signs) == len(_SIGNS_OF_LOSS) or (len(signs) > 1 and _is_far_too_low(signs, months))


def _is_far_too_low(signs: _Signs, months: int) -> bool:
    pressure = next((one.value for signal, one in signs if signal is Signal.SYSTOLIC_PRESSURE), None)
    return pressure is not None and ours.CHILD_PRESSURE_POINTS.is_met_by(pressure_below(pressure, months))


_WEEK = trend_limits.HAEMOGLOBIN_LAST_KNOWN.length


class AfterOperation(Plain, frozen=True):
    """The newest pulse and systolic pressure, and the best of each since a fresh operation."""

    operation: Done
    pulse: Measurement
    pulse_before: Measurement
    systolic: Measurement
    systolic_before: Measurement
    since: datetime

    @property
    def measured(self) -> tuple[Measurement, ...]:
        """What was measured, before and now."""
        return (self.pulse, self.pulse_before, self.systolic, self.systolic_before)


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
        births: Recent births.
    """

    fall: HaemoglobinFall | None
    recorded: tuple[RecordedBleeding, ...]
    shock_index: ShockIndex | None
    operations: tuple[Done, ...]
    transfusions: tuple[Done, ...]
    after_operation: AfterOperation | None = None
    child: ChildInShock | None = None
    steady: SteadyHaemoglobin | None = None
    births: tuple[Done, ...] = ()

    @property
    def operation_that_took_it(self) -> Done | None:
        """The operation across which haemoglobin fell, where it has been steady for long enough since."""
        fall, steady = self.fall, self.steady
        if fall is None or steady is None:
            return None
        if steady.newest.at - steady.first.at < ours.STEADY_AFTER_OPERATION.length:
            return None
        fresh = ours.OPERATION_IS_FRESH_FOR.length
        across = [
            one
            for one in self.operations
            if fall.before.at < one.until <= steady.first.at <= one.until + fresh
        ]
        return across[-1] if across else None

    @property
    def has_fallen(self) -> bool:
        """Whether haemoglobin has fallen by the published amount."""
        return self.fall is not None and self.fall.level > 0


def bleeding_since(fall: HaemoglobinFall | None, recorded: Iterable[RecordedBleeding]) -> datetime | None:
    """Return when the first of what speaks of bleeding began; None where nothing of it has a time."""
    fell = fall.run.since if fall is not None and fall.run is not None else None
    return earliest((fell, *(one.at for one in recorded)))


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
        recorded=(*recorded_bleeding(record, as_of, kinds), *((measured,) if measured is not None else ())),
        shock_index=index,
        operations=_recent(record, as_of, OPERATIONS, ours.OPERATION_BLEEDS_FOR.length),
        births=_recent(record, as_of, frozenset({ProcedureKind.BIRTH}), ours.OPERATION_BLEEDS_FOR.length),
        transfusions=_recent(
            record, as_of, frozenset({ProcedureKind.TRANSFUSION}), ours.TRANSFUSION_HIDES_FOR.length
        ),
        after_operation=None if is_child else _after_operation(record, as_of, rounds),
        child=child_in_shock(rounds, as_of, child_months) if child_months is not None else None,
        steady=steady_haemoglobin(record),
    )


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
    is_large = any(one is not None and one.is_exact and limit.is_met_by(one.value) for one, limit in known)
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
        and pulse.is_exact
        and systolic.is_exact
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
    if not shock_index.HIGH.is_met_by(pulse.value / systolic.value):
        return False
    if ours.SHOCKED_AFTER_OPERATION.is_met_by(systolic.value):
        return pulse.value > slowest.value and systolic.value < highest.value
    return ours.PULSE_UP_AFTER_OPERATION.is_met_by(
        pulse.value - slowest.value
    ) and ours.PRESSURE_DOWN_AFTER_OPERATION.is_met_by(highest.value - systolic.value)


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
