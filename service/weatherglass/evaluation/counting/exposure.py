"""Time on wards, in days and cut into pieces that belong to one ward, one age, one part of the day."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from weatherglass.evaluation.events import Watched
from weatherglass.evaluation.trace import Spell, Trace

DAY = timedelta(days=1)


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
