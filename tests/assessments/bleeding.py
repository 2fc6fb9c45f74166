"""Possible bleeding in a record, and what several of its tests share."""

from typing import Any

from tests.charts import condition, findings, order
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
HB = Signal.HAEMOGLOBIN
APIXABAN = order("Apixaban", "factor-xa-inhibitor")
MELAENA = condition(ConditionKind.MELAENA, began=10)


def bleeding_in(record: Record) -> Finding | None:
    """Return the possible bleeding of a record, None where nothing says so."""
    return findings(record, Kind.POSSIBLE_BLEEDING).get("possible-bleeding")


def vitals(pulse: int, systolic: int, hours: float = 1) -> dict[Signal, Any]:
    """Return a pulse and a pressure of some hours ago."""
    return {Signal.PULSE: [(hours, pulse)], Signal.SYSTOLIC_PRESSURE: [(hours, systolic)]}


FALL: dict[Signal, Any] = {HB: [(24, "128"), (1, "106")]}
