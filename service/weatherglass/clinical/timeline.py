"""Rounds of observations: which measurements belong together, oldest first.

A score is defined on one round at the bedside, and no publication says how close
together its measurements must be. Ours: a round begins with the first measurement
after the last round and takes in everything within the window (15 minutes unless
the site says otherwise); of two values of one signal in a round the later counts.
Only alertness and air-or-oxygen may be carried into a round from just before it.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import chain
from operator import itemgetter
from typing import NamedTuple

from weatherglass.clinical.record import CodedObservation, Measurement, Record, Series
from weatherglass.clinical.references import Origin
from weatherglass.clinical.signals import CodedSignal, Consciousness, OxygenDelivery, Signal

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
_AIR_FRACTION = Decimal("0.21")


@dataclass(frozen=True, slots=True)
class ObservationSet:
    """One round of observations, with the two things that may be carried into it.

    Attributes:
        start: Time of its first measurement.
        end: Time of its last measurement; the time the round is known by.
        observed: The last value of each signal in the round.
        carried: Alertness and oxygen carried forward, where the round has none.
    """

    start: datetime
    end: datetime
    observed: dict[Signal | CodedSignal, Measurement | CodedObservation]
    carried: dict[Signal | CodedSignal, Measurement | CodedObservation]
    # What oxygen and alertness come to is asked by every score; it is worked out once.
    settled: dict["Question", "Resolved | None"] = field(default_factory=dict, compare=False, repr=False)

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

    def settle(self, question: "Question") -> "Resolved | None":
        """Return what the round answers to a question, worked out when it is first asked."""
        settled = self.settled
        if question not in settled:
            settled[question] = question(self)
        return settled[question]


def observation_sets(record: Record, *, window: timedelta, carry: timedelta) -> tuple[ObservationSet, ...]:
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
    observed: dict[Signal | CodedSignal, Measurement | CodedObservation] = {}
    start: datetime | None = None
    limit: datetime | None = None
    end = start
    for at, name, item in timed:
        if limit is None or at > limit:
            if start is not None and end is not None:
                rounds.append(ObservationSet(start, end, observed, {}))
            observed = {}
            start, limit = at, at + window
        observed[name] = item
        end = at
    if start is not None and end is not None:
        rounds.append(ObservationSet(start, end, observed, {}))
    for one in rounds:
        _carry(record, one, carry)
    return tuple(rounds)


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
        filled.append(ObservationSet(one.start, one.end, one.observed, carried))
    return tuple(filled)


# What several measurements together say


class Resolved(NamedTuple):
    """One answer put together from the measurements that bear on it."""

    value: OxygenDelivery | Consciousness
    origins: tuple[Origin, ...]
    at: datetime
    note: str = ""


#: What is asked of a round, as the function that works it out.
Question = Callable[[ObservationSet], Resolved | None]


def oxygen_of(one: ObservationSet) -> Resolved | None:
    """Say whether air or oxygen is breathed in a round; None when nothing tells.

    Any sign of added oxygen counts. Pressure support or high flow without a stated
    fraction counts as oxygen; a stated fraction of 0.21 is air, whatever the device.
    """
    return one.settle(_oxygen_of)


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
    if fraction is not None and fraction.value > _AIR_FRACTION:
        return Resolved(given or OxygenDelivery.OXYGEN, origins, at)
    if flow is not None and flow.value > 0 and not (fraction is not None and named is not None):
        return Resolved(given or OxygenDelivery.OXYGEN, origins, at)
    if fraction is not None:
        return Resolved(OxygenDelivery.AIR, origins, at)
    if named is not None:
        return Resolved(named, origins, at)
    return Resolved(OxygenDelivery.AIR, origins, at)


_EYE_TO_RESPONSE = {3: Consciousness.VOICE, 2: Consciousness.PAIN, 1: Consciousness.UNRESPONSIVE}


def consciousness_of(one: ObservationSet, *, confusion_is_usual: bool = False) -> Resolved | None:
    """Return ACVPU for a round, from the recorded answer or else from the coma scale.

    Ours where the publication is silent: a coma scale of 15 is alert; a verbal score
    of 4 with the rest full is new confusion unless confusion is this person's normal;
    otherwise the eye score decides (3 voice, 2 pain, 1 unresponsive, 4 new confusion).
    """
    return one.settle(_alertness_usually_confused if confusion_is_usual else _alertness)


def _alertness(one: ObservationSet) -> Resolved | None:
    return _consciousness_of(one, confusion_is_usual=False)


def _alertness_usually_confused(one: ObservationSet) -> Resolved | None:
    return _consciousness_of(one, confusion_is_usual=True)


def _consciousness_of(one: ObservationSet, *, confusion_is_usual: bool) -> Resolved | None:
    said = one.answer(CodedSignal.CONSCIOUSNESS)
    if said is not None and isinstance(said.value, Consciousness):
        if said.value is Consciousness.NEW_CONFUSION and confusion_is_usual:
            note = "confusion is recorded as long-standing; counted as new until the team says otherwise"
            return Resolved(said.value, (said.origin,), said.at, note)
        return Resolved(said.value, (said.origin,), said.at)
    total = one.number(Signal.GCS_TOTAL)
    eye = one.number(Signal.GCS_EYE)
    motor = one.number(Signal.GCS_MOTOR)
    verbal = one.number(Signal.GCS_VERBAL)
    parts = [item for item in (total, eye, motor, verbal) if item is not None]
    if not parts:
        return None
    origins = tuple(dict.fromkeys(item.origin for item in parts))
    at = max(item.at for item in parts)
    whole = total.value if total is not None else None
    if whole is None and eye is not None and motor is not None and verbal is not None:
        whole = eye.value + motor.value + verbal.value
    if whole == 15:
        return Resolved(Consciousness.ALERT, origins, at, "from the coma scale")
    if eye is not None and eye.value < 4:
        return Resolved(_EYE_TO_RESPONSE[int(eye.value)], origins, at, "from the coma scale, eyes")
    if whole == 14 and confusion_is_usual and (eye is None or eye.value == 4):
        return Resolved(
            Consciousness.ALERT, origins, at, "coma scale 14; long-standing confusion is recorded"
        )
    if whole is not None and whole < 15:
        return Resolved(
            Consciousness.NEW_CONFUSION,
            origins,
            at,
            "from the coma scale; whether confusion is new is not recorded",
        )
    return None


def origins_of(items: Iterable[Measurement | CodedObservation]) -> tuple[Origin, ...]:
    """Return each input once, in order of time."""
    ordered = sorted(items, key=lambda item: (item.at, item.origin))
    return tuple(dict.fromkeys(chain(item.origin for item in ordered)))
