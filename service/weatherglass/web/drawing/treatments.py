"""What was given and when, as marks under the strips: one row a medicine."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from weatherglass.medicines.telling.wording import as_charted
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.record import Record
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
                    "label": label,
                    "from": [face.seconds(g.at) for g in given],
                    "to": [face.seconds(g.until) for g in given],
                }
                for label, (_, given) in zip(_labels(ordered[:_ROWS]), ordered, strict=False)
            ]
        },
    )


def _labels(ordered: Sequence[tuple[str, Sequence[Administration]]]) -> list[str]:
    """Name each as the chart does, without its strength where no other row could be meant."""
    short = [as_charted(name) for name, _ in ordered]
    return [each if short.count(each) == 1 else name for each, (name, _) in zip(short, ordered, strict=True)]


def _times(given: list[Administration], face: Clockface) -> list[str]:
    return [face.full(g.at) for g in sorted(given, key=lambda g: g.at, reverse=True)]
