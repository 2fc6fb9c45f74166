"""The time on wards cut where the ward or the age changes."""

from collections.abc import Sequence
from datetime import datetime

from weatherglass.evaluation.trace import Spell, Stretch
from weatherglass.facts.bedside import Bedside
from weatherglass.model.record import Stay


def spells_of(bedside: Bedside, stretches: Sequence[Stretch]) -> list[Spell]:
    """Tile the stretches with spells of one ward and one age.

    Args:
        bedside: The whole record.
        stretches: Time on wards, in order.
    """
    wards = sorted(
        (
            stay
            for stay in bedside.record.stays
            if stay.in_hospital and not stay.critical_care and stay.starts
        ),
        key=lambda stay: stay.starts or stretches[0].starts,
    )
    edges = sorted({at for stay in wards for at in (stay.starts, stay.ends) if at is not None})
    found: list[Spell] = []
    for stretch in stretches:
        inside = [at for at in edges if stretch.starts < at < stretch.ends]
        starts = [stretch.starts, *inside]
        for start, end in zip(starts, [*inside, stretch.ends], strict=True):
            age = bedside.record.subject.age_at(bedside.local(start))
            found.append(Spell(start, end, _ward(wards, start), age))
    return found


def _ward(wards: Sequence[Stay], moment: datetime) -> str:
    """Name the ward of a moment: of stays that overlap, the one begun last that has a name."""
    there = [
        stay.place
        for stay in wards
        if stay.starts is not None and stay.starts <= moment and (stay.ends is None or moment < stay.ends)
    ]
    return next((place for place in reversed(there) if place), "")
