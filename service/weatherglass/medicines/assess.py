"""What on the drug chart needs a second look: to hold, reduce, check, keep on, or bring back?

One suggestion a line with all its reasons; the combinations of the chart; a question about
each medicine on hold; and every medicine that nobody could recognise, by name. A medicine
that is recognised and that no rule speaks of yields nothing.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.antimicrobial import Objection
from weatherglass.facts.medicines.allergy_check import Strength
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.knowledge.medicines.ingredient_tables.abbreviations import may_be
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.interactions import interactions
from weatherglass.medicines.judging.judgement import Judged, judge
from weatherglass.medicines.judging.situation import Situation, is_replaced_by_infusion, situation_of
from weatherglass.medicines.orders.recovery import recovered
from weatherglass.medicines.orders.restarts import restarts
from weatherglass.medicines.pairs import Partners, pairs
from weatherglass.medicines.telling.one_decision import NOT_RECOGNISED
from weatherglass.medicines.telling.suggestions import dose_of, suggest
from weatherglass.medicines.telling.wording import name_of
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.plain import Plain, replace
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin, our_choice

_NOT_REVIEWED: Final = our_choice("what cannot be recognised is named, and never passed over in silence")


#: Ours: a combination that suggested holds would end is named behind them, a routine one not at all.
_WITHHELD: Final = frozenset(key for key, action in ACTIONS.items() if action.withholds)

#: What is dangerous with the illness and not beside another: to hold both antiplatelets settles no stent.
_OF_ONE: Final = frozenset(one.key for one in COMBINATIONS if len(one.groups) == 1)
_SAID_BY_HOLDS: Final = frozenset(one.key for one in COMBINATIONS if one.said_by_holds)


class _Against(Plain, frozen=True):
    """The orders that a pair speaks against: all of them, and those for which it asks for another today."""

    any: AbstractSet[Origin]
    displaced: AbstractSet[Origin]


def assess_medicines(bedside: Bedside) -> Iterator[Finding]:
    """Review the drug chart."""
    chart = bedside.drug_chart
    if not (chart.lines or chart.ended):
        return
    situation = situation_of(bedside)
    together = list(interactions(bedside, situation))
    paired = pairs(bedside, situation, together)
    spoken = _Against(
        frozenset(order for one in paired for order in one.against),
        frozenset(order for one in paired if _asks_for_another(one) for order in one.against),
    )
    yield from _without_a_name(chart.lines)
    told = [one for line in chart.lines if (one := _of_line(bedside, line, situation, spoken)) is not None]
    yield from told
    held = {one.order: one.urgency for one in told if one.action in _WITHHELD}
    for both in (*_without_repeats(together, paired), *paired):
        settled = _is_settled(both, held)
        is_said = both.key in _SAID_BY_HOLDS and not _left(both, held)
        if not is_said and (both.urgency is not Urgency.ROUTINE or not settled):
            yield replace(both, settled=True) if settled else both
    yield from restarts(bedside, situation, recovered(bedside, situation), Partners(bedside, situation))


def _is_settled(both: InteractionFinding, held: Mapping[Origin, Urgency]) -> bool:
    """Tell whether holds that are suggested, as soon as it presses, leave no two of what is together."""
    left = _left(both, held)
    is_one_side_held = any(left.isdisjoint(side) for side in both.sides)
    return both.key not in _OF_ONE and (is_one_side_held or len(left) < 2) and len(set(both.orders)) > 1


def _left(both: InteractionFinding, held: Mapping[Origin, Urgency]) -> set[Origin]:
    """Return the orders that no hold is suggested of, or none as soon as they press together."""
    return {one for one in both.orders if one not in held or held[one] < both.urgency}


def _of_line(bedside: Bedside, line: Line, situation: Situation, against: _Against) -> MedicineFinding | None:
    """Return the suggestion about one line, or that nobody knows what it is; None where neither is so."""
    if line.medicine.is_unnamed:
        return None
    if line.standing is not Standing.ON_HOLD:
        judged = _without_a_push(bedside, line, judge(bedside, line, situation), against)
        if judged:
            return suggest(bedside, line, judged, situation)
    return None if line.is_recognised else _not_reviewed(line)


def _asks_for_another(pair: InteractionFinding) -> bool:
    """Tell whether an urgent pair says which of its medicines is not for now."""
    return pair.urgency >= Urgency.URGENT and 0 < len(pair.against) < len(pair.orders)


def _without_repeats(
    together: Iterable[InteractionFinding], paired: Sequence[InteractionFinding]
) -> Iterator[InteractionFinding]:
    """Return the combinations, without those of medicines alone that a pair names with its harm."""
    named = [frozenset(one.orders) for one in paired]
    for finding in together:
        if finding.measures or not any(set(finding.orders) <= orders for orders in named):
            yield finding


def _without_a_push(
    bedside: Bedside, line: Line, judged: Sequence[Judged], against: _Against
) -> Sequence[Judged]:
    """Return what rules say of a line, without what supposes that it goes on where that is in question."""
    if line.not_taken is not None:  # Its next dose may be the first: nothing supposes that it acts.
        judged = [one for one in judged if _is_of_the_order(one)]
    if line.order in against.displaced:  # A lower dose would contradict that another is asked for.
        judged = [one for one in judged if ACTIONS[one.action].withholds]
    is_in_question = (
        line.order in against.any
        or is_replaced_by_infusion(bedside, line)
        or any(
            ACTIONS[one.action].withholds or one.rule.trigger is Trigger.RECORDED_PROBLEM for one in judged
        )
    )
    if is_in_question:
        judged = [one for one in judged if one.action is not Action.CONTINUE]
    if any(one.rule.until_given for one in judged) and objection_to(judged) is not None:
        judged = [one for one in judged if not one.rule.until_given]
    met = bedside.allergies_met.get(line.order)
    if met is None or met.strength is Strength.NOTE:
        return judged
    if met.strength is Strength.AVOID:
        return [one for one in judged if ACTIONS[one.action].withholds]
    return [one for one in judged if one.action is not Action.CONTINUE]


_OF_THE_ORDER: Final = frozenset({Trigger.NOT_TAKEN, Trigger.NOT_TO_BE_GIVEN, Trigger.WRITTEN_DOSE})


def _is_of_the_order(one: Judged) -> bool:
    """Tell whether a rule speaks of an order that stands, whether or not a dose of it was ever taken."""
    return ACTIONS[one.action].withholds or one.rule.trigger in _OF_THE_ORDER


def _without_a_name(lines: Sequence[Line]) -> Iterator[MedicineFinding]:
    """Say how many orders have no name, in one finding; a draft is spoken of at its signing."""
    found = [line for line in lines if line.medicine.is_unnamed and line.standing is not Standing.DRAFT]
    if not found:
        return
    one = len(found) == 1
    count = "1 order" if one else f"{len(found)} orders"
    yield MedicineFinding(
        kind=Kind.MEDICINE_NOT_REVIEWED,
        key="not-named",
        letter=Letter.EXPOSURE,
        urgency=Urgency.ROUTINE,
        sentence=f"{count} on the drug chart could not be named, so {'it was' if one else 'they were'} not "
        f"reviewed: look {'it' if one else 'them'} up in the chart itself.",
        brief=f"{count} could not be named",
        at=None,
        evidence=tuple(line.order for line in found),
        sources=(_NOT_REVIEWED,),
        decided_by="not named",
        order=found[0].order,
        medicine=f"{count} without a name",
        action=Action.NOT_REVIEWED,
    )


def _not_reviewed(line: Line) -> MedicineFinding:
    held = " It is on hold." if line.standing is Standing.ON_HOLD else ""
    either = may_be(line.medicine.text)
    meant = f" It may be {either}." if either and not line.classes else ""
    said, asks = (
        (": only what holds for its whole class was looked at", "find out which it is.")
        if line.classes
        else (" was not recognised, so it was not reviewed", "find out what it is.")
    )
    return MedicineFinding(
        kind=Kind.MEDICINE_NOT_REVIEWED,
        key="not-recognised-as-written" if line.classes or meant or held else NOT_RECOGNISED,
        letter=Letter.EXPOSURE,
        urgency=Urgency.ROUTINE,
        sentence=f"{name_of(line)}{said}{';' if line.classes else ':'} {asks}{meant}{held}",
        brief=f"{name_of(line)}{said}",
        at=line.last_dose.at if line.last_dose is not None else None,
        evidence=(line.order,),
        sources=(_NOT_REVIEWED,),
        decided_by="not recognised",
        order=line.order,
        medicine=line.medicine.text,
        action=Action.NOT_REVIEWED,
        dose_text=dose_of(line),
        as_needed=line.charted is not None and line.charted.as_needed,
        already_on_hold=line.standing is Standing.ON_HOLD,
    )


# Antibacterials that somebody would ask to give


def antibacterials_objected_to(bedside: Bedside) -> Mapping[Origin, Objection]:
    """Return what is objected to among the antibacterials that nothing forbids outright, by order.

    A pair that is urgent today objects as a rule does.
    """
    infection = bedside.infection
    asked = (*infection.antibacterials, *infection.to_be_decided) if infection is not None else ()
    origins = {one.origin for one in asked}
    lines = [line for line in bedside.drug_chart.lines if line.order in origins]
    if not lines:
        return {}
    situation = situation_of(bedside)
    judged = ((line.order, objection_to(judge(bedside, line, situation))) for line in lines)
    found = {order: objection for order, objection in judged if objection is not None}
    for pair in pairs(bedside, situation, ()):
        if _asks_for_another(pair):
            beside = [
                name
                for order, name in zip(pair.orders, pair.medicines, strict=True)
                if order not in pair.against
            ]
            for order in origins.intersection(pair.against) - found.keys():
                found[order] = Objection(f"{' and '.join(beside)} on the chart", is_held=False)
    return found


def objection_to(judged: Sequence[Judged]) -> Objection | None:
    """Return what the rules that speak of one antibacterial have against it; None where nothing is.

    A hold counts, and a review of what a new order would be advised against, whose reason asks for another
    antibacterial. A level before the next dose, or a lower dose, leaves the question whether it was given.
    """
    held = [one for one in judged if ACTIONS[one.action].withholds]
    against = held or [one for one in judged if _is_better_avoided(one)]
    because = " and ".join(dict.fromkeys(one.met.short for one in against))
    by_level = any(one.rule.trigger is Trigger.LEVEL_HIGH for one in held)
    return Objection(because, bool(held), by_level) if against else None


def _is_better_avoided(one: Judged) -> bool:
    return one.action is Action.REVIEW and Action.AVOID in one.rule.also and not one.met.doubt
