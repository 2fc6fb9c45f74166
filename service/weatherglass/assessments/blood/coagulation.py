"""Does coagulation fail all over: the ISTH score of overt DIC, with its missing parts open.

Asked only beside platelets that have become low, or a low fibrinogen, in an adult with a disorder that
brings it.
"""

from collections.abc import Iterator

from weatherglass.assessments.telling.open_scores import Interpretation, asked_from, band_words, open_score
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.coagulation import dic_disorder, is_dic_asked, overt_dic
from weatherglass.knowledge.limits.context_choices import ANTICOAGULANTS
from weatherglass.knowledge.scores import isth_dic_2001 as score
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.signals import Letter
from weatherglass.model.words.lists import inside_a_sentence

_OPEN = "overt DIC is not excluded"


def assess_coagulation(bedside: Bedside) -> Iterator[Finding]:
    """Score coagulation where there is a reason to."""
    disorder = dic_disorder(bedside)
    if disorder is None or not is_dic_asked(bedside):
        return
    words, origins = disorder
    found = overt_dic(bedside)
    rule = f"{score.NAME} of {score.OVERT} or more"
    asked = asked_from(found, score.OVERT, Urgency.URGENT, score.ASKS.text, rule=rule, open_words=_OPEN)
    yield open_score(
        bedside,
        found,
        Interpretation(
            name=score.NAME,
            edition=score.PUBLIC_KEY,
            remark=f"{band_words(score.BANDS, found)}, with {inside_a_sentence(words)}",
            in_brief=band_words(score.BANDS, found),
            asked=asked,
            letter=Letter.CIRCULATION,
            cautions=tuple(_cautions(bedside)),
            sources=(
                *score.ROWS,
                score.BANDS[0],
                score.WITH_A_DISORDER,
                score.ASKED_PLATELETS,
                score.COUNTS_FOR,
                score.INR_IS_SHORT,
                *((score.ASKS,) if asked.rule else ()),
            ),
            evidence=origins,
        ),
    )


def _cautions(bedside: Bedside) -> Iterator[str]:
    yield score.WITH_A_DISORDER.text
    if bedside.on_chart(ANTICOAGULANTS):
        yield score.ANTICOAGULANT.text
