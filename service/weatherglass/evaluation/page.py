"""The report as one page that needs nothing else: no script, no font, no address."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from typing import Any

from weatherglass.evaluation import plots
from weatherglass.evaluation.counting.discrimination import Area
from weatherglass.evaluation.counting.intervals import Share, Spread
from weatherglass.evaluation.counting.measures import AtThreshold, Ladder
from weatherglass.evaluation.report import Report, rung
from weatherglass.evaluation.trace import REVIEW

_MOST_REASONS = 12


@dataclass(frozen=True, slots=True)
class _Shown:
    """One ladder as the page shows it."""

    ladder: Ladder
    name: str
    curve: str
    load: str
    leads: tuple[tuple[str, str, Spread | None], ...]
    missing: str


def render(whole: Report) -> str:
    """Return the page."""
    shown = [_shown(one, whole) for one in whole.ladders if one.rounds]
    return str(
        _template().render(
            whole=whole,
            shown=shown,
            hours=f"{whole.scope.horizon / timedelta(hours=1):g}",
            onsets=_onsets(whole),
            percent=percent,
            interval=interval,
            area=area,
            rung=rung,
            review=REVIEW,
        )
    )


@cache
def _template() -> Any:
    from jinja2 import PackageLoader

    from weatherglass.web.templating import environment

    return environment(PackageLoader("weatherglass.evaluation")).get_template("evaluation.html")


def percent(found: Share) -> str:
    """Write a share: '42 %', with a place more below one percent."""
    if found.value is None:
        return "none"
    value = 100 * found.value
    return f"{value:.1f} %" if 0 < value < 1 else f"{value:.0f} %"


def interval(found: Share) -> str:
    """Write the interval of a share: '35-49 %'."""
    if found.low is None or found.high is None:
        return ""
    return f"{100 * found.low:.0f}\u2013{100 * found.high:.0f} %"


def area(found: Area) -> str:
    """Write an area with its interval."""
    if found.value is None:
        return "cannot be had: there are no rounds of both kinds"
    if found.low is None or found.high is None:
        return f"{found.value:.3f} (too few outcomes for an interval)"
    return f"{found.value:.3f} ({found.low:.3f}\u2013{found.high:.3f})"


def _shown(ladder: Ladder, whole: Report) -> _Shown:
    name = whole.names.get(ladder.key, ladder.key)
    published = whole.published.get(ladder.key, ())
    marked = [one for one in ladder.thresholds if one.threshold in published]
    return _Shown(
        ladder=ladder,
        name=name,
        curve=_curve(ladder, name, marked),
        load=_load(ladder, name, marked),
        leads=tuple(_lead(one, ladder.key, whole.scope.horizon) for one in marked),
        missing=_missing(ladder, name),
    )


def _curve(ladder: Ladder, name: str, marked: Sequence[AtThreshold]) -> str:
    if ladder.area.value is None:
        return ""
    points = [(1.0, 1.0)] + [_corner(one) for one in ladder.thresholds] + [(0.0, 0.0)]
    labels = [(*_corner(one), f"\u2265 {rung(ladder.key, one.threshold)}") for one in marked]
    return plots.line(
        points,
        plots.fractions("of other rounds, at or above"),
        plots.fractions("of rounds before an outcome, at or above"),
        said=f"{name}: share of rounds before an outcome against share of other rounds, at each threshold",
        labels=labels,
        diagonal=True,
    )


def _corner(one: AtThreshold) -> tuple[float, float]:
    return 1 - (one.specificity.value or 0.0), one.sensitivity.value or 0.0


def _load(ladder: Ladder, name: str, marked: Sequence[AtThreshold]) -> str:
    points = [
        (one.armed_per_100_days, one.outcomes_warned.value)
        for one in ladder.thresholds
        if one.armed_per_100_days is not None and one.outcomes_warned.value is not None
    ]
    if not points:
        return ""
    labels = [
        (one.armed_per_100_days, one.outcomes_warned.value, f"\u2265 {rung(ladder.key, one.threshold)}")
        for one in marked
        if one.armed_per_100_days is not None and one.outcomes_warned.value is not None
    ]
    return plots.line(
        points,
        plots.numbers("alerts for each 100 patient-days, re-armed after 8 h", max(x for x, _ in points)),
        plots.fractions("of outcomes, warned of in time"),
        said=f"{name}: share of outcomes warned of against re-armed alerts for each 100 patient-days",
        labels=labels,
    )


def _lead(one: AtThreshold, key: str, horizon: timedelta) -> tuple[str, str, Spread | None]:
    hours = horizon / timedelta(hours=1)
    title = f"\u2265 {rung(key, one.threshold)}"
    if not one.lead_hours:
        return title, "", one.lead
    most = max(one.lead_hours.values())
    drawn = plots.bars(
        [(float(hour), float(number)) for hour, number in one.lead_hours.items()],
        1.0,
        plots.Axis("hours from the first round at or above to the outcome", hours, _hour_marks(hours)),
        plots.numbers("outcomes", most, steps=min(most, 4)),
        said=f"Hours from the first round {title} to the outcome",
    )
    return title, drawn, one.lead


def _hour_marks(hours: float) -> tuple[tuple[float, str], ...]:
    return tuple((hours * part / 4, f"{hours * part / 4:g}") for part in range(5))


def _missing(ladder: Ladder, name: str) -> str:
    found = sorted(ladder.incomplete.reasons.items(), key=lambda item: (-item[1], item[0]))[:_MOST_REASONS]
    if not found:
        return ""
    rows = [
        (
            f"{key.replace('-', ' ')}: {reason}" if key else reason,
            number / ladder.rounds,
            f"{number} of {ladder.rounds} rounds",
        )
        for (key, reason), number in found
    ]
    return plots.lying_bars(rows, said=f"{name}: what was missing, and why")


def _onsets(whole: Report) -> str:
    if not whole.onsets:
        return ""
    most = max(whole.onsets.values())
    rows = [(kind.replace("-", " "), rate / most, f"{rate:.1f}") for kind, rate in whole.onsets.items()]
    return plots.lying_bars(rows, said="New findings by kind for each 100 patient-days")
