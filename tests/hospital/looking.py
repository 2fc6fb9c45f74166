"""What a review of our own says of a record as it stood at a moment of the day, whoever delivered what."""

import json
from datetime import datetime

from tests.hospital.day import Day
from tests.hospital.network import Json
from weatherglass.model.review import Review
from weatherglass.pipeline import review


def record_at(day: Day, patient: str, seconds: float) -> list[Json]:
    """Return what was charted about a patient up to a moment of the machine, the newest version of each."""
    held: dict[tuple[str, str], Json] = {}
    for one in day.charted:
        if one.seconds <= seconds:
            resource = one.event.resource
            key = resource["resourceType"], resource["id"]
            held.pop(key, None)
            if one.event.patient == patient or resource["resourceType"] == "Location":
                held[key] = resource
    return list(held.values())


def review_at(day: Day, patient: str, seconds: float, moment: datetime) -> Review | None:
    """Review that record; None when nothing is left to review."""
    entries = [{"resource": one} for one in record_at(day, patient, seconds)]
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": entries}
    reviews = review(json.dumps(bundle).encode(), as_of=moment).reviews
    return reviews[0] if reviews else None
