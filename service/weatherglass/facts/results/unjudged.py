"""Results that are read and that no rule judges: what they are, and which stand outside their own range.

A result inside the range that its sender sent with it has been judged, by its sender. One outside
it, or without a range, must not hide behind a calm sentence.
"""

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.blood.recorded_bleeding import measured_loss
from weatherglass.facts.breathing.gas_samples import GasSample
from weatherglass.facts.medicines.allergy_check import names_in
from weatherglass.facts.newborn import is_born_early, is_newborn, weeks_when_born_early
from weatherglass.facts.pregnancy import is_pregnant_or_recently
from weatherglass.knowledge.breathing import vital_capacity
from weatherglass.knowledge.signs.heart_and_pressure import PREECLAMPSIA_LIVER
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, PutUp, SentValue, Undated
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

#: Read for the sake of other rules, or to be shown; none of them has a limit of its own here.
UNJUDGED = (
    Signal.APTT,
    Signal.FIBRINOGEN,
    Signal.PROTHROMBIN_TIME,
    Signal.D_DIMER,
    Signal.PROCALCITONIN,
    Signal.BILIRUBIN,
    Signal.CREATINE_KINASE,
    Signal.LACTATE_DEHYDROGENASE,
    Signal.HAPTOGLOBIN,
    Signal.OSMOLALITY,
    Signal.PHOSPHATE,
    Signal.URATE,
    Signal.AMMONIA,
    Signal.BILE_ACIDS,
    Signal.CARBOXYHAEMOGLOBIN,
    Signal.METHAEMOGLOBIN,
    Signal.CHLORIDE,
    Signal.ALT,
    Signal.AST,
    Signal.NT_PROBNP,
    Signal.BNP,
    Signal.HAEMATOCRIT,
    Signal.LIPASE,
    Signal.AMYLASE,
    Signal.TSH,
    Signal.ALBUMIN,
    Signal.BLOOD_LOSS,
    Signal.VITAL_CAPACITY,
)
#: Judged with the pH of their sample; alone they are not.
_OF_A_GAS = (Signal.PCO2_ARTERIAL, Signal.PCO2_VENOUS, Signal.BASE_EXCESS)
#: What is judged where one of these is on record.
_PAIN = (ConditionKind.ABDOMINAL_PAIN, ConditionKind.PANCREATITIS)
_ASKED_BESIDE: Final[Mapping[Signal, tuple[ConditionKind, ...]]] = {
    Signal.LIPASE: _PAIN,
    Signal.AMYLASE: _PAIN,
    Signal.NT_PROBNP: (
        ConditionKind.BREATHLESSNESS,
        ConditionKind.HEART_FAILURE,
        ConditionKind.ACUTE_PULMONARY_OEDEMA,
    ),
}
_OF_THE_LIVER = (Signal.ALT, Signal.AST)
#: Ours: what was measured in the last day says something of now.
COUNTS_FOR = timedelta(hours=24)


def newest_unjudged(
    record: Record, as_of: datetime, gases: Sequence[GasSample]
) -> Iterator[tuple[Signal, Measurement]]:
    """Yield the newest result of the last day of each signal that no rule judges."""
    for signal in UNJUDGED:
        if signal not in record.numbers:
            continue
        newest = record.series(signal).recent(as_of, COUNTS_FOR)
        if newest is not None and not _is_judged(record, as_of, signal, newest):
            yield signal, newest
    in_a_gas = {one.origin for sample in gases for _, one in sample.parts}
    for signal in _OF_A_GAS:
        newest = record.series(signal).recent(as_of, COUNTS_FOR)
        if newest is not None and newest.origin not in in_a_gas:
            yield signal, newest


def _is_judged(record: Record, as_of: datetime, signal: Signal, newest: Measurement) -> bool:
    """Tell whether a rule of one kind of patient has judged it."""
    if signal is Signal.BILIRUBIN:
        return _has_a_bilirubin_line(record, as_of)
    if signal is Signal.HAEMATOCRIT:
        return record.series(Signal.HAEMOGLOBIN).recent(as_of, COUNTS_FOR) is not None
    if signal is Signal.VITAL_CAPACITY:
        return bool(record.told_of(*vital_capacity.WEAK))
    if signal in _OF_THE_LIVER:  # Beyond its limit it still wants a reader where the pressure is not high.
        return is_pregnant_or_recently(record, as_of) and not PREECLAMPSIA_LIVER.is_met_by(newest.value)
    if (of_these := _ASKED_BESIDE.get(signal)) is not None and record.told_of(*of_these):
        return True  # A crisis is asked, or is not, by its limit.
    return _is_judged_loss(record, as_of, signal)


def _has_a_bilirubin_line(record: Record, as_of: datetime) -> bool:
    """Tell whether bilirubin is held against lines of an age in hours: at term, or of known weeks."""
    return is_newborn(record, as_of) and not (is_born_early(record) and weeks_when_born_early(record) is None)


def _is_judged_loss(record: Record, as_of: datetime, signal: Signal) -> bool:
    """Tell whether it is blood lost around a birth, or much of it, which have limits of their own."""
    if signal is not Signal.BLOOD_LOSS:
        return False
    is_mother = is_pregnant_or_recently(record, as_of)
    return is_mother or measured_loss(record, as_of, is_mother=False) is not None


def is_outside(result: Measurement) -> bool:
    """Tell whether a result is surely outside the range that its sender sent with it."""
    low, high = result.reference_low, result.reference_high
    least, most = result.lowest, result.highest
    if high is not None and least is not None and least > high:
        return True
    return low is not None and most is not None and most < low


def is_inside(result: Measurement) -> bool:
    """Tell whether its sender's own range says that a result is not out of it."""
    has_range = result.reference_low is not None or result.reference_high is not None
    return has_range and result.is_exact and not is_outside(result)


_NUMBERS: Final = frozenset(signal.value for signal in Signal)
#: Ours: what was sent within this time before the review has to be read or said.
_SENT_LATELY: Final = timedelta(hours=24)


def sent_and_unread(record: Record, as_of: datetime) -> Sequence[SentValue]:
    """Return the newest of each name that was sent in the last day and could not be used; of remarks all."""
    if not record.sent:
        return ()
    used = _used(record)
    return [
        one
        for one in _newest(record)
        if (one.remark or not (one.origin in used or _was_replaced(record, one)))
        and not one.aside
        and as_of - one.at <= _SENT_LATELY
    ]


def _was_replaced(record: Record, one: SentValue) -> bool:
    """Tell whether another value of its moment was used: an issue says so."""
    if not one.signal or one.signal not in _NUMBERS:
        return False
    return any(read.at == one.at for read in record.series(Signal(one.signal)).items)


def signs_unread(
    unread: Sequence[SentValue], record: Record, as_of: datetime
) -> Mapping[str, datetime | None]:
    """Return when each sign or result was sent that could not be read, by its key; None without its time."""
    sent = [(one, one.at) for one in unread]
    undated = [(one.value, None) for one in undated_of_late(record, as_of)]
    return {one.signal or one.suspected: at for one, at in (*undated, *sent) if one.is_known}


def words_unread(record: Record, as_of: datetime) -> Sequence[SentValue]:
    """Return the newest of each name that was sent in words in the last day, which nothing asks about."""
    return [one for one in reversed(_newest(record)) if one.aside and as_of - one.at <= _SENT_LATELY]


def _newest(record: Record) -> Sequence[SentValue]:
    in_order = sorted(record.sent, key=lambda one: one.at)
    return list({(one.name, one.shown if one.remark else ""): one for one in in_order}.values())


def undated_of_late(record: Record, as_of: datetime) -> Sequence[Undated]:
    """Return the values without a usable time that may be of the last day."""
    return [one for one in record.undated if one.latest is None or as_of - one.latest <= _SENT_LATELY]


def _lasting(record: Record, as_of: datetime) -> Iterator[PutUp]:
    return (one for one in record.put_up if one.ends is None or one.ends >= as_of)


def put_up_now(record: Record, as_of: datetime) -> tuple[Sequence[PutUp], Sequence[PutUp]]:
    """Return the warnings that stand and nobody read: those of the last day, and the older or undated."""
    up = [one for one in _lasting(record, as_of) if not one.is_supply]
    new: list[PutUp] = []
    standing: list[PutUp] = []
    for one in up:
        is_new = one.at is not None and as_of - one.at <= _SENT_LATELY
        (new if is_new else standing).append(one)
    return new, standing


def supplied_now(record: Record, as_of: datetime, used: AbstractSet[str]) -> Sequence[PutUp]:
    """Return what was handed over and lasts, the newest of each, but for what the drug chart holds.

    Args:
        record: The record.
        as_of: The moment of the review.
        used: Ingredients on the chart.
    """
    lasting = [one for one in _lasting(record, as_of) if one.is_supply]
    newest = {one.name: one for one in sorted(lasting, key=lambda one: one.at or as_of)}
    return [one for one in newest.values() if used.isdisjoint(names_in(one.name))]


def _used(record: Record) -> frozenset[Origin]:
    """Return the origins of the values that were read and could be used."""
    read = (item.origin for series in record.numbers.values() for item in series.items)
    answered = (item.origin for answers in record.codes.values() for item in answers.items)
    return frozenset((*read, *answered))
