"""Have platelets fallen on heparin: the 4Ts, with what a record cannot say left open.

Asked only where platelets are 30 % or more below their highest of a month and the fall began under
heparin.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import Told, band_words, brief_of, open_score
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.heparin_fall import four_ts, platelet_fall
from weatherglass.knowledge.scores import four_ts_2006 as score
from weatherglass.knowledge.scores.score_choices import ADULT_FROM
from weatherglass.model.findings import Finding, Letter, Urgency
from weatherglass.model.quantities import plain


def assess_heparin(bedside: Bedside) -> Iterator[Finding]:
    """Score a fall of platelets on heparin."""
    if bedside.age is not None and bedside.age < ADULT_FROM.years:
        return
    fall = platelet_fall(bedside)
    if fall is None:
        return
    found = four_ts(bedside, fall)
    urgency, asks = Urgency.ROUTINE, ""
    if found.lowest >= score.NOT_LOW:
        urgency, asks = Urgency.URGENT, score.ASKS.text
    elif found.lowest == score.NOT_LOW - 1 and found.highest >= score.NOT_LOW:
        urgency, asks = Urgency.PROMPT, score.TO_BE_COMPLETED.text
    least = {Urgency.URGENT: score.NOT_LOW, Urgency.PROMPT: score.NOT_LOW - 1}.get(urgency)
    platelets = f"platelets {plain(fall.newest.value)} on {fall.heparin.name}"
    yield open_score(
        bedside,
        found,
        Told(
            name=score.NAME,
            edition=score.PUBLIC_KEY,
            remark=f"{band_words(score.BANDS, found)}, {platelets}",
            brief=brief_of(score.NAME, found, f"{band_words(score.BANDS, found)}, {platelets}"),
            asks=asks,
            urgency=urgency,
            letter=Letter.CIRCULATION,
            since=found.reached_since(least) if least is not None else None,
            decided_by=f"4Ts of {least} or more" if least is not None else "",
            sources=(
                *dict.fromkeys(row.source for row in score.ROWS),
                *(band.source for band in score.BANDS),
                score.BEFORE.source,
                score.DAY_4.source,
                *((score.ASKS.source,) if urgency is Urgency.URGENT else ()),
                *((score.TO_BE_COMPLETED.source,) if urgency is Urgency.PROMPT else ()),
            ),
            evidence=(fall.heparin.origin, fall.newest.origin),
        ),
    )
