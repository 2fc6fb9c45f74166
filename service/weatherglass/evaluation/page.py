"""The report as one page that needs nothing else: no script, no font, no address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from itertools import pairwise
from typing import Any

from weatherglass.comparison.differences import Turn
from weatherglass.comparison.telling import named
from weatherglass.evaluation import drawings
from weatherglass.evaluation.counting.calibration import Band, rises
from weatherglass.evaluation.counting.discrimination import Area
from weatherglass.evaluation.counting.groups import Group, GroupAt
from weatherglass.evaluation.counting.intervals import FEWEST_OUTCOMES, Proportion
from weatherglass.evaluation.counting.measures import Ladder
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
    found = () if whole.left_out else drawings.of(ladder, name, in_use, whole.scope.horizon)
    by_group = (
        () if whole.left_out or not groups else drawings.of_groups(groups, name, rung(ladder.key, told_at))
    )
    return _Shown(
        ladder=ladder,
        name=name,
        in_use=in_use,
        drawn=(*found, *by_group),
        bands=tuple((drawings.band_name(ladder.key, band), band) for band in ladder.bands),
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
