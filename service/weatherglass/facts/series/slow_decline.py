"""Several vital signs that move the harmful way together over days, each more than chance explains."""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.signs import slow_decline as limits
from weatherglass.knowledge.signs.slow_decline import DecliningSign
from weatherglass.model.numbers.statistics import MIN_POINTS_FOR_SIGNIFICANCE, mann_kendall
from weatherglass.model.plain import Plain
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Remark


class SlowDecline(Plain, frozen=True):
    """What declines now, and since when it has been enough to tell."""

    signs: tuple["Declined", ...]
    since: datetime


class Declined(Plain, frozen=True):
    """One sign that has gone the harmful way: what it is, where it began and where it is."""

    sign: DecliningSign
    first: Measurement
    last: Measurement


def slow_decline(record: Record, as_of: datetime) -> SlowDecline | None:
    """Return the signs that decline together, in the order of the table; None where too few do."""
    found = _together(record, as_of)
    if not found:
        return None
    newest = max(one.last.at for one in found)
    since = newest
    for moment in reversed(_moments(record, found[0].sign, newest)):
        if not _together(record, moment):
            break
        since = moment
    return SlowDecline(found, since)


def _together(record: Record, moment: datetime) -> tuple[Declined, ...]:
    found = tuple(_declined(record, moment))
    return found if len(found) >= limits.TOGETHER.value else ()


def _moments(record: Record, sign: DecliningSign, newest: datetime) -> list[datetime]:
    """Return the moments of the last days at which to ask the same, some hours apart."""
    readings = record.series(sign.signal).within(newest - limits.OVER.length, newest)
    return [one.at for one in _thinned(readings)]


def _declined(record: Record, as_of: datetime) -> Iterator[Declined]:
    for sign in limits.SIGNS:
        kept = _thinned(record.series(sign.signal).within(as_of - limits.OVER.length, as_of))
        if len(kept) < MIN_POINTS_FOR_SIGNIFICANCE or kept[-1].at - kept[0].at < limits.AT_LEAST_OVER.length:
            continue
        change = kept[-1].value - kept[0].value
        if (change if sign.is_up else -change) < sign.change:
            continue
        tested = mann_kendall([one.value for one in kept])
        probability = tested.p_rising if sign.is_up else tested.p_falling
        if probability is not None and probability <= ours.STEADY_PROBABILITY.value:
            yield Declined(sign, kept[0], kept[-1])


def _thinned(readings: tuple[Measurement, ...]) -> list[Measurement]:
    """Keep the newest reading, and before it those some hours apart."""
    kept: list[Measurement] = []
    for one in reversed(readings):
        is_exact = one.is_exact and Remark.DAY_ONLY not in one.remarks
        if is_exact and (not kept or kept[-1].at - one.at >= limits.APART.length):
            kept.append(one)
    kept.reverse()
    return kept
