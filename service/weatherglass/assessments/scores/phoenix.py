"""Do organs fail in a child with suspected infection: the Phoenix score, where a site wants it."""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import Interpretation, asked_from, open_score
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.facts.results.phoenix import phoenix
from weatherglass.knowledge.scores import phoenix_2024 as score
from weatherglass.model.findings import Finding, Urgency

_CIRCULATION = ("vasoactives", "lactate", "mean-pressure")


def assess_phoenix(bedside: Bedside) -> Iterator[Finding]:
    """Score a child with suspected infection, from one point on."""
    months = bedside.age_in_months
    is_child = months is not None and bedside.is_below(score.UNDER)
    if score.KEY not in bedside.choices.scores or bedside.infection is None or not is_child or months is None:
        return
    found = phoenix(bedside, months)
    if not found.lowest:
        return
    rule = "two points of Phoenix with infection"
    yield open_score(
        bedside,
        found,
        Interpretation(
            name=score.NAME,
            edition=score.PUBLIC_KEY,
            remark=_remark(found),
            asked=asked_from(found, score.LEAST, Urgency.URGENT, score.URGENT.text, rule=rule),
            sources=(*score.ROWS, score.SEPSIS, score.SHOCK, score.COUNTS_FOR, score.ALERT, score.URGENT),
            evidence=bedside.infection.origins,
        ),
    )


def _remark(found: OpenTotal) -> str:
    if found.lowest < score.LEAST:
        return ", with infection"
    in_shock = any(one.lowest for one in found.parts if one.part in _CIRCULATION)
    return f", with infection: {'septic shock' if in_shock else 'sepsis'} by Phoenix"
