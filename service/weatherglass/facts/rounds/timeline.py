"""Rounds of observations: which measurements belong together, oldest first.

A score is defined on one round at the bedside, and no publication says how close
together its measurements must be. Ours: a round begins with the first measurement
after the last round and takes in everything within the window (15 minutes unless
the site says otherwise); of two values of one signal in a round the later counts, of
two answers about consciousness the worse, and both are said. A value that is repeated in
its round says nothing new: the first one stays, and the round is no later for it.
Only alertness and air-or-oxygen may be carried into a round from just before it.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from operator import itemgetter
from typing import Any, TypeVar

from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import CodedObservation, Measurement, Series
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

#: What is measured in a round at the bedside.
BEDSIDE_SIGNALS = (
    Signal.RESPIRATION_RATE,
    Signal.SPO2,
    Signal.OXYGEN_FLOW,
    Signal.FIO2,
    Signal.SYSTOLIC_PRESSURE,
    Signal.DIASTOLIC_PRESSURE,
    Signal.PULSE,
    Signal.TEMPERATURE,
    Signal.GCS_TOTAL,
    Signal.GCS_EYE,
    Signal.GCS_MOTOR,
    Signal.GCS_VERBAL,
    Signal.CAPILLARY_REFILL,
)
BEDSIDE_CODES = (
    CodedSignal.CONSCIOUSNESS,
    CodedSignal.OXYGEN_DELIVERY,
    CodedSignal.RESPIRATORY_EFFORT,
)
_OXYGEN = (CodedSignal.OXYGEN_DELIVERY, Signal.OXYGEN_FLOW, Signal.FIO2)
_ALERTNESS = (
    CodedSignal.CONSCIOUSNESS,
    Signal.GCS_TOTAL,
    Signal.GCS_EYE,
    Signal.GCS_MOTOR,
    Signal.GCS_VERBAL,
)
_Answer = TypeVar("_Answer")
AIR_FRACTION = Decimal("0.21")


@dataclass(frozen=True, slots=True)
class ObservationSet:
    """One round of observations, with the two things that may be carried into it.

    Attributes:
        start: Time of its first measurement.
        end: When the last of what it says was first said; the time the round is known by.
        observed: The last value of each signal in the round, as it was first measured.
        carried: Alertness and oxygen carried forward, where the round has none.
        said_before: An answer about consciousness that was given before the last one of the round.
        usual: How alert the patient is recorded to be when well.
        repeated: Time of its last measurement, where that repeats a value; else None.
    """

    start: datetime
    end: datetime
    observed: dict[Signal | CodedSignal, Measurement | CodedObservation]
    carried: dict[Signal | CodedSignal, Measurement | CodedObservation]
    # What oxygen, alertness and the coma scale come to is asked by every score; it is worked out once.
    settled: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)
    said_before: CodedObservation | None = None
    usual: Consciousness = Consciousness.ALERT
    repeated: datetime | None = None

    @property
    def last(self) -> datetime:
        """Time of its last measurement, repeats included."""
        return self.repeated or self.end

    def number(self, signal: Signal) -> Measurement | None:
        """Return the value of a signal in this round, or the carried one."""
        found = self.observed.get(signal)
        if found is None and self.carried:
            found = self.carried.get(signal)
        return found if isinstance(found, Measurement) else None

    def answer(self, signal: CodedSignal) -> CodedObservation | None:
        """Return the answer to a coded signal in this round, or the carried one."""
        found = self.observed.get(signal)
        if found is None and self.carried:
            found = self.carried.get(signal)
        return found if isinstance(found, CodedObservation) else None

    def was_carried(self, signal: Signal | CodedSignal) -> bool:
        """Tell whether a value comes from before the round."""
        return signal not in self.observed and signal in self.carried

    def settle(self, question: Callable[["ObservationSet"], _Answer]) -> _Answer:
        """Return what the round answers to a question, worked out when it is first asked."""
        settled = self.settled
        if question not in settled:
            settled[question] = question(self)
        answer: _Answer = settled[question]
        return answer


def observation_sets(
    record: Record, *, window: timedelta, carry: timedelta, usual: Consciousness = Consciousness.ALERT
) -> tuple[ObservationSet, ...]:
    """Gather a record's bedside measurements into rounds, oldest first."""
    timed: list[tuple[datetime, Signal | CodedSignal, Measurement | CodedObservation]] = []
    for signal in BEDSIDE_SIGNALS:
        series = record.numbers.get(signal)
        if series is not None:
            timed.extend([(item.at, signal, item) for item in series.items])
    for coded in BEDSIDE_CODES:
        answers = record.codes.get(coded)
        if answers is not None:
            timed.extend([(answer.at, coded, answer) for answer in answers.items])
    timed.sort(key=itemgetter(0))
    rounds: list[ObservationSet] = []
    of_round: list[tuple[datetime, Signal | CodedSignal, Measurement | CodedObservation]] = []
    for each in timed:
        if of_round and each[0] > of_round[0][0] + window:
            rounds.append(_round(of_round, usual))
            of_round = []
        of_round.append(each)
    if of_round:
        rounds.append(_round(of_round, usual))
    for one in rounds:
        _carry(record, one, carry)
        _keep_the_latest(one, window)
    return tuple(rounds)


def _round(
    timed: Sequence[tuple[datetime, Signal | CodedSignal, Measurement | CodedObservation]],
    usual: Consciousness,
) -> ObservationSet:
    """Put the measurements of one round together, given in order of time."""
    observed: dict[Signal | CodedSignal, Measurement | CodedObservation] = {}
    before: CodedObservation | None = None
    start = end = timed[0][0]
    for at, name, item in timed:
        earlier = observed.get(name)
        if earlier is not None and replace(earlier, at=item.at, origin=item.origin) == item:
            continue
        if name is CodedSignal.CONSCIOUSNESS and isinstance(earlier, CodedObservation):
            before = earlier
        observed[name] = item
        end = at
    last = timed[-1][0]
    repeated = last if last != end else None
    return ObservationSet(start, end, observed, {}, said_before=before, usual=usual, repeated=repeated)


def _keep_the_latest(one: ObservationSet, window: timedelta) -> None:
    """Carry alertness from one round only: an older answer does not contradict a later one."""
    if not one.carried:
        return
    times = [one.carried[name].at for name in _ALERTNESS if name in one.carried]
    for name in _ALERTNESS:
        if name in one.carried and max(times) - one.carried[name].at > window:
            del one.carried[name]


def _carry(record: Record, one: ObservationSet, carry: timedelta) -> None:
    for group in (_OXYGEN, _ALERTNESS):
        if any(name in one.observed for name in group):
            continue
        for name in group:
            series: Series[Measurement] | Series[CodedObservation] = (
                record.series(name) if isinstance(name, Signal) else record.coded(name)
            )
            last = series.last_by(one.start)
            if last is not None and one.start - last.at <= carry:
                one.carried[name] = last


def with_results(
    rounds: Sequence[ObservationSet],
    record: Record,
    signals: Sequence[Signal],
    *,
    within: timedelta,
    as_of: datetime,
) -> tuple[ObservationSet, ...]:
    """Carry laboratory results into rounds, for scores that mix both.

    A round takes the newest result that was there before the next round began, provided
    that it is not older than a stated time before the round.
    """
    found = [record.series(signal) for signal in signals]
    ends = [following.start for following in rounds[1:]]
    filled = []
    for one, until in zip(rounds, [*ends, as_of], strict=True):
        carried = dict(one.carried)
        for signal, series in zip(signals, found, strict=True):
            last = series.last_by(until)
            if last is not None and one.start - last.at <= within:
                carried[signal] = last
        filled.append(
            ObservationSet(
                one.start,
                one.end,
                one.observed,
                carried,
                said_before=one.said_before,
                usual=one.usual,
                repeated=one.repeated,
            )
        )
    return tuple(filled)


# What several measurements together say


class Resolved(Plain, frozen=True):
    """One answer put together from the measurements that bear on it."""

    value: OxygenDelivery | Consciousness
    origins: tuple[Origin, ...]
    at: datetime
    note: str = ""


def oxygen_of(one: ObservationSet) -> Resolved | None:
    """Say whether air or oxygen is breathed in a round; None when nothing tells.

    Any sign of added oxygen counts. Pressure support or high flow without a stated
    fraction counts as oxygen; a stated fraction of 0.21 is air, whatever the device.
    """
    return one.settle(_oxygen_of)


def is_on_oxygen(one: ObservationSet) -> bool:
    """Tell whether oxygen is known to be breathed in a round."""
    oxygen = oxygen_of(one)
    return oxygen is not None and oxygen.value is not OxygenDelivery.AIR


def _oxygen_of(one: ObservationSet) -> Resolved | None:
    device = one.answer(CodedSignal.OXYGEN_DELIVERY)
    flow = one.number(Signal.OXYGEN_FLOW)
    fraction = one.number(Signal.FIO2)
    known = [item for item in (device, flow, fraction) if item is not None]
    if not known:
        return None
    origins = tuple(dict.fromkeys(item.origin for item in known))
    at = max(item.at for item in known)
    delivery = device.value if device is not None else None
    named = delivery if isinstance(delivery, OxygenDelivery) else None
    given = named if named not in (None, OxygenDelivery.AIR) else OxygenDelivery.OXYGEN
    note = "air is recorded too; oxygen counts" if named is OxygenDelivery.AIR else ""
    if fraction is not None and fraction.value > AIR_FRACTION:
        return Resolved(given or OxygenDelivery.OXYGEN, origins, at, note)
    if flow is not None and flow.value > 0 and not (fraction is not None and named is not None):
        return Resolved(given or OxygenDelivery.OXYGEN, origins, at, note)
    if fraction is not None:
        return Resolved(OxygenDelivery.AIR, origins, at)
    if named is not None:
        return Resolved(named, origins, at)
    return Resolved(OxygenDelivery.AIR, origins, at)
