"""Was hydrocortisone given for a crisis of the adrenals? What is done is not asked for again."""

from datetime import datetime
from decimal import Decimal
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.knowledge.metabolic import metabolic as criteria
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.record.medicines import PARENTERAL, Administration, Route

_WORDS: Final = word_patterns("chart-patterns.toml")
_MILLIGRAMS: Final = _WORDS["milligrams"]


def hydrocortisone_given(bedside: Bedside, since: datetime) -> Administration | None:
    """Return the newest dose for a crisis since a sign of it, of the last hours; None without one."""
    earliest = max(since, bedside.as_of - criteria.HYDROCORTISONE_COUNTS_FOR.length)
    doses = [
        dose
        for dose in bedside.record.administrations
        if earliest <= dose.at <= bedside.as_of and "hydrocortisone" in dose.medicine.ingredients
    ]
    return max(filter(_is_for_a_crisis, doses), key=lambda dose: dose.at, default=None)


def _is_for_a_crisis(dose: Administration) -> bool:
    """Tell whether it went by needle; without a route, whether it is more than is taken on most days."""
    if dose.route is not Route.UNKNOWN:
        return dose.route in PARENTERAL
    written = _MILLIGRAMS.search(f"{dose.dose_text} {dose.medicine.text}".casefold())
    return written is not None and Decimal(written[1]) >= criteria.HYDROCORTISONE_DOSE.value
