"""Have platelets fallen on heparin: the 4Ts, with what a record cannot say left open.

Asked only where platelets are 30 % or more below their highest of a month and the fall began under
heparin.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import (
    Asked,
    Interpretation,
    asked_from,
    band_words,
    open_score,
)
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.heparin_fall import four_ts, platelet_fall
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.knowledge.scores import four_ts_2006 as score
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.signals import Letter


def assess_heparin(bedside: Bedside) -> Iterator[Finding]:
    """Score a fall of platelets on heparin."""
    if bedside.is_child:
        return
    fall = platelet_fall(bedside)
    if fall is None:
        return
    found = four_ts(bedside, fall)
    asked = _asked(found)
    yield open_score(
        bedside,
        found,
        Interpretation(
            name=score.NAME,
            edition=score.PUBLIC_KEY,
            remark=f"{band_words(score.BANDS, found)}, on {fall.heparin.name}",
            asked=asked,
            letter=Letter.CIRCULATION,
            sources=(
                *score.ROWS,
                *score.BANDS,
                score.BEFORE,
                score.DAY_4,
                *((score.ASKS,) if asked.urgency is Urgency.URGENT else ()),
                *((score.TO_BE_COMPLETED,) if asked.urgency is Urgency.PROMPT else ()),
            ),
            evidence=(fall.heparin.origin, fall.newest.origin),
        ),
    )


def _asked(found: OpenTotal) -> Asked:
    """Ask from the score on, and one point below it where what is open could reach it."""
    least = score.NOT_LOW
    if found.lowest == least - 1 and found.highest >= least:
        rule = f"4Ts of {least - 1} or more"
        return asked_from(found, least - 1, Urgency.PROMPT, score.TO_BE_COMPLETED.text, rule=rule)
    return asked_from(found, least, Urgency.URGENT, score.ASKS.text, rule=f"4Ts of {least} or more")
