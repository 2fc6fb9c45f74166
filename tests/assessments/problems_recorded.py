"""Problems that are emergencies by their name, on record beside calm numbers."""

from typing import Any

from tests.charts import condition, findings, rounds
from tests.records import bundle, full_set, text
from weatherglass.knowledge.emergencies.acute_problems import ACUTE_PROBLEMS
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.pipeline import review

CALM = {CodedSignal.CONSCIOUSNESS: Consciousness.ALERT, Signal.PULSE: "72"}
#: Half an hour before the round of `full_set`.
SOON = "2026-03-01T09:30:00+04:00"
OF_P = {"subject": {"reference": "Patient/p"}}
KEYS = frozenset(f"{row.key}-recorded" for row in ACUTE_PROBLEMS)


def calm(*conditions: Condition, **rest: Any) -> Record:
    return rounds((0.5, CALM), conditions=conditions, **rest)


def told_in(record: Record) -> dict[str, Finding]:
    return {key: f for key, f in findings(record, Kind.SINGLE_SIGN).items() if key in KEYS}


def by_name(kind: ConditionKind, hours: float | None, **rest: Any) -> Condition:
    return condition(kind, text=kind.value, began=hours, **rest)


def reviewed(*resources: Any) -> Review:
    (one,) = review(text(bundle(*full_set(), *resources))).reviews
    return one
