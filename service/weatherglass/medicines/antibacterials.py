"""What the rules of the drug chart have against an antibacterial, for whoever would ask to give it.

A hold counts, and a review of what a new order would be advised against, whose reason asks for another
antibacterial. A level before the next dose, or a lower dose, leaves the question whether it was given.
"""

from collections.abc import Mapping, Sequence

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.antimicrobial import Objection
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.medicines.judging.judgement import Judged, judge
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.model.sources import Origin


def antibacterials_objected_to(bedside: Bedside) -> Mapping[Origin, Objection]:
    """Return what is objected to among the antibacterials that no allergy and no pair forbids, by order."""
    infection = bedside.infection
    asked = {one.origin for one in infection.antibacterials} if infection is not None else set()
    lines = [line for line in bedside.drug_chart.lines if line.order in asked]
    if not lines:
        return {}
    situation = situation_of(bedside)
    judged = ((line.order, objection_to(judge(bedside, line, situation))) for line in lines)
    return {order: objection for order, objection in judged if objection is not None}


def objection_to(judged: Sequence[Judged]) -> Objection | None:
    """Return what the rules that speak of one antibacterial have against it; None where nothing is."""
    held = [one for one in judged if ACTIONS[one.action].withholds]
    against = held or [one for one in judged if _is_better_avoided(one)]
    because = " and ".join(dict.fromkeys(one.met.short for one in against))
    return Objection(because, bool(held)) if against else None


def _is_better_avoided(one: Judged) -> bool:
    return one.action is Action.REVIEW and Action.AVOID in one.rule.also and not one.met.doubt
