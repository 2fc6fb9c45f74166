"""The score of one patient as a small line, drawn to the same scale for a whole ward."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from weatherglass.model.findings import ScorePoint

WIDTH = 168
HEIGHT = 36
_INSET = 3


class Scale(NamedTuple):
    """One scale for all the lines of a ward, so that they can be compared.

    Attributes:
        start: Left edge.
        end: Right edge: the latest moment of review on the ward.
        top: Highest total that is drawn.
    """

    start: datetime
    end: datetime
    top: int

    def across(self, at: datetime) -> float:
        """Place a moment."""
        share = (at - self.start) / (self.end - self.start)
        return round(_INSET + share * (WIDTH - 2 * _INSET), 1)

    def up(self, total: int) -> float:
        """Place a total."""
        return round(HEIGHT - _INSET - total / self.top * (HEIGHT - 2 * _INSET), 1)


class SmallMultiple(NamedTuple):
    """A line as SVG path data, with the open ends of incomplete scores and the newest point."""

    path: str
    spans: str
    last_x: float
    last_y: float


_SHOWN = timedelta(hours=72)


def ward_scale(histories: Sequence[Sequence[ScorePoint]]) -> Scale | None:
    """Return the scale that fits every history, None when there is none."""
    points = [point for history in histories for point in history]
    if not points:
        return None
    end = max(point.at for point in points)
    return Scale(end - _SHOWN, end, max(10, *(point.highest for point in points)))


def lasting_scale(history: Sequence[ScorePoint]) -> Scale:
    """Return a scale that does not hang on the other patients: to 20, the most that NEWS2 can be."""
    end = history[-1].at
    return Scale(end - _SHOWN, end, max(20, *(point.highest for point in history)))


def small_multiple(history: Sequence[ScorePoint], scale: Scale) -> SmallMultiple | None:
    """Draw one history as steps: a score holds until the next one is taken."""
    shown = [point for point in history if point.at >= scale.start]
    if not shown:
        return None
    first, *rest = shown
    path = f"M{scale.across(first.at)} {scale.up(first.lowest)}"
    path += "".join(f"H{scale.across(point.at)}V{scale.up(point.lowest)}" for point in rest)
    spans = "".join(
        f"M{scale.across(point.at)} {scale.up(point.lowest)}V{scale.up(point.highest)}"
        for point in shown
        if point.total is None
    )
    return SmallMultiple(path, spans, scale.across(shown[-1].at), scale.up(shown[-1].lowest))
