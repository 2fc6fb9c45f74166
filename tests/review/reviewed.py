"""One review of one invented person, for the tests of what it comes to."""

from datetime import datetime
from typing import Any

from tests.records import answer_of, patient
from weatherglass.model.review import Review

#: A plan that limits treatment to the ward.
CEILING = {
    "resourceType": "CarePlan",
    "id": "plan",
    "status": "active",
    "intent": "plan",
    "subject": {"reference": "Patient/p"},
    "title": "Treatment escalation plan",
    "description": "Ward-level care; not for intensive care",
    "created": "2026-02-27T09:00:00+04:00",
}


def review_of(*resources: dict[str, Any], as_of: datetime | None = None, born: str = "1950-06-01") -> Review:
    """Return the review of a person of this birth date with these resources."""
    named = patient(born=born, name=[{"text": "Ottilie Marsh"}])
    (one,) = answer_of(named, *resources, as_of=as_of).reviews
    return one
