"""What does the Modified Early Warning Score of 2001 say, for sites that still use it?

Shown beside NEWS2, which it does not replace: it has no row for saturation, oxygen or
new confusion.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.score_findings import (
    UNKNOWN_AGE,
    not_applicable,
    recent_results,
    rounds_told,
    score_finding,
    why_not_adult,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.rounds.scoring import score_set
from weatherglass.knowledge.scores import score_choices as ours
from weatherglass.knowledge.scores.mews_2001 import MEWS
from weatherglass.model.findings import Finding


def assess_modified_early_warning(bedside: Bedside) -> Iterator[Finding]:
    """Score the newest round by MEWS where the site has chosen it, or say why not."""
    if MEWS.key not in bedside.choices.scores or not bedside.sets:
        return
    why = why_not_adult(bedside)
    if why is not None:
        yield not_applicable(MEWS, why, at=bedside.sets[-1].end, is_secondary=True)
        return
    usual = bedside.confusion_is_usual
    results = recent_results(
        bedside,
        bedside.sets,
        lambda one: score_set(MEWS, one, MEWS.parameters, confusion_is_usual=usual),
    )
    if not results:
        return
    for count, is_current in rounds_told(bedside, results):
        yield score_finding(
            bedside,
            MEWS,
            results[:count],
            cautions=() if bedside.age is not None else (UNKNOWN_AGE,),
            # What the score has no rows for is said by the catalogue and by NEWS2 beside it.
            sources=(ours.ADULT_FROM,),
            is_current=is_current,
            is_secondary=True,
        )
