"""What was given and when, as marks under the strips: one row a medicine."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from weatherglass.model.record import Administration, Record
from weatherglass.web.drawing.clockface import Clockface

_ROWS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentsView:
    """Doses given: rows to draw, and the same as a table.

    Attributes:
        latest: When each medicine that is drawn was last given.
    """

    rows: tuple[tuple[str, str], ...]
    latest: tuple[str, ...]
    left_out: int
    drawing: Mapping[str, Any]


def treatments_view(record: Record, face: Clockface) -> TreatmentsView | None:
    """Return what was given, the medicine given last first; None when nothing is recorded."""
    if not record.administrations:
        return None
    by_medicine: defaultdict[str, list[Administration]] = defaultdict(list)
    for given in record.administrations:
        by_medicine[given.medicine.text].append(given)
    ordered = sorted(by_medicine.items(), key=lambda pair: max(g.at for g in pair[1]), reverse=True)
    return TreatmentsView(
        rows=tuple((name, "; ".join(_times(given, face))) for name, given in ordered),
        latest=tuple(face.short(max(g.at for g in given)) for _, given in ordered[:_ROWS]),
        left_out=max(0, len(ordered) - _ROWS),
        drawing={
            "rows": [
                {
                    "label": _short(given[0]),
                    "from": [face.seconds(g.at) for g in given],
                    "to": [face.seconds(g.ended or g.at) for g in given],
                }
                for name, given in ordered[:_ROWS]
            ]
        },
    )


def _short(given: Administration) -> str:
    """Name a medicine where there is little room: by its ingredients, else by the words of the chart."""
    return " with ".join(given.medicine.ingredients).capitalize() or given.medicine.text


def _times(given: list[Administration], face: Clockface) -> list[str]:
    return [face.full(g.at) for g in sorted(given, key=lambda g: g.at, reverse=True)]
