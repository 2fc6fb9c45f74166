"""Ask every question of one patient, or those that were asked for, and put the answers together."""

from collections.abc import Callable, Iterable
from datetime import datetime
from functools import lru_cache

from weatherglass.assessments.emergencies.crises import asked_once
from weatherglass.assessments.results.reported_flags import without_repeats
from weatherglass.assessments.telling.not_recorded_since import without_what_is_told
from weatherglass.facts.bedside import Bedside
from weatherglass.medicines.assess import antibacterials_objected_to
from weatherglass.model.findings import Finding
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.plain import replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Later
from weatherglass.model.review import Review
from weatherglass.review.question import Question
from weatherglass.review.questions import QUESTIONS
from weatherglass.review.selection import Selection
from weatherglass.review.synthesis import synthesise


def _said_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(asked_once(without_what_is_told(without_repeats(findings))))


@lru_cache(maxsize=64)
def _wanted(only: Selection) -> tuple[Question, ...]:
    return tuple(filter(only.wants, QUESTIONS))


def _go_on() -> None:
    """Nothing is in the way."""


def bedside_at(record: Record, as_of: datetime, choices: LocalChoices) -> Bedside:
    """Return the record as it stood at a moment, with the drug chart to judge its antibacterials."""
    return Bedside(record.until(as_of), as_of, choices, antibacterials_objected_to)


def assess(
    record: Record,
    as_of: datetime,
    choices: LocalChoices,
    only: Selection | None = None,
    *,
    between: Callable[[], None] = _go_on,
    ahead: Later | None = None,
) -> Review:
    """Review one patient as the record stood at a moment.

    Args:
        record: The whole record; what is later than `as_of` is not looked at.
        as_of: The moment of the review.
        choices: What the site has chosen.
        only: What was asked for; everything when None.
        between: Called before each question; may raise to end the review.
        ahead: What is dated a little later; a calm head names it.
    """
    bedside = bedside_at(record, as_of, choices)
    found: list[Finding] = []
    for each in QUESTIONS if only is None else _wanted(only):
        between()
        found.extend(each.ask(bedside))
    if only is None:
        return synthesise(bedside, _said_once(found), ahead=ahead)
    taken = _said_once(finding for finding in found if only.takes(finding))
    review = synthesise(bedside, taken, is_narrowed=True, ahead=ahead)
    return replace(review, cautions=(only.caution, *review.cautions))
