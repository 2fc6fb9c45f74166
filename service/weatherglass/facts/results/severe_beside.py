"""What other scores say of an infection that NEWS2 alone calls mild, so that no two sentences disagree."""

from collections.abc import Iterator

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.sepsis_spells import called_sepsis
from weatherglass.facts.results.coagulation import is_dic_asked, overt_dic
from weatherglass.facts.results.curb_65 import curb_65, pneumonia_on_record
from weatherglass.facts.results.organ_failure import organ_failure
from weatherglass.knowledge.scores import curb_65_2003, isth_dic_2001
from weatherglass.knowledge.scores import organ_failure as sofa


def severe_beside(bedside: Bedside) -> Iterator[str]:
    """Yield what is severe by another score or by its name; of adults, in whom these scores are asked."""
    named = called_sepsis(bedside)
    if named is not None:
        yield f"{named.text} is recorded ({bedside.clock.full(named.at)})" if named.at else named.text
    if pneumonia_on_record(bedside) and curb_65(bedside).lowest >= curb_65_2003.SEVERE:
        yield "the pneumonia is severe by CURB-65"
    if sofa.SOFA in bedside.choices.scores:
        found = organ_failure(bedside, sofa.SOFA)
        if found.gained_now >= sofa.CHANGE and found.reached_since(sofa.CHANGE) is not None:
            yield "organs fail by SOFA"
    if is_dic_asked(bedside) and overt_dic(bedside).lowest >= isth_dic_2001.OVERT:
        yield "coagulation fails by the ISTH score"
