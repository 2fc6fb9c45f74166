"""How severe is a recorded pneumonia: CURB-65, with its missing parts open.

Asked only of adults with pneumonia, or a query of it, on record. It stands beside the score that was
chosen for the patient.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import Interpretation, asked_from, band_words, open_score
from weatherglass.assessments.telling.score_findings import why_not_adult
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.curb_65 import began_in_hospital, curb_65, pneumonia_on_record
from weatherglass.knowledge.scores import curb_65_2003 as score
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.signals import Letter


def assess_pneumonia(bedside: Bedside) -> Iterator[Finding]:
    """Score a recorded pneumonia."""
    said = pneumonia_on_record(bedside)
    if not said or began_in_hospital(bedside) or why_not_adult(bedside) is not None:
        return
    found = curb_65(bedside)
    rule = f"CURB-65 of {score.SEVERE} or more"
    asked = asked_from(found, score.SEVERE, Urgency.PROMPT, score.ASKS.text, rule=rule)
    yield open_score(
        bedside,
        found,
        Interpretation(
            name=score.NAME,
            edition=score.PUBLIC_KEY,
            remark=band_words(score.BANDS, found),
            asked=asked,
            letter=Letter.BREATHING,
            cautions=(score.OUTSIDE_HOSPITAL.text,),
            sources=(
                *score.ROWS,
                score.BANDS[0],
                score.COUNTS_FOR,
                score.CONFUSED,
                *((score.ASKS,) if asked.rule else ()),
            ),
            evidence=said,
        ),
    )
