"""What the tests of whole answers are built of: what a record says, and what is found in it."""

from typing import Any

from tests.records import Json, answer_of, earlier, patient, problem
from weatherglass.model.findings import Finding
from weatherglass.model.review import Review
from weatherglass.model.signals import CodedSignal

MIND = CodedSignal.CONSCIOUSNESS
YEAR = 365.25


def known_since(words: str, back: str, **rest: Any) -> Json:
    """Return a problem that began, and was written down, so long before."""
    return problem(words, recordedDate=earlier(back), onsetDateTime=earlier(back), **rest)


def reviewed(*resources: Json, born: str = "1960-01-01", gender: str = "female") -> Review:
    """Return the review of one person."""
    (one,) = answer_of(patient(born, gender=gender), *resources).reviews
    return one


def found_in(*resources: Json, born: str = "1960-01-01", gender: str = "female") -> dict[str, Finding]:
    """Return what is found, the most urgent of each key."""
    review = reviewed(*resources, born=born, gender=gender)
    return {each.key: each for each in sorted(review.findings, key=lambda each: each.urgency)}
