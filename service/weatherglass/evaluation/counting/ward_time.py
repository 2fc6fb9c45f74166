"""When a patient was on a ward, and when on to critical care: from the record's stays."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from weatherglass.evaluation.trace import Outcome, Stretch
from weatherglass.model.record import Record

#: Ours: a critical-care stay that begins this soon after a ward stay is a transfer from that ward.
TRANSFER_GAP = timedelta(hours=6)
TRANSFER = "intensive care"

Span = tuple[datetime, datetime]


def ward_time(record: Record, died: datetime | None) -> tuple[list[Stretch], list[Outcome], bool]:
    """Return time on wards, transfers to critical care, and whether stays are recorded at all.

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
        if stay.starts is None or not (stay.inpatient or stay.critical_care):
            continue
        ends = min(stay.ends or last, died or stay.ends or last)
        if ends > stay.starts:
            (critical if stay.critical_care else wards).append((stay.starts, ends))
    critical = joined(critical)
    if not wards and not critical:
        return _seen(record, died), [], False
    stretches = [Stretch(start, end) for start, end in without(joined(wards), critical)]
    transfers = [
        Outcome(start, TRANSFER)
        for start, _ in critical
        if any(s.starts < start and start - s.ends <= TRANSFER_GAP for s in stretches if s.starts < start)
    ]
    return stretches, transfers, True


def _seen(record: Record, died: datetime | None) -> list[Stretch]:
    """Where no stay is recorded: from the first to the last value."""
    every = [each.times for each in record.numbers.values()] + [each.times for each in record.codes.values()]
    times = [moment for each in every for moment in (each[:1] + each[-1:])]
    times = [moment for moment in times if died is None or moment <= died]
    return [Stretch(min(times), max(times))] if times and min(times) < max(times) else []


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
