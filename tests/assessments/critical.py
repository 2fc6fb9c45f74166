"""Critical results of a record, and what several of their tests share."""

from tests.charts import condition, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
DIABETES = condition(ConditionKind.DIABETES_TYPE_2)


def critical(record: Record, choices: LocalChoices | None = None) -> dict[str, Finding]:
    """Return the critical results, by key."""
    return findings(record, Kind.CRITICAL_RESULT, choices=choices)
