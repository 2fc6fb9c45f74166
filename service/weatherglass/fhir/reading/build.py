"""From the data of a patient to one record: sorted series, one value an instant.

Two values of one signal at one instant are one sample. A corrected result beats a
final one, then the later `issued`, then the later `lastUpdated`. When nothing tells
them apart, the middle value stands, its spread is kept, and the conflict is said.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from itertools import groupby
from operator import itemgetter
from statistics import median

from weatherglass.fhir.reading.collector import Collector
from weatherglass.fhir.reading.medicines.charted_medicine import with_names
from weatherglass.fhir.reading.observations.observed_values import RANK_OF_STATUS
from weatherglass.fhir.reading.patient_data import Answer, Number, PatientData, standing_of
from weatherglass.fhir.reading.people.addresses import short_name
from weatherglass.fhir.reading.people.patient import subject_of
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Procedure
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Artefact, CodedObservation, Measurement, Remark, Series, Spread
from weatherglass.model.signals import CodedSignal, Signal, label_of, seriousness_of
from weatherglass.model.times.dates_alone import NO_ZONE, is_date_alone, local_date
from weatherglass.model.times.known_times import latest


def build_record(collector: Collector, data: PatientData) -> Record:
    """Turn one patient's material into a record; ties become issues."""
    latest = data.newest
    newest = _newest(data)
    numbers = {s: _numbers(collector, data, s, v) for s, v in data.numbers.items()}
    _set_reversed_pairs_apart(collector, data, numbers)
    _say_days(collector, data, numbers)
    _settle_sent(collector, data)
    orders, doses = with_names(data.orders, data.administrations)
    return Record(
        subject=subject_of(data, newest),
        numbers=numbers,
        codes={s: _answers(collector, data, s, v) for s, v in data.answers.items()},
        artefacts=tuple(
            Artefact(signal, measurement)
            for signal, measurement in sorted(data.artefacts, key=lambda a: (a[1].at, a[0], a[1].origin))
        ),
        conditions=tuple(sorted(data.conditions, key=lambda c: c.origin)),
        orders=tuple(sorted(orders, key=lambda o: o.origin)),
        administrations=tuple(sorted(doses, key=lambda a: (a.at, a.origin))),
        omissions=tuple(sorted(data.omissions, key=lambda o: (o.at, o.origin))),
        not_taken=tuple(sorted(data.not_taken, key=lambda one: one.origin)),
        procedures=tuple(sorted(data.procedures, key=lambda p: p.origin)),
        stays=tuple(sorted(data.stays, key=lambda s: (s.starts is not None, s.starts or 0, s.origin))),
        reasons=tuple(sorted(data.reasons, key=lambda r: (r.origin, r.text))),
        directives=tuple(sorted(data.directives, key=lambda d: (d.kind, d.origin))),
        allergies=tuple(sorted(data.allergies, key=lambda a: a.origin)),
        sent=tuple(one for one in data.sent if short_name(one.origin) not in data.answered),
        undated=tuple(data.undated),
        put_up=tuple(sorted(data.put_up, key=lambda one: (one.name, one.origin))),
        labels=tuple(sorted(data.labels)),
        zone=latest.offset if latest is not None else NO_ZONE,
        newest=newest,
    )


def _newest(data: PatientData) -> datetime | None:
    """Return the newest time of anything in the record: nothing that was sent is later than it."""
    times = [data.newest.at if data.newest is not None else None]
    times += [condition.began for condition in data.conditions]
    times += [one.at for one in data.procedures if not one.requested or _is_an_order(one)]
    times += [stay.starts for stay in data.stays]
    times += [directive.at for directive in data.directives]
    times += [order.written for order in data.orders]
    times += [given.at for given in data.administrations]
    times += [missed.at for missed in data.omissions]
    newest = latest(times)
    return _with_days(data, newest)


def _is_an_order(procedure: Procedure) -> bool:
    """Tell whether what is only asked for has the time at which it was asked, and not that of the plan."""
    return procedure.origin.startswith("ServiceRequest/")


def _with_days(data: PatientData, newest: datetime | None) -> datetime | None:
    """Return the end of the newest day that came without a time, where nothing with a time is newer."""
    day = data.newest_day
    zone = data.newest.offset if data.newest is not None else UTC
    if day is None or (newest is not None and day < local_date(newest, zone)):
        return newest
    if newest is not None and day == local_date(newest, zone) and not is_date_alone(newest):
        return newest
    return datetime(day.year, day.month, day.day, 23, 59, 59, tzinfo=zone)


def _settle_sent(collector: Collector, data: PatientData) -> None:
    """Put what was sent and not read in order of time; say how much older of it was left behind."""
    data.trim_sent()
    data.trim_undated()
    if data.sent_before:
        collector.say("older-not-listed", data.key, data.key, number=data.sent_before)


def _say_days(collector: Collector, data: PatientData, numbers: Mapping[Signal, Series[Measurement]]) -> None:
    """Say how many results have a date alone: what is counted in hours leaves them out."""
    if data.newest_day is None:
        return
    dated = sum(is_date_alone(one.at) for series in numbers.values() for one in series.items)
    if dated:
        collector.say("dates-alone", data.key, data.key, number=dated)


def _set_reversed_pairs_apart(
    collector: Collector, data: PatientData, numbers: dict[Signal, Series[Measurement]]
) -> None:
    """Make an artefact of every pressure pair whose diastolic is not below its systolic."""
    systolic, diastolic = numbers.get(Signal.SYSTOLIC_PRESSURE), numbers.get(Signal.DIASTOLIC_PRESSURE)
    if systolic is None or diastolic is None:
        return
    upper = {one.at: one.value for one in systolic.items}
    reversed_at = {one.at for one in diastolic.items if one.value >= upper.get(one.at, one.value + 1)}
    if not reversed_at:
        return
    for signal, series in (
        (Signal.SYSTOLIC_PRESSURE, systolic),
        (Signal.DIASTOLIC_PRESSURE, diastolic),
    ):
        apart = [one for one in series.items if one.at in reversed_at]
        data.artefacts.extend((signal, one) for one in apart)
        kept = [one for one in series.items if one.at not in reversed_at]
        if kept:
            numbers[signal] = Series(kept)
        else:
            del numbers[signal]
    collector.say("pressures-reversed", data.key, data.key, pairs=len(reversed_at))


def _numbers(
    collector: Collector, data: PatientData, signal: Signal, numbers: list[Number]
) -> Series[Measurement]:
    numbers.sort(key=_TIME)
    items = [number[1] for number in numbers]
    times = [number[0] for number in numbers]
    if len(set(times)) == len(times):
        return Series(items)
    kept: list[Measurement] = []
    for _, group in groupby(numbers, key=_TIME):
        same = list(group)
        kept.append(same[0][1] if len(same) == 1 else _one_of(collector, data, signal, same))
    return Series(kept)


_TIME = itemgetter(0)


def _one_of(collector: Collector, data: PatientData, signal: Signal, numbers: list[Number]) -> Measurement:
    """Choose the one value of one instant; the order in which they came does not matter."""
    numbers.sort(key=lambda number: (number[1].value, number[1].origin))
    position = max(number[4].position for number in numbers)
    where = next(number[4].path for number in numbers if number[4].position == position)
    best = max(standing_of(number[2], number[3]) for number in numbers)
    standing = [number[1] for number in numbers if standing_of(number[2], number[3]) == best]
    values = [measurement.value for measurement in standing]
    if len({number[1].value for number in numbers}) == 1:
        collector.say("value-sent-twice", where, data.key, label=label_of(signal))
        return min(standing, key=lambda measurement: measurement.origin)
    if len(set(values)) == 1:
        collector.say("value-corrected", where, data.key, label=label_of(signal))
        return standing[0]
    collector.say("values-differ", where, data.key, label=label_of(signal))
    chosen = standing[0]
    return replace(
        chosen,
        value=median(values),
        spread=Spread(min(values), max(values)),
        remarks=chosen.remarks | {Remark.CONFLICT},
        printed=_middle([measurement.printed for measurement in standing]),
    )


def _middle(values: Sequence[Decimal | None]) -> Decimal | None:
    known = [value for value in values if value is not None]
    return median(known) if len(known) == len(values) else None


def _answers(
    collector: Collector, data: PatientData, signal: CodedSignal, answers: list[Answer]
) -> Series[CodedObservation]:
    answers.sort(key=lambda a: (a.at, _standing(signal, a), seriousness_of(a.value), a.origin))
    items: list[CodedObservation] = []
    for answer in answers:
        item = CodedObservation(answer.value, answer.at, answer.origin, _remarks_of(answer), answer.text)
        if not items or items[-1].at != answer.at:
            items.append(item)
            continue
        before = items[-1]
        if before.value == item.value:
            continue
        # A named device says more than "on oxygen"; otherwise the later standing wins.
        items[-1] = _said_together(collector, data, signal, before, item, answer)
    return Series(items)


def _standing(signal: CodedSignal, answer: Answer) -> tuple[object, ...]:
    """Return what decides between two answers of one instant.

    Of two about consciousness only a correction stands above the other: which was written down
    last does not tell which is true, and the worse one counts.
    """
    if signal is CodedSignal.CONSCIOUSNESS:
        return (answer.rank > _FINAL, answer.rank if answer.rank > _FINAL else 0)
    return standing_of(answer.rank, answer.obs)


_FINAL = RANK_OF_STATUS["final"]


def _remarks_of(answer: Answer) -> frozenset[Remark]:
    return frozenset({Remark.PROVISIONAL}) if answer.rank == 0 else frozenset()


def _said_together(
    collector: Collector,
    data: PatientData,
    signal: CodedSignal,
    before: CodedObservation,
    item: CodedObservation,
    answer: Answer,
) -> CodedObservation:
    if signal is CodedSignal.OXYGEN_DELIVERY and _named_device(before, item) is not None:
        return _named_device(before, item) or item
    collector.say("answers-differ", answer.entry.path, data.key, label=label_of(signal))
    if signal is CodedSignal.CONSCIOUSNESS and answer.rank <= _FINAL:
        return replace(item, beside=before.beside or before)
    return item


def _named_device(before: CodedObservation, item: CodedObservation) -> CodedObservation | None:
    levels = sorted((before, item), key=lambda o: int(o.value.value))
    return levels[1] if int(levels[0].value.value) == 1 else None
