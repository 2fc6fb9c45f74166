"""Rows of a ward list, made by hand."""

from typing import Any

from weatherglass.batch.ward.ward_row import Mark, WardRow

RANKS = {"routine": 0, "prompt": 1, "urgent": 2, "emergency": 3}


def row(urgency: str, *marks: tuple[str, str, str, str], patient: str = "Patient/a", **more: Any) -> WardRow:
    """A row of the ward list; its rank follows from the word."""
    given = {"rank": RANKS.get(urgency, 0), **more}
    return WardRow(patient=patient, urgency=urgency, marks=[Mark(*mark) for mark in marks], **given)


def high(urgency: str, words: str = "Potassium 6.2") -> tuple[str, str, str, str]:
    return "critical-result", "potassium-high", urgency, words
