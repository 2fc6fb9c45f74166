"""Single signs of a record, and what several of their tests share."""

from datetime import date
from typing import Any

from tests.charts import ago, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Origin

RR, SPO2, HR, TEMP = Signal.RESPIRATION_RATE, Signal.SPO2, Signal.PULSE, Signal.TEMPERATURE
SBP, MAP = Signal.SYSTOLIC_PRESSURE, Signal.MEAN_PRESSURE
OXYGEN, ANSWER = CodedSignal.OXYGEN_DELIVERY, CodedSignal.CONSCIOUSNESS
E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
CHILD, ADULT = date(2019, 1, 1), date(1950, 6, 1)


def signs_in(record: Record, **rest: Any) -> dict[str, Finding]:
    """Return the single signs that call, by key."""
    return findings(record, Kind.SINGLE_SIGN, **rest)


def urgency_of(record: Record, key: str, **rest: Any) -> Urgency | None:
    """Return how urgent one of them is, None where it does not call."""
    found = signs_in(record, **rest).get(key)
    return found.urgency if found is not None else None


def directive(kind: DirectiveKind, **rest: Any) -> Directive:
    """Return a decision of four days ago."""
    return Directive(origin=Origin(f"Observation/{kind.value}-{rest}"), kind=kind, at=ago(100), **rest)
