"""The report as one page that needs nothing else: no script, no font, no address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from itertools import pairwise
from typing import Any

from weatherglass.comparison.differences import Turn
from weatherglass.comparison.telling import named
from weatherglass.evaluation import plots
from weatherglass.evaluation.counting.calibration import Band, rises
from weatherglass.evaluation.counting.discrimination import Area
from weatherglass.evaluation.counting.groups import Group, GroupAt
from weatherglass.evaluation.counting.intervals import FEWEST_OUTCOMES, Proportion
from weatherglass.evaluation.counting.measures import Ladder
from weatherglass.evaluation.counting.thresholds import AtThreshold
from weatherglass.evaluation.report import Report, rung
from weatherglass.evaluation.trace import REVIEW

_MOST_ROWS = 25
#: The review and the score of most rounds are told by group on the page; the rest in the JSON file.
_BY_GROUP = 2


@dataclass(frozen=True, slots=True)
class _Shown:
    """One ladder as the page shows it."""

    ladder: Ladder
    name: str
    in_use: tuple[int, ...]
    drawn: tuple[tuple[str, str], ...]
    bands: tuple[tuple[str, Band], ...]
    rises: bool
    missing: tuple[tuple[str, int], ...]
    told_at: int
    groups: tuple[tuple[Group, GroupAt, bool], ...]


def render(whole: Report) -> str:
    """Return the page."""
    shown = [_shown(at, one, whole) for at, one in enumerate(whole.ladders) if one.rounds]
    return str(
        _template().render(
            whole=whole,
            shown=shown,
            hours=_hours(whole.scope.horizon),
            rearm=_hours(whole.scope.staffing.rearm),
            shift=_hours(whole.scope.staffing.shift),
            findings=whole.findings[:_MOST_ROWS],
            criteria=_criteria(whole),
            turns=tuple(Turn),
            fewest=FEWEST_OUTCOMES,
            percent=percent,
            interval=interval,
            area=area,
            number=number,
            rung=rung,
            review=REVIEW,
        )
    )


@cache
def _template() -> Any:
    from jinja2 import PackageLoader

    from weatherglass.web.templating import environment

    return environment(PackageLoader("weatherglass.evaluation")).get_template("evaluation.html")


def _criteria(whole: Report) -> Sequence[tuple[str, Mapping[Turn, int]]]:
    if whole.beside is None:
        return ()
    return [(named(*criterion), turns) for criterion, turns in whole.beside.criteria.items()][:_MOST_ROWS]


def percent(found: Proportion) -> str:
    """Write a proportion: '42 %', with a place more near nothing and near all."""
    return "none" if found.value is None else f"{_percent(found.value)} %"


def _percent(value: float) -> str:
    """Write a proportion so that neither 'none' nor 'all' is said of what is not.

    Examples:
        >>> [_percent(value) for value in (0.0, 0.0001, 0.004, 0.42, 0.998, 0.9999, 1.0)]
        ['0', '<0.1', '0.4', '42', '99.8', '>99.9', '100']
    """
    whole = 100 * value
    if 0 < whole < 0.1:
        return "<0.1"
    if 99.9 < whole < 100:
        return ">99.9"
    return f"{whole:.1f}" if 0 < whole < 1 or 99 < whole < 100 else f"{whole:.0f}"


def interval(found: Proportion) -> str:
    """Write the interval of a proportion: '35-49 %'."""
    if found.low is None or found.high is None:
        return ""
    return f"{_percent(found.low)}\u2013{_percent(found.high)} %"


def number(found: float | None) -> str:
    """Write a load: '12.3', or 'none' without ward time."""
    return "none" if found is None else f"{found:.2f}" if 0 < found < 1 else f"{found:.1f}"


def area(found: Area) -> str:
    """Write an area with its interval."""
    if not found.before or not found.not_before:
        return "cannot be had: there are no rounds of both kinds"
    if found.value is None:
        return "left out (see above)"
    if found.low is None or found.high is None:
        return f"{found.value:.3f} (too few outcomes for an interval)"
    return f"{found.value:.3f} ({found.low:.3f}\u2013{found.high:.3f})"


def _shown(place: int, ladder: Ladder, whole: Report) -> _Shown:
    name = whole.names.get(ladder.key, ladder.key)
    in_use = whole.published.get(ladder.key, ())
    told_at = in_use[(len(in_use) - 1) // 2] if in_use else 0
    groups = tuple(_groups(ladder, told_at)) if place < _BY_GROUP else ()
    found = () if whole.left_out else of(ladder, name, in_use, whole.scope.horizon)
    by_group = () if whole.left_out or not groups else of_groups(groups, name, rung(ladder.key, told_at))
    return _Shown(
        ladder=ladder,
        name=name,
        in_use=in_use,
        drawn=(*found, *by_group),
        bands=tuple((band_name(ladder.key, band), band) for band in ladder.bands),
        rises=rises(ladder.bands),
        missing=_missing(ladder),
        told_at=told_at,
        groups=groups,
    )


def _groups(ladder: Ladder, told_at: int) -> Sequence[tuple[Group, GroupAt, bool]]:
    """Return each group with its figures at one threshold, and whether another division begins with it."""
    rows = [(one, at) for one in ladder.groups for at in one.thresholds if at.threshold == told_at]
    begins = [True, *(before.division != one.division for (before, _), (one, _) in pairwise(rows))]
    return [(one, at, first) for (one, at), first in zip(rows, begins, strict=False)]


def _missing(ladder: Ladder) -> tuple[tuple[str, int], ...]:
    found = sorted(ladder.incomplete.reasons.items(), key=lambda item: (-item[1], item[0]))
    return tuple(
        (f"{key.replace('-', ' ')}: {reason}" if key else reason, times) for (key, reason), times in found
    )[:_MOST_ROWS]


def _hours(length: timedelta) -> str:
    return f"{length / timedelta(hours=1):g}"


# Which plots the page has of a ladder, and what each says to whoever cannot see it.

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
