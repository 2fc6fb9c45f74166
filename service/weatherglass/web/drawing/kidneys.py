"""Creatinine over time with the reference value, the ratio and the stages by both criteria."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from weatherglass.model.findings import AkiFinding, Finding
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.words.value_words import number_words
from weatherglass.web.drawing.clockface import Clockface
from weatherglass.web.finding_view import MeasureView, measure_views

_NAMES = {"aki-kdigo": "KDIGO", "aki-warning-stage": "NHS England warning algorithm"}
_TABLE_ROWS = 60


class CriterionView(NamedTuple):
    """What one criterion says about the newest creatinine."""

    name: str
    stage: str
    why: str
    measures: tuple[MeasureView, ...]


class CreatinineRow(NamedTuple):
    """One creatinine with its stage by each criterion."""

    at: str
    value: str
    stages: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KidneysView:
    """The kidneys' own strip."""

    latest: str
    latest_at: str
    criteria: tuple[CriterionView, ...]
    rows: tuple[CreatinineRow, ...]
    left_out: int
    summary: str
    drawing: dict[str, Any]


def kidneys_view(record: Record, findings: Sequence[Finding], face: Clockface) -> KidneysView | None:
    """Return the creatinine strip, None when no creatinine is recorded."""
    series = record.series(Signal.CREATININE)
    if series.latest is None:
        return None
    staged = sorted((f for f in findings if isinstance(f, AkiFinding)), key=lambda f: f.criterion)
    stages = [dict(f.history) for f in staged]
    rows = [
        CreatinineRow(
            face.full(m.at), number_words(m), tuple(_stage_word(by_time.get(m.at)) for by_time in stages)
        )
        for m in reversed(series.items)
    ]
    newest = series.latest
    references = [
        {
            "name": _NAMES.get(f.criterion, f.criterion),
            "value": float(f.reference),
            "said": plain(f.reference),
        }
        for f in staged
        if f.reference is not None
    ]
    return KidneysView(
        latest=number_words(newest),
        latest_at=face.short(newest.at),
        criteria=tuple(
            CriterionView(
                _NAMES.get(f.criterion, f.criterion),
                _stage_word(f.stage),
                f.not_assessed,
                measure_views((m for m in f.measures if m.key != "creatinine"), face),
            )
            for f in staged
        ),
        rows=tuple(rows[:_TABLE_ROWS]),
        left_out=max(0, len(rows) - _TABLE_ROWS),
        summary=(
            f"Creatinine: {len(series)} results from {face.full(series.items[0].at)} to "
            f"{face.full(newest.at)}; newest {number_words(newest)} µmol/L."
        ),
        drawing={
            "at": [face.seconds(m.at) for m in series],
            "value": [float(m.value) for m in series],
            "said": [number_words(m) for m in series],
            # A result of long ago is often dated without a time, and of another year: no clock knows that.
            "when": [face.short(m.at) for m in series],
            "references": references,
            "stages": [
                {
                    "name": _NAMES.get(f.criterion, f.criterion),
                    "stage": [by_time.get(m.at) for m in series],
                }
                for f, by_time in zip(staged, stages, strict=True)
            ],
        },
    )


def _stage_word(stage: int | None) -> str:
    if stage is None:
        return "not staged"
    return f"stage {stage}" if stage else "no stage"
