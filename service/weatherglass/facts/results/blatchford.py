"""The Glasgow-Blatchford score of recorded bleeding from the gut, as far as its inputs are there."""

import re
from collections.abc import Iterator, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import NamedTuple

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.scores import glasgow_blatchford_2000 as score
from weatherglass.model.record import ConditionKind, Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex
from weatherglass.model.tables.bands import Cutoff

_COUNTS_FOR = timedelta(hours=24)
_FAINTED = re.compile(r"\b(?:syncope|faint(?:ed|ing)?|collapsed?|blackout)\b")


class Blatchford(NamedTuple):
    """What is known of the score.

    Attributes:
        lowest: The points of what is known; what is not recorded adds none.
        unknown: What was not measured and could add points.
    """

    lowest: int
    unknown: tuple[str, ...]
    evidence: tuple[Origin, ...]


class _Row(NamedTuple):
    points: int
    unknown: str = ""
    origin: Origin | None = None


def blatchford(bedside: Bedside) -> Blatchford | None:
    """Work the score out where bleeding from the gut is recorded in an adult; None elsewhere."""
    loss = bedside.blood_loss
    if loss.shock_index is None or not any(one.is_visible_gut for one in loss.recorded):
        return None
    rows = tuple(_rows(bedside))
    return Blatchford(
        sum(row.points for row in rows),
        tuple(row.unknown for row in rows if row.unknown),
        tuple(dict.fromkeys(row.origin for row in rows if row.origin is not None)),
    )


def _rows(bedside: Bedside) -> Iterator[_Row]:
    record, index = bedside.record, bedside.blood_loss.shock_index
    yield _measured(_recent(bedside, Signal.UREA), score.UREA, "urea")
    is_man = record.subject.sex is Sex.MALE
    haemoglobin = score.HAEMOGLOBIN_OF_MEN if is_man else score.HAEMOGLOBIN_OF_WOMEN
    yield _measured(_recent(bedside, Signal.HAEMOGLOBIN), haemoglobin, "haemoglobin")
    if index is not None:
        yield _measured(index.systolic, score.SYSTOLIC, "systolic pressure")
        yield _measured(index.pulse, score.PULSE, "pulse")
    yield _Row(score.MELAENA if any(one.is_black for one in bedside.blood_loss.recorded) else 0)
    said = [c.text.casefold() for c in record.conditions if c.active] + [
        one.text.casefold() for one in record.reasons
    ]
    fainted = any(map(_FAINTED.search, said))
    yield _Row(score.FAINTED) if fainted else _Row(0, "whether the patient fainted")
    yield _Row(score.LIVER_DISEASE if record.has(ConditionKind.LIVER_DISEASE) else 0)
    yield _Row(score.HEART_FAILURE if record.has(ConditionKind.HEART_FAILURE) else 0)


def _recent(bedside: Bedside, signal: Signal) -> Measurement | None:
    return bedside.record.series(signal).recent(bedside.as_of, _COUNTS_FOR)


def _measured(measured: Measurement | None, rows: Sequence[tuple[Cutoff, int]], name: str) -> _Row:
    if measured is None:
        return _Row(0, name)
    return _Row(points_of(rows, measured.value), origin=measured.origin)


def points_of(rows: Sequence[tuple[Cutoff, int]], value: Decimal) -> int:
    """Return the points of a row: of the first of its cut-offs that a value meets."""
    return next((points for cutoff, points in rows if cutoff.is_met_by(value)), 0)
