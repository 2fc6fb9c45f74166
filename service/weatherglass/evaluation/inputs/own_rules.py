"""What is evaluated: versions of the software and its rules, names and thresholds of the scores."""

from collections.abc import Mapping
from dataclasses import dataclass

from weatherglass.review.catalogue import rule_sets, score_definitions
from weatherglass.stamp import stamp


@dataclass(frozen=True, slots=True)
class OwnRules:
    """The rules in use.

    Attributes:
        software: Version of the software.
        rules: Version of each rule set.
        names: What each score is called.
        published: Totals at which the publication of a score asks for a response.
    """

    software: str
    rules: Mapping[str, str]
    names: Mapping[str, str]
    published: Mapping[str, tuple[int, ...]]


def own_rules() -> OwnRules:
    """Return the rules of this program."""
    names = {one.key: one.name for one in score_definitions()}
    return OwnRules(stamp().software, rule_sets(), names, _published())


def _published() -> dict[str, tuple[int, ...]]:
    found: dict[str, set[int]] = {}
    for one in score_definitions():
        totals = {tier.at_least for tier in one.thresholds if tier.at_least and tier.urgency != "routine"}
        found.setdefault(one.key, set()).update(totals)
    return {key: tuple(sorted(totals)) for key, totals in found.items()}
