"""Which rules speak of a line of the chart, and what each suggests in the present situation.

The rules are laid out by trigger and class once, when this module is loaded; a line looks
up its own classes and never goes through the rules one by one.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Final, NamedTuple

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.chart import Line, Standing
from weatherglass.clinical.criteria.medicine_rules import triggers
from weatherglass.clinical.criteria.medicine_rules.do_not_stop import DO_NOT_STOP, DoNotStop
from weatherglass.clinical.criteria.medicine_rules.potassium_and_sodium import NOT_TO_BE_STARTED
from weatherglass.clinical.criteria.medicine_rules.rule import (
    PRECEDENCE,
    Action,
    MedicineRule,
    RuleCondition,
    Step,
    Trigger,
)
from weatherglass.clinical.criteria.medicine_rules.rules import RULES_BY_TRIGGER
from weatherglass.clinical.drug_chart.hits import Hit, Met, hit_of, met
from weatherglass.clinical.drug_chart.level_triggers import level_hits
from weatherglass.clinical.drug_chart.result_triggers import deciding_potassium
from weatherglass.clinical.drug_chart.situation import Holding, Situation
from weatherglass.clinical.record import Route
from weatherglass.clinical.references import Origin

RANK: Final[Mapping[Action, int]] = {action: rank for rank, action in enumerate(PRECEDENCE)}


class Judged(NamedTuple):
    """One rule that speaks of one line.

    Attributes:
        action: What it comes to, in this situation and for this line.
        would_be: What it would come to for an order in use; for one not signed or ended it differs.
        decided_by: The circumstances that made it stronger or milder than the rule's own action.
        if_confirmed: What it would come to if a doubtful trigger were true; None without doubt.
        since: When this suggestion began to hold.
        origins: What the circumstances rest on.
    """

    rule: MedicineRule
    hit: Hit
    action: Action
    would_be: Action
    decided_by: tuple[RuleCondition, ...]
    if_confirmed: Action | None
    since: datetime | None
    origins: tuple[Origin, ...]


class _Indexed(NamedTuple):
    rule: MedicineRule
    but_not: frozenset[str]


def _index() -> dict[Trigger, dict[str, tuple[_Indexed, ...]]]:
    """Lay the rules out by trigger and by class."""
    table: dict[Trigger, dict[str, tuple[_Indexed, ...]]] = {}
    for trigger, rules in RULES_BY_TRIGGER.items():
        by_class = table.setdefault(trigger, {})
        for rule in rules:
            indexed = _Indexed(rule, frozenset(key.value for key in rule.but_not))
            for key in rule.classes:
                by_class[key.value] = (*by_class.get(key.value, ()), indexed)
    return table


_BY_TRIGGER: Final = _index()
_NOTES: Final[Mapping[str, tuple[DoNotStop, ...]]] = {
    key: tuple(entry for entry in DO_NOT_STOP if any(each.value == key for each in entry.classes))
    for key in sorted({each.value for entry in DO_NOT_STOP for each in entry.classes})
}


def do_not_stop_notes(line: Line, situation: Situation) -> tuple[DoNotStop, ...]:
    """Return what is kept beside every suggestion about a line, in the order of the list."""
    found = {entry.key: entry for key in line.classes for entry in _NOTES.get(key, ())}
    if not found:
        return ()
    holds = situation.holds
    return tuple(
        entry
        for entry in DO_NOT_STOP
        if entry.key in found and (not entry.when or any(each in holds for each in entry.when))
    )


def judge(bedside: Bedside, line: Line, situation: Situation) -> tuple[Judged, ...]:
    """Return every rule that speaks of a line, strongest action first."""
    if not line.classes:
        return ()
    never_hold = any(note.never_hold for note in do_not_stop_notes(line, situation))
    found = [
        judged
        for rule, hit in _rules_for(bedside, line, situation)
        if (judged := _apply(rule, hit, line, situation, never_hold=never_hold)) is not None
    ]
    found.sort(key=lambda one: (_comes_after(one.action, line), RANK[one.action]))
    return tuple(found)


def _comes_after(action: Action, line: Line) -> bool:
    """Tell what comes after the question of whether an order that is not signed yet is started at all."""
    return not (line.standing is Standing.DRAFT and action is Action.AVOID)


def _rules_for(bedside: Bedside, line: Line, situation: Situation) -> Iterator[tuple[MedicineRule, Hit]]:
    classes = line.classes
    for trigger, hit in situation.hits.items():
        by_class = _BY_TRIGGER[trigger]
        seen: dict[str, MedicineRule] = {}
        for key in classes:
            for indexed in by_class.get(key, ()):
                if indexed.but_not.isdisjoint(classes):
                    seen[indexed.rule.key] = indexed.rule
        for name in sorted(seen):
            yield seen[name], hit
    yield from level_hits(bedside, line, injured=situation.hits.get(Trigger.AKI))
    if line.standing is Standing.DRAFT:
        yield from _not_to_be_started(bedside, line, situation)


_NOT_TO_BE_STARTED: Final = frozenset(key.value for key in NOT_TO_BE_STARTED.classes)


def _not_to_be_started(
    bedside: Bedside, line: Line, situation: Situation
) -> Iterator[tuple[MedicineRule, Hit]]:
    """Return the limit for starting, where potassium is above it and below that of the rules."""
    if Trigger.HYPERKALAEMIA in situation.hits or _NOT_TO_BE_STARTED.isdisjoint(line.classes):
        return
    hit = potassium_above_5(bedside)
    if hit is not None:
        yield NOT_TO_BE_STARTED, hit


def potassium_above_5(bedside: Bedside) -> Hit | None:
    """Return a potassium above 5.0, at which a renin-angiotensin blocker is not started."""
    found = deciding_potassium(bedside)
    if found is None or met(triggers.DO_NOT_START_RAAS, found[1]) is not Met.YES:
        return None
    signal, measured = found
    return hit_of(
        Trigger.HYPERKALAEMIA,
        signal,
        measured,
        zone=bedside.record.zone,
        source=triggers.DO_NOT_START_RAAS.source,
        since=measured.at,
    )


# One rule and one line


def _apply(
    rule: MedicineRule, hit: Hit, line: Line, situation: Situation, *, never_hold: bool
) -> Judged | None:
    holds = situation.holds
    in_vein = line.route is Route.INTRAVENOUS

    def is_so(condition: RuleCondition) -> bool:
        return condition in holds or (in_vein and condition is RuleCondition.INTRAVENOUS)

    if any(map(is_so, rule.unless)) or (rule.only_when and not any(map(is_so, rule.only_when))):
        return None
    if rule.until_given and line.last_dose is not None:
        return None
    step = _step(rule, is_so)
    action = step.action if step is not None else rule.action
    decided_by = tuple(filter(is_so, step.when)) if step is not None else ()
    if_confirmed = _if_confirmed(rule, hit, never_hold=never_hold) if hit.doubt else None
    if action is Action.HOLD and (never_hold or hit.doubt):
        action = Action.REVIEW
    suggested = _for_standing(action, rule, line.standing)
    if suggested is None:
        return None
    needed = (*decided_by, *filter(is_so, rule.only_when))
    known = [holds[each] for each in needed if each in holds]
    return Judged(
        rule=rule,
        hit=hit,
        action=suggested,
        would_be=action,
        decided_by=decided_by,
        if_confirmed=if_confirmed,
        since=_since(hit, line, [holds[each] for each in decided_by if each in holds]),
        origins=tuple(dict.fromkeys(origin for each in known for origin in each.origins)),
    )


def _step(rule: MedicineRule, is_so: Callable[[RuleCondition], bool]) -> Step | None:
    """Return the milder step that holds, or else the strongest one."""
    for ease in rule.eases:
        if any(map(is_so, ease.when)):
            return ease
    stronger = [step for step in rule.steps if any(map(is_so, step.when))]
    return min(stronger, key=lambda step: RANK[step.action], default=None)


def _if_confirmed(rule: MedicineRule, hit: Hit, *, never_hold: bool) -> Action:
    """Return what a rule would suggest if a doubtful trigger were true, in nothing but its circumstances."""
    stronger = [step.action for step in rule.steps if not set(step.when).isdisjoint(hit.if_confirmed)]
    action = min((rule.action, *stronger), key=RANK.__getitem__)
    return Action.REVIEW if action is Action.HOLD and never_hold else action


def _for_standing(action: Action, rule: MedicineRule, standing: Standing) -> Action | None:
    """Return what an action comes to for an order that is not signed yet, or has ended."""
    if standing is Standing.DRAFT:
        if action is Action.CONTINUE:
            return None
        return Action.AVOID if action is Action.HOLD else action
    if standing is Standing.ENDED:
        if action is Action.HOLD:
            return Action.AVOID
        if action is Action.CONTINUE:
            # It may have ended by mistake: said only of what must never be missed.
            return action if rule.trigger is Trigger.ANY else None
        return action if action is Action.LEVEL else None
    return action


def _since(hit: Hit, line: Line, decisive: list[Holding]) -> datetime | None:
    """Return when a suggestion began: with its trigger, its circumstance and the order, the last of them."""
    if hit.since is None:
        return None
    moments = [hit.since]
    dated = [each.since for each in decisive if each.since is not None]
    if dated:
        moments.append(min(dated))
    if line.since is not None and line.standing is not Standing.DRAFT:
        moments.append(line.since)
    return max(moments)
