"""Which plots the page has of a ladder, and what each says to whoever cannot see it."""

from collections.abc import Sequence
from datetime import timedelta

from weatherglass.evaluation import plots
from weatherglass.evaluation.counting.calibration import Band
from weatherglass.evaluation.counting.groups import Group, GroupAt
from weatherglass.evaluation.counting.intervals import FEWEST_OUTCOMES, Proportion
from weatherglass.evaluation.counting.measures import Ladder
from weatherglass.evaluation.counting.thresholds import AtThreshold
from weatherglass.evaluation.report import rung
from weatherglass.evaluation.trace import REVIEW

#: A title, and the plot.
Drawn = tuple[str, str]


def of(ladder: Ladder, name: str, in_use: Sequence[int], horizon: timedelta) -> tuple[Drawn, ...]:
    """Draw a ladder; nothing where no outcome counts or no threshold is in use."""
    marked = [one for one in ladder.thresholds if one.threshold in in_use]
    if not marked or not marked[0].outcomes_warned.of:
        return ()
    found = (_risks(ladder, name), _costs(ladder, name, marked), _leads(ladder.key, name, marked, horizon))
    return tuple(each for each in found if each is not None)


def of_groups(rows: Sequence[tuple[Group, GroupAt, bool]], name: str, threshold: str) -> tuple[Drawn, ...]:
    """Draw the groups of a ladder at one threshold; nothing where no outcome counts."""
    if not any(group.outcomes for group, _, _ in rows):
        return ()
    drawn = [
        (f"{group.division}: {group.name}"[:38], _ranged("", at.outcomes_warned), at.armed_per_100_days)
        for group, at, _ in rows
    ]
    breaks = [place for place, (_, _, first) in enumerate(rows) if first and place]
    said = f"{name}, at least {threshold}: outcomes warned of and alerts for each 100 patient-days, by group"
    title = (
        f"By group, at least {threshold}. Open marks have no interval: fewer than {FEWEST_OUTCOMES} outcomes."
    )
    return ((title, plots.divided(drawn, breaks, said=said)),)


def band_name(key: str, band: Band) -> str:
    """Name a band of levels: '5 to 6', '7 or more', 'urgent'."""
    if key == REVIEW:
        return rung(key, band.from_level)
    if band.below is None:
        return f"{band.from_level} or more"
    last = band.below - 1
    return str(last) if last == band.from_level else f"{band.from_level} to {last}"


def _risks(ladder: Ladder, name: str) -> Drawn | None:
    rows = [_ranged(band_name(ladder.key, band), band.followed) for band in ladder.bands]
    known = [row for row in rows if row is not None]
    if not known:
        return None
    along = "urgency of the review" if ladder.key == REVIEW else "points"
    drawn = plots.risks(known, along=along, said=f"{name}: how often an outcome followed, by level")
    return "How often an outcome followed, by level.", drawn


def _costs(ladder: Ladder, name: str, marked: Sequence[AtThreshold]) -> Drawn | None:
    points = [
        (one.armed_per_100_days, one.outcomes_warned.value, one.threshold)
        for one in ladder.thresholds
        if one.armed_per_100_days is not None and one.outcomes_warned.value is not None
    ]
    if not points:
        return None
    wanted = {one.threshold for one in marked}
    named = [(x, y, f"\u2265 {rung(ladder.key, level)}") for x, y, level in points if level in wanted]
    said = f"{name}: share of outcomes warned of against re-armed alerts for each 100 patient-days"
    return "What it costs: each threshold.", plots.costs([(x, y) for x, y, _ in points], named, said=said)


def _leads(key: str, name: str, marked: Sequence[AtThreshold], horizon: timedelta) -> Drawn | None:
    rows = [
        (
            f"\u2265 {rung(key, one.threshold)}",
            (
                one.lead.least,
                one.lead.lower_quartile,
                one.lead.median,
                one.lead.upper_quartile,
                one.lead.most,
            ),
            f"{one.lead.number} of {one.outcomes_warned.of}",
        )
        for one in marked
        if one.lead is not None
    ]
    if not rows:
        return None
    said = f"{name}: hours from the first warning to the outcome, at each threshold in use"
    title = "How early: all (line), the middle half (bar), the median (mark)."
    return title, plots.leads(rows, horizon / timedelta(hours=1), said=said)


def _ranged(name: str, found: Proportion) -> plots.Ranged | None:
    if found.value is None:
        return None
    return plots.Ranged(name, found.value, found.low, found.high, f"{found.number} of {found.of}")
