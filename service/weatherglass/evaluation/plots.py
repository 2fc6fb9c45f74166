"""Small plots as SVG: a line of points, bars, and bars that lie. No script, no outside file."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

_WIDTH, _HEIGHT = 420, 260
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 24, 12, 40


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: from 0 to `most`, with a name and marks.

    Attributes:
        name: What is measured.
        most: Its end.
        marks: Where a mark stands, with its word.
    """

    name: str
    most: float
    marks: tuple[tuple[float, str], ...]


def fractions(name: str) -> Axis:
    """Return an axis from 0 to 100 %."""
    return Axis(name, 1.0, tuple((part / 4, f"{part * 25} %") for part in range(5)))


def numbers(name: str, most: float, *, steps: int = 4) -> Axis:
    """Return an axis of round numbers that reaches at least to `most`."""
    step = _round_step(max(most, 1e-9) / steps)
    count = int(-(-most // step)) or 1
    return Axis(name, count * step, tuple((step * at, f"{step * at:g}") for at in range(count + 1)))


def _round_step(least: float) -> float:
    power = 1.0
    while power * 10 <= least:
        power *= 10
    while power > least:
        power /= 10
    return next(power * factor for factor in (1, 2, 5, 10) if power * factor >= least * (1 - 1e-9))


def line(
    points: Sequence[tuple[float, float]],
    across: Axis,
    up: Axis,
    *,
    said: str,
    labels: Sequence[tuple[float, float, str]] = (),
    diagonal: bool = False,
) -> str:
    """Draw points joined by lines.

    Args:
        points: Where they are.
        across: The axis to the right.
        up: The axis upwards.
        said: What the plot shows, for whoever cannot see it.
        labels: Words beside some of the points.
        diagonal: Draw the line of pure chance.
    """
    place = _place(across, up)
    parts = [*_frame(across, up)]
    if diagonal:
        (x1, y1), (x2, y2) = place(0, 0), place(across.most, up.most)
        parts.append(f'<line class="chance" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>')
    drawn = [place(x, y) for x, y in points]
    parts.append(f'<polyline class="line" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in drawn)}"/>')
    parts += [f'<circle class="point" cx="{x:.1f}" cy="{y:.1f}" r="3"/>' for x, y in drawn]
    for x, y, word in labels:
        at = place(x, y)
        parts.append(f'<text class="label" x="{at[0] + 7:.1f}" y="{at[1] + 13:.1f}">{escape(word)}</text>')
    return _whole(parts, said)


def bars(heights: Sequence[tuple[float, float]], width: float, across: Axis, up: Axis, *, said: str) -> str:
    """Draw upright bars.

    Args:
        heights: Left edge and height of each.
        width: How wide each is, in units of the axis.
        across: The axis to the right.
        up: The axis upwards.
        said: What the plot shows.
    """
    place = _place(across, up)
    parts = [*_frame(across, up)]
    for left, height in heights:
        x1, y1 = place(left, height)
        x2, y2 = place(left + width, 0)
        parts.append(
            f'<rect class="bar" x="{x1 + 0.5:.1f}" y="{y1:.1f}" width="{max(x2 - x1 - 1, 1):.1f}" '
            f'height="{max(y2 - y1, 0):.1f}"/>'
        )
    return _whole(parts, said)


def lying_bars(rows: Sequence[tuple[str, float, str]], *, said: str) -> str:
    """Draw bars that lie, each with its name before and its word behind it.

    Args:
        rows: Name, length between 0 and 1, word.
        said: What the plot shows.
    """
    height = 26 * len(rows) + 8
    parts = []
    for number, (name, length, word) in enumerate(rows):
        y = 8 + 26 * number
        parts.append(f'<text class="name" x="0" y="{y + 13}">{escape(name)}</text>')
        parts.append(f'<rect class="bar" x="230" y="{y}" width="{max(270 * length, 1):.1f}" height="17"/>')
        parts.append(f'<text class="label" x="{236 + 270 * length:.1f}" y="{y + 13}">{escape(word)}</text>')
    return _whole(parts, said, width=580, height=height)


def _place(across: Axis, up: Axis) -> Callable[[float, float], tuple[float, float]]:
    wide, high = _WIDTH - _LEFT - _RIGHT, _HEIGHT - _TOP - _BOTTOM

    def place(x: float, y: float) -> tuple[float, float]:
        return _LEFT + wide * x / across.most, _TOP + high * (1 - y / up.most)

    return place


def _frame(across: Axis, up: Axis) -> Sequence[str]:
    place = _place(across, up)
    parts = []
    for at, word in up.marks:
        x, y = place(0, at)
        parts.append(f'<line class="grid" x1="{x:.1f}" y1="{y:.1f}" x2="{_WIDTH - _RIGHT}" y2="{y:.1f}"/>')
        parts.append(
            f'<text class="mark" x="{x - 6:.1f}" y="{y + 4:.1f}" text-anchor="end">{escape(word)}</text>'
        )
    for at, word in across.marks:
        x, y = place(at, 0)
        parts.append(
            f'<text class="mark" x="{x:.1f}" y="{y + 16:.1f}" text-anchor="middle">{escape(word)}</text>'
        )
    x, y = place(across.most / 2, 0)
    parts.append(
        f'<text class="axis" x="{x:.1f}" y="{y + 34:.1f}" text-anchor="middle">{escape(across.name)}</text>'
    )
    parts.append(f'<text class="axis" x="{_LEFT - 40}" y="{_TOP - 14}">{escape(up.name)}</text>')
    return parts


def _whole(parts: Sequence[str], said: str, *, width: int = _WIDTH, height: int = _HEIGHT) -> str:
    above = 16 if height == _HEIGHT else 0
    label = escape(said, {'"': "&quot;"})
    head = f'<svg viewBox="0 {-above} {width} {height + above}" role="img" aria-label="{label}">'
    return f"{head}{''.join(parts)}</svg>"
