"""The seven vital signs in one row: value, points, what it was, and a line of the last twelve hours.

What is drawn is what the strips of the log hold; no value is looked up a second time, and
none is judged: the points are those of the score that leads the review.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from weatherglass.model.findings import ScoreFinding
from weatherglass.web.drawing.clockface import Clockface
from weatherglass.web.drawing.strips import StripView

WIDTH: Final = 84
HEIGHT: Final = 22
HOURS: Final = 12
_INSET: Final = 2.5


class _Place(NamedTuple):
    """Where a sign stands: the strip it is drawn from, its short name, the parts of scores that it is."""

    strip: str
    name: str
    parts: tuple[str, ...]


#: In the systematic order.
_PLACES: Final = (
    _Place("respiration-rate", "Breaths", ("respiration",)),
    _Place("spo2", "SpO\u2082", ("spo2-scale-1", "spo2-scale-2", "spo2")),
    _Place("oxygen", "Oxygen", ("air-or-oxygen", "oxygen-therapy")),
    _Place("systolic-pressure", "Pressure", ("systolic-pressure",)),
    _Place("pulse", "Pulse", ("pulse", "heart-rate")),
    _Place("consciousness", "Alertness", ("consciousness", "mentation")),
    _Place("temperature", "Temp.", ("temperature",)),
)


class SparkView(NamedTuple):
    """A line as SVG path data, with its newest point."""

    path: str
    last_x: float
    last_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SignView:
    """One sign of the row.

    Attributes:
        points: Its points in the score that leads; empty where it has no part in it or none is current.
        moved: "was 22", "was air"; empty where it is as it was or first.
        arrow: "up", "down" or empty: the direction from the value before.
        is_behind: The newest round of observations has no value of it.
    """

    key: str
    name: str
    value: str
    unit: str
    at: str
    points: str
    moved: str
    arrow: str
    is_behind: bool
    spark: SparkView | None


def signs_row(
    strips: Sequence[StripView], lead: ScoreFinding | None, face: Clockface
) -> tuple[SignView, ...]:
    """Return the seven signs in their order; one without a value says that it is not recorded."""
    by_key = {strip.key: strip for strip in strips}
    points = {part.key: part.points for part in lead.parts} if lead is not None else {}
    return tuple(
        _sign(place, by_key[place.strip], points, face) for place in _PLACES if place.strip in by_key
    )


def _sign(place: _Place, strip: StripView, points: Mapping[str, int | None], face: Clockface) -> SignView:
    scored = [points[key] for key in place.parts if key in points]
    line = _line(strip.drawing)
    moved, arrow = _moved(line, is_word=strip.drawing.get("kind") == "step")
    return SignView(
        key=place.strip,
        name=place.name,
        value=strip.latest,
        unit=strip.unit if line.get("value") else "",
        at=strip.latest_at,
        points="" if not scored else "?" if scored[0] is None else str(scored[0]),
        moved=moved,
        arrow=arrow,
        is_behind=strip.is_behind,
        spark=_spark(line, face),
    )


def _line(drawing: Mapping[str, Any]) -> Mapping[str, Any]:
    lines: Sequence[Mapping[str, Any]] = drawing.get("lines", ())
    return lines[0] if lines else drawing


def _moved(line: Mapping[str, Any], *, is_word: bool) -> tuple[str, str]:
    """Say what the newest value came from: the one before it."""
    values, said = line.get("value", ()), line.get("said", ())
    if len(values) < 2 or said[-1] == said[-2]:
        return "", ""
    if is_word:
        return f"was {said[-2]}", ""
    return f"was {said[-2]}", "up" if values[-1] > values[-2] else "down"


def _spark(line: Mapping[str, Any], face: Clockface) -> SparkView | None:
    """Draw the last twelve hours from edge to edge, the least to the greatest value from bottom to top."""
    end = face.seconds(face.now)
    start = end - HOURS * 3600
    drawn = zip(line.get("at", ()), line.get("value", ()), strict=True)
    points = [(at, value) for at, value in drawn if at >= start]
    if not points:
        return None
    low, high = min(value for _, value in points), max(value for _, value in points)
    placed = [
        (
            round(_INSET + (at - start) / (end - start) * (WIDTH - 2 * _INSET), 1),
            round(HEIGHT - _INSET - _share(value, low, high) * (HEIGHT - 2 * _INSET), 1),
        )
        for at, value in points
    ]
    return SparkView("M" + "L".join(f"{x} {y}" for x, y in placed), *placed[-1])


def _share(value: float, low: float, high: float) -> float:
    return (value - low) / (high - low) if high > low else 0.5
