"""Medicines that are dangerous together, or with what is the matter.

Named although each medicine may have a suggestion of its own: the danger is more than
the sum. A combination without a trigger is left out where one with a trigger names the
same orders.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS, Combination
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.rules.urgencies import URGENCY_SOURCE
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.telling.suggestions import measures_of
from weatherglass.medicines.telling.wording import each_once, name_of
from weatherglass.medicines.triggers.met import MetTrigger
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import InteractionFinding
from weatherglass.model.plain import Plain
from weatherglass.model.record.medicines import Route
from weatherglass.model.signals import Letter
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.lists import capital


class _Ready(Plain, frozen=True):
    combination: Combination
    groups: tuple[frozenset[str], ...]


_READY: Final = tuple(
    _Ready(each, tuple(frozenset(key.value for key in group) for group in each.groups))
    for each in COMBINATIONS
)


#: In last days of life sleep is expected, comfort medicines are the palliative team's, nothing is measured.
_NOT_IN_LAST_DAYS: Final = frozenset(
    {Trigger.REDUCED_CONSCIOUSNESS, Trigger.DROWSINESS, Trigger.AKI, Trigger.HYPERKALAEMIA}
)


_SWALLOWED: Final = frozenset({Route.ORAL, Route.UNKNOWN})


class _Found(Plain, frozen=True):
    combination: Combination
    lines: tuple[Line, ...]
    met: tuple[MetTrigger, ...]


def interactions(bedside: Bedside, situation: Situation) -> Iterator[InteractionFinding]:
    """Return every combination on the chart."""
    lines = [one for one in bedside.drug_chart.exposed if one.order not in bedside.left_at_home]
    swallowed = [line for line in lines if line.route in _SWALLOWED]
    on_chart = frozenset().union(*[line.classes for line in lines])
    sure = {trigger: met for trigger, met in situation.met.items() if not met.doubt}
    found = []
    for ready in _READY:
        for group in ready.groups:
            if on_chart.isdisjoint(group):
                break
        else:
            all_met = _all_met(ready.combination, sure, situation)
            of_these = swallowed if ready.combination.swallowed else lines
            taken = _lines(ready, of_these) if all_met is not None else ()
            if all_met is not None and taken:
                found.append(_Found(ready.combination, taken, all_met))
    last_days = Circumstance.LAST_DAYS in situation.applies
    for one in found:
        if last_days and not (one.combination.triggers or one.combination.any_trigger):
            continue  # Two that relieve are given together on purpose.
        if last_days and not _NOT_IN_LAST_DAYS.isdisjoint(one.combination.triggers):
            continue
        urgency = _urgency(one, situation)
        if _is_said_by_another(one, found) or _is_told_sooner(one, found, situation):
            continue
        yield _finding(bedside, one, urgency)


def _all_met(
    combination: Combination, sure: Mapping[Trigger, MetTrigger], situation: Situation
) -> tuple[MetTrigger, ...] | None:
    """Return the triggers that a combination asks for; None when one is missing."""
    if combination.circumstances and not any(each in situation.applies for each in combination.circumstances):
        return None
    if any(each in situation.applies for each in combination.answered_by):
        return None
    if not all(trigger in sure for trigger in combination.triggers):
        return None
    any_of = [trigger for trigger in combination.any_trigger if trigger in sure]
    if combination.any_trigger and not any_of:
        return None
    return tuple(sure[trigger] for trigger in (*combination.triggers, *any_of))


def _lines(ready: _Ready, lines: Sequence[Line]) -> tuple[Line, ...]:
    if ready.combination.in_one_order:
        return tuple(
            line for line in lines if not any(line.classes.isdisjoint(group) for group in ready.groups)
        )
    return tuple(line for line in lines if any(not line.classes.isdisjoint(group) for group in ready.groups))


def _is_said_by_another(one: _Found, found: Sequence[_Found]) -> bool:
    if one.met:
        return False
    orders = {line.order for line in one.lines}
    return any(other.met and orders <= {line.order for line in other.lines} for other in found)


def _is_told_sooner(one: _Found, found: Sequence[_Found], situation: Situation) -> bool:
    """Tell whether another combination says the same harm of the same orders, and asks as soon or sooner."""
    same = [
        each for each in found if each.combination.harm == one.combination.harm and each.lines == one.lines
    ]
    return max(same, key=lambda each: _urgency(each, situation)) is not one


def _urgency(one: _Found, situation: Situation) -> Urgency:
    calm = (*one.combination.calm_when, Circumstance.LAST_DAYS)
    asked = set(one.combination.urgent_with)
    if Circumstance.GLUCOSE_RECOVERED in situation.applies:
        asked.discard(Trigger.HYPOGLYCAEMIA)  # It was low, and is so no more.
    presses = not one.combination.urgent_with or any(met.trigger in asked for met in one.met)
    if one.combination.urgent and presses and not any(each in situation.applies for each in calm):
        return Urgency.URGENT
    if one.combination.urgent:
        return Urgency.PROMPT
    return Urgency.PROMPT if one.met else Urgency.ROUTINE


def _brief(one: _Found) -> str:
    """Name the medicines by their ingredients, what they meet, and what it comes to."""
    named = [" with ".join(line.medicine.ingredients) or line.medicine.text for line in one.lines]
    said = " + ".join(dict.fromkeys(named))
    met = " and ".join(str(met.trigger) for met in one.met)
    beside = f", with {met}" if met else " together" if len(one.lines) > 1 else ""
    return f"{capital(said)}{beside}: {one.combination.harm}"


def _finding(bedside: Bedside, one: _Found, urgency: Urgency) -> InteractionFinding:
    combination = one.combination
    names = each_once((line.medicine.ingredients, line.medicine.written, name_of(line)) for line in one.lines)
    because = f": {'; '.join(met.short for met in one.met)}" if one.met else ""
    # The last of the orders made the combination, or the trigger did.
    since = latest((earliest(met.since for met in one.met), *(line.since for line in one.lines)))
    return InteractionFinding(
        kind=Kind.MEDICINE_INTERACTION,
        key=combination.key,
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=f"{' + '.join(names)}{because}. {combination.sentence}",
        brief=_brief(one),
        **rests_on(
            bedside, since, *one.met, *(line.order for line in one.lines), measures=measures_of(one.met)
        ),
        sources=(*combination.sources, URGENCY_SOURCE),
        decided_by="a combination on the chart",
        orders=tuple(line.order for line in one.lines),
        medicines=tuple(line.medicine.text for line in one.lines),
        asks=combination.sentence,
    )
