"""The score over time with its parts, as numbers to draw and as a table."""

from dataclasses import dataclass
from typing import Any

from weatherglass.model.findings import ScoreFinding, ScorePoint
from weatherglass.web.drawing.clockface import Clockface
from weatherglass.web.finding_view import short_name

_TABLE_ROWS = 60
#: Names short enough to stand beside a row 16 pixels high.
_SHORT = {
    "respiration": "breaths",
    "spo2-scale-1": "SpO\u2082",
    "spo2-scale-2": "SpO\u2082 sc. 2",
    "air-or-oxygen": "oxygen",
    "systolic-pressure": "pressure",
    "consciousness": "alertness",
    "diastolic-pressure": "diastolic",
    "capillary-refill": "refill time",
    "respiratory-effort": "effort",
    "spo2": "SpO\u2082",
    "oxygen-therapy": "oxygen",
    "heart-rate": "heart rate",
    "urine-output": "urine",
    "temperature": "temp.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreStripView:
    """The timeline of the score that leads the review.

    Attributes:
        moment: Of the newest total, for a program.
        table: Time, total and the points of each part, newest first.
    """

    name: str
    latest: str
    latest_at: str
    moment: str
    parts: tuple[str, ...]
    table: tuple[tuple[str, ...], ...]
    left_out: int
    summary: str
    drawing: dict[str, Any]


def score_strip(score: ScoreFinding, face: Clockface) -> ScoreStripView | None:
    """Return the timeline of one score, None when it has no past at all."""
    history = score.history
    if not history:
        return None
    short = short_name(score)
    newest = history[-1]
    rows = [
        (face.full(p.at), total_words(p), *(_points(points) for points in p.parts)) for p in reversed(history)
    ]
    return ScoreStripView(
        name=short,
        latest=total_words(newest),
        latest_at=face.short(newest.at),
        moment=newest.at.isoformat(),
        parts=tuple(part.label for part in score.parts),
        table=tuple(rows[:_TABLE_ROWS]),
        left_out=max(0, len(rows) - _TABLE_ROWS),
        summary=(
            f"{short}: {len(history)} scores from {face.full(history[0].at)} to "
            f"{face.full(newest.at)}; first {total_words(history[0])}, newest {total_words(newest)}."
        ),
        drawing={
            "at": [face.seconds(p.at) for p in history],
            "total": [p.total for p in history],
            "lowest": [p.lowest for p in history],
            "highest": [p.highest for p in history],
            "said": [total_words(p) for p in history],
            "parts": [
                {"label": _SHORT.get(part.key, part.label), "points": [p.parts[index] for p in history]}
                for index, part in enumerate(score.parts)
            ],
        },
    )


def total_words(point: ScorePoint) -> str:
    """Write one total; a span where something was missing."""
    return str(point.total) if point.total is not None else f"{point.lowest} to {point.highest}"


def _points(points: int | None) -> str:
    return str(points) if points is not None else "missing"
