"""What is said of one line of the chart on a ward round."""

from datetime import datetime, timedelta
from typing import Any

from tests.medicines.wards import order, problem, reviewed, suggestions
from tests.records import AT, Json, earlier, full_set
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.medicine_findings import MedicineFinding

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT
NOW = datetime.fromisoformat(AT)


def said_of(*resources: Json, text: str, dose: str = "", **rest: Any) -> MedicineFinding | None:
    """Return what is suggested of one medicine beside an ordinary round."""
    dosage = {"dosageInstruction": [{"text": dose}]} if dose else {}
    answer = reviewed(*full_set(), *resources, {**order(text), "id": "o", **dosage, **rest})
    return suggestions(answer).get("o")


def findings_of(*resources: Json, key: str) -> list[Finding]:
    """Return the findings of a key beside an ordinary round."""
    (review,) = reviewed(*full_set(), *resources).reviews
    return [f for f in review.findings if f.key == key]


def broken_hip(since: str | None = None, text: str = "Fractured neck of femur") -> Json:
    """Return a broken hip."""
    return problem(text, since=since or earlier("5 h"))


def ended_order(text: str, days: float, *, lasted: float = 100, **rest: Any) -> Json:
    """Return an order that ended some days ago, after it had lasted for others."""
    ends = (NOW - timedelta(days=days)).isoformat()
    began = (NOW - timedelta(days=days + lasted)).isoformat()
    bounds = {"validityPeriod": {"start": began, "end": ends}}
    return {
        **order(text),
        "id": "gone",
        "status": "stopped",
        "authoredOn": began,
        "dispenseRequest": bounds,
        **rest,
    }
