"""What triggers are met in a record, and the short names that their tests share."""

from typing import Any

from tests.charts import bedside, chart
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.medicines.judging.situation import Situation, situation_of
from weatherglass.medicines.triggers.met import MetTrigger
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

S, T, R, K = Signal, Trigger, Circumstance, ConditionKind


def situation_in(record: Record) -> Situation:
    """Return the situation of a record."""
    return situation_of(bedside(record))


def met_in(trigger: Trigger, numbers: dict[Signal, Any], **rest: Any) -> MetTrigger | None:
    """Return a trigger that is met by these values, None where it is not."""
    return situation_in(chart(numbers, **rest)).met.get(trigger)
