"""When a patient was on a ward, on to critical care, or back too soon: from the record's stays."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from weatherglass.evaluation.trace import Outcome, Spell, Stretch, Trace, Watched
from weatherglass.model.record.care import Stay
from weatherglass.model.record.record import Record

#: Ours: a critical-care stay that begins this soon after a ward stay is a transfer from that ward.
TRANSFER_GAP = timedelta(hours=6)
TRANSFER = "intensive care"
#: Ours, common practice without a source: who comes back to the emergency department this soon was sent
#: home too early, and the outcome is placed where the stay ended, which is what a warning could have changed.
RETURN_WITHIN = timedelta(hours=72)
UNPLANNED_RETURN = "unplanned return"
#: Ours: where no stay is recorded, a silence longer than this is time away from the ward.
LONGEST_SILENCE = timedelta(hours=24)
DAY = timedelta(days=1)

Span = tuple[datetime, datetime]


def ward_time(record: Record, died: datetime | None) -> tuple[list[Stretch], list[Outcome], bool]:
    """Return time on wards, transfers and unplanned returns, and whether any Encounter is recorded.

    Only a stay in hospital, as an inpatient or in an emergency department, is time on a ward. Whoever
    has Encounters of other kinds alone was never on one. Without any Encounter, or with one in hospital
    that has no start, the values themselves are taken for the time, without silences of over a day.

    Args:
        record: The whole record.
        died: When the patient died, if so.
    """
    last = record.newest
    if last is None:
        return [], [], False
    wards: list[Span] = []
    critical: list[Span] = []
    for stay in record.stays:
        if stay.starts is None or not (stay.in_hospital or stay.critical_care):
            continue
        ends = min(stay.ends or last, died or stay.ends or last)
        if ends > stay.starts:
            (critical if stay.critical_care else wards).append((stay.starts, ends))
    undated = any(stay.starts is None and stay.in_hospital for stay in record.stays)
    if not wards and not critical and (undated or not record.stays):
        return _seen(record, died), [], False
    critical = joined(critical)
    stretches = [Stretch(start, end) for start, end in without(joined(wards), critical)]
    transfers = [
        Outcome(start, TRANSFER)
        for start, _ in critical
        if any(s.starts < start and start - s.ends <= TRANSFER_GAP for s in stretches if s.starts < start)
    ]
    returns = _returns(joined([*wards, *critical]), record.stays)
    return stretches, [*transfers, *returns], True


def _returns(spans: Sequence[Span], stays: Iterable[Stay]) -> list[Outcome]:
    """Return the ends of stays after which an emergency stay began soon."""
    begun: dict[str, datetime] = {}  # By Encounter: one that goes on in another room did not begin again.
    for stay in stays:
        if stay.emergency and stay.starts is not None:
            name = str(stay.origin)
            begun[name] = min(stay.starts, begun.get(name, stay.starts))
    emergencies = set(begun.values())
    return [
        Outcome(before[1], UNPLANNED_RETURN)
        for before, after in pairwise(spans)
        if after[0] in emergencies and after[0] - before[1] <= RETURN_WITHIN
    ]


def _seen(record: Record, died: datetime | None) -> list[Stretch]:
    """Where no Encounter is recorded: from value to value, as long as none is silent for too long."""
    every = [each.times for each in record.numbers.values()] + [each.times for each in record.codes.values()]
    times = sorted({moment for each in every for moment in each if died is None or moment <= died})
    near = [(a, b) for a, b in pairwise(times) if b - a <= LONGEST_SILENCE]
    return [Stretch(start, end) for start, end in joined(near)]


def joined(spans: Iterable[Span]) -> list[Span]:
    """Join spans that touch or overlap."""
    found: list[Span] = []
    for start, end in sorted(spans):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def without(spans: Sequence[Span], taken: Sequence[Span]) -> list[Span]:
    """Return spans without the time that others take; both are in order and apart."""
    found: list[Span] = []
    for start, end in spans:
        begin = start
        for away, back in taken:
            if back <= begin or away >= end:
                continue
            if away > begin:
                found.append((begin, away))
            begin = max(begin, back)
        if begin < end:
            found.append((begin, end))
    return found


# Of patients who are watched


def patient_days(watched: Iterable[Watched]) -> float:
    """Return the time on wards, in days."""
    total = sum((stretch.length for one in watched for stretch in one.trace.stretches), start=timedelta())
    return total / DAY


def spell_at(trace: Trace, moment: datetime) -> Spell:
    """Return the spell of a moment, or the last before it; of a moment before all, the first."""
    at = bisect_right(trace.spells, moment, key=lambda spell: spell.starts)
    return trace.spells[max(at - 1, 0)]


def local(trace: Trace, moment: datetime) -> datetime:
    """Return a moment on the clock that the record was written by."""
    return moment + timedelta(minutes=trace.zone_minutes)


def pieces(trace: Trace, part: timedelta) -> Iterator[Spell]:
    """Cut the spells at each full part of the record's own day; a part goes into a day without rest."""
    for spell in trace.spells:
        start = spell.starts
        while start < spell.ends:
            clock = local(trace, start)
            midnight = clock.replace(hour=0, minute=0, second=0, microsecond=0)
            end = min(spell.ends, start + part - (clock - midnight) % part)
            yield Spell(start, end, spell.ward, spell.age)
            start = end
