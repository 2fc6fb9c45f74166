"""Rounds of children and of women with an infection, for single signs of sepsis."""

from datetime import date, timedelta
from typing import Any

from tests.charts import NOW, PNEUMONIA, TOTALS, condition, findings, rounds
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

INFECTED = condition(ConditionKind.INFECTION, began=30, text="Pneumonia")
PREGNANT = condition(ConditionKind.PREGNANCY, began=24 * 200)
RR, HR, SBP, TEMP = Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.TEMPERATURE
#: What no table of any age of children minds.
QUIET: dict[Any, Any] = {RR: 20, HR: 90, SBP: 110}


def aged(years: int, *, days: int = 0) -> date:
    """Return a birthday of that many years and days before the review."""
    return date(NOW.year - years, NOW.month, NOW.day) - timedelta(days=days)


def risk_in(record: Record, **rest: Any) -> dict[str, Finding]:
    return findings(record, Kind.SEPSIS_RISK, **rest)


def of_total(
    total: int, *, hours: float = 1, conditions: tuple[Condition, ...] = (PNEUMONIA,), **rest: Any
) -> Record:
    """Return one round of a total, with pneumonia on record where nothing else is said."""
    return rounds((hours, TOTALS[total]), conditions=conditions, **rest)


def child_sign(changed: dict[Any, Any], born: date, **rest: Any) -> Finding:
    rest.setdefault("conditions", (INFECTED,))
    return risk_in(rounds((1, {**QUIET, **changed}), born=born, **rest))["sepsis-signs"]


def of_woman(changed: dict[Any, Any], conditions: tuple[Condition, ...] = (INFECTED,), **rest: Any) -> Record:
    quiet: dict[Any, Any] = {RR: 16, HR: 80, SBP: 115}
    return rounds((1, {**quiet, **changed}), conditions=(PREGNANT, *conditions), **rest)
