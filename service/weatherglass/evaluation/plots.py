"""Plots as SVG for the page, drawn by matplotlib: few, in grey and in print as readable as in colour.

Words that belong to points stand in the margin, apart from each other, so that nothing is printed over.
"""

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from itertools import pairwise
from typing import Any, NamedTuple
from xml.sax.saxutils import escape

_INK, _SOFT, _SEA = "#17222b", "#51606b", "#1f5e70"
_WIDE, _HIGH = 6.2, 3.5
_STYLE = {
    "svg.hashsalt": "weatherglass",
    "svg.fonttype": "path",  # The page carries its letters, so that no other font is wider than was planned.
    "font.family": "DejaVu Sans",
    "font.size": 10,
    "axes.edgecolor": _SOFT,
    "axes.labelcolor": _INK,
    "text.color": _INK,
    "xtick.color": _SOFT,
    "ytick.color": _SOFT,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": False,
    "legend.frameon": False,
}
_DROPPED = re.compile(r"<\?xml.*?\?>|<!DOCTYPE.*?>|<metadata>.*?</metadata>|<!--.*?-->", re.DOTALL)


class Ranged(NamedTuple):
    """A named value between two others, None without an interval, and how many stand behind it."""

    name: str
    value: float
    low: float | None
    high: float | None
    counted: str


def risks(rows: Sequence[Ranged], *, along: str, said: str) -> str:
    """Draw shares side by side, from low to high levels, each with its interval and its count."""
    with _figure(max(_WIDE, 1.1 * len(rows)), _HIGH) as (figure, axes):
        for at, row in enumerate(rows):
            _whisker(axes, at, row, upright=True)
        axes.set_xticks(range(len(rows)), [f"{row.name}\n{row.counted}" for row in rows])
        axes.set_xlim(-0.5, len(rows) - 0.5)
        top = _ceiling(max([row.high or row.value for row in rows], default=0))
        axes.set_ylim(-0.03 * top, top)  # A mark at zero is seen whole.
        axes.yaxis.set_major_formatter(_percent())
        axes.set_ylabel("followed by an outcome")
        axes.set_xlabel(along)
        return _svg(figure, said)


def costs(
    points: Sequence[tuple[float, float]], named: Sequence[tuple[float, float, str]], *, said: str
) -> str:
    """Draw what is gained against what it costs; the named points have their words in the margin."""
    with _figure(_WIDE, _HIGH) as (figure, axes):
        axes.plot(*zip(*points, strict=True), color=_SEA, marker="o", markersize=4, markerfacecolor="white")
        axes.set_xlim(0, max(x for x, _ in points) * 1.05 or 1)
        axes.set_ylim(0, 1.04)
        axes.yaxis.set_major_formatter(_percent())
        axes.set_xlabel("alerts for each 100 patient-days")
        axes.set_ylabel("outcomes warned of in time")
        heights = apart([y for _, y, _ in named], least=0.09, top=1.0)
        for (x, y, word), height in zip(named, heights, strict=True):
            axes.plot([x], [y], marker="o", markersize=6, color=_INK)
            axes.annotate(
                word, (x, y), xytext=(1.03, height / 1.04), textcoords="axes fraction", va="center",
                arrowprops={"arrowstyle": "-", "color": _SOFT, "linewidth": 0.6}, annotation_clip=False,
            )  # fmt: skip
        return _svg(figure, said)


def leads(
    rows: Sequence[tuple[str, tuple[float, float, float, float, float], str]], most: float, *, said: str
) -> str:
    """Draw how early: least to most as a line, the middle half as a bar, the median as a mark."""
    with _figure(_WIDE, 1.1 + 0.45 * len(rows)) as (figure, axes):
        for at, (_, (least, lower, median, upper, longest), _) in enumerate(rows):
            axes.plot([least, longest], [at, at], color=_SOFT, linewidth=1)
            axes.plot([lower, upper], [at, at], color=_SEA, linewidth=9, solid_capstyle="butt", alpha=0.45)
            axes.plot([median], [at], marker="|", markersize=15, markeredgewidth=2.5, color=_INK)
        axes.set_yticks(range(len(rows)), [f"{name}  ({counted})" for name, _, counted in rows])
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.set_xlim(0, most)
        axes.set_xlabel("hours from the first warning to the outcome")
        return _svg(figure, said)


def divided(
    rows: Sequence[tuple[str, Ranged | None, float | None]], breaks: Sequence[int], *, said: str
) -> str:
    """Draw groups under each other: outcomes warned of on the left, alerts on the right.

    Args:
        rows: Name, proportion of outcomes warned of, alerts.
        breaks: Before which rows a line stands.
        said: What the plot shows.
    """
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    with rc_context(_STYLE):
        figure = Figure(figsize=(8.4, 1.0 + 0.29 * len(rows)), layout="constrained")
        left, right = figure.subplots(1, 2, sharey=True)
        for at, (_, warned, alerts) in enumerate(rows):
            if warned is not None:
                _whisker(left, at, warned, upright=False)
            if alerts is not None:
                right.plot([alerts], [at], marker="s", markersize=5, color=_SEA)
        for axes in (left, right):
            for at in breaks:
                axes.axhline(at - 0.5, color=_SOFT, linewidth=0.6)
        left.set_yticks(range(len(rows)), [name for name, _, _ in rows])
        left.set_ylim(len(rows) - 0.5, -0.5)
        left.set_xlim(-0.03, 1.03)
        left.xaxis.set_major_formatter(_percent())
        left.set_xlabel("outcomes warned of in time")
        right.set_xlim(left=0)
        right.set_xlabel("alerts for each 100 patient-days")
        return _svg(figure, said)


def apart(places: Sequence[float], *, least: float, top: float) -> list[float]:
    """Move places upwards and down again until none is nearer to another than `least`.

    Examples:
        >>> [round(each, 2) for each in apart([0.5, 0.5, 0.98], least=0.1, top=1.0)]
        [0.5, 0.6, 0.98]
        >>> [round(each, 2) for each in apart([1.0, 1.0], least=0.1, top=1.0)]
        [0.9, 1.0]
    """
    order = sorted(range(len(places)), key=lambda at: (places[at], at))
    moved = list(places)
    for before, at in pairwise(order):
        moved[at] = max(moved[at], moved[before] + least)
    above = top + least
    for at in reversed(order):
        above = moved[at] = min(moved[at], above - least)
    return moved


def _whisker(axes: Any, at: float, row: Ranged, *, upright: bool) -> None:
    """Draw a value with its interval; an open mark where there is none."""
    has_interval = row.low is not None and row.high is not None
    if has_interval:
        ends = ([at, at], [row.low, row.high])
        axes.plot(*(ends if upright else ends[::-1]), color=_SEA, linewidth=2)
    place = ([at], [row.value])
    axes.plot(
        *(place if upright else place[::-1]), marker="o", markersize=6, color=_INK,
        markerfacecolor=_INK if has_interval else "white",
    )  # fmt: skip


def _ceiling(most: float) -> float:
    return next((each for each in (0.02, 0.05, 0.1, 0.2, 0.5) if most <= each * 0.95), 1.03)


def _percent() -> Any:
    from matplotlib.ticker import PercentFormatter

    return PercentFormatter(1.0, decimals=None, symbol=" %")


@contextmanager
def _figure(width: float, height: float) -> Iterator[tuple[Any, Any]]:
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    with rc_context(_STYLE):
        figure = Figure(figsize=(width, height), layout="constrained")
        yield figure, figure.subplots()


def _svg(figure: Any, said: str) -> str:
    """Return the figure as an element for the page, the same bytes each time."""
    file = io.StringIO()
    figure.savefig(file, format="svg", metadata={"Date": None})
    label = escape(said, {'"': "&quot;"})
    return (
        _DROPPED.sub("", file.getvalue())
        .strip()
        .replace("<svg ", f'<svg role="img" aria-label="{label}" ', 1)
    )
