"""What a suggestion says whatever the values are: it follows from its rules alone.

Put together once for each way in which rules meet in one line, and kept.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from functools import lru_cache
from typing import Final

from weatherglass.facts.medicines.drug_chart import Standing
from weatherglass.knowledge.medicines.limits.dose_limits import RULES as DOSE_RULES
from weatherglass.knowledge.medicines.limits.kidney_limits import RULES as KIDNEY_RULES
from weatherglass.knowledge.medicines.named_rules import RULES as NAMED_RULES
from weatherglass.knowledge.medicines.rules.actions import (
    ACTIONS,
    PRECEDENCE,
    PRECEDENCE_SOURCE,
    RANK,
    Action,
)
from weatherglass.knowledge.medicines.rules.circumstances import CLAUSES
from weatherglass.knowledge.medicines.rules.rule import (
    RESTART_SOURCE,
    USUAL_WHO,
    Circumstance,
    MedicineRule,
    RestartPlan,
    Step,
    Trigger,
    plan_words,
)
from weatherglass.knowledge.medicines.rules.rules import NOT_TO_BE_STARTED, RULES
from weatherglass.knowledge.medicines.rules.said.ways_back import COVERED_BY
from weatherglass.knowledge.medicines.rules.triggers import TRIGGER_PASSED
from weatherglass.knowledge.medicines.rules.urgencies import LOOK_AGAIN_SOURCE, URGENCY_SOURCE
from weatherglass.medicines.judging.judgement import Judged, Variant
from weatherglass.medicines.triggers.measured.levels import AS_RULES
from weatherglass.model.plain import Plain, replace
from weatherglass.model.sources import Source
from weatherglass.model.words.lists import said_once

_BY_NOTHING: Final[frozenset[str]] = frozenset()
#: Every rule that can speak of a line, those on levels with them.
RULE_BY_KEY: Final[dict[str, MedicineRule]] = {
    rule.key: rule
    for rule in (
        *RULES,
        *KIDNEY_RULES,
        *NAMED_RULES,
        *DOSE_RULES,
        NOT_TO_BE_STARTED,
        *(each for one in AS_RULES.values() for each in one.rules),
    )
}


class WayBack(Plain, frozen=True):
    """Several restart plans together: every condition, the most special roles, the earliest time."""

    condition: str
    who: str
    within: timedelta


class Fixed(Plain, frozen=True):
    """The parts of a suggestion that follow from its rules alone.

    Attributes:
        also: Further actions beside the strongest, in the order of precedence.
        sources: Of the rules, and of what is ours about every suggestion.
        way_back: Of the rules that can end in a hold; None where none of them can.
        asks_rate: Whether a rule hangs on the filtration rate.
        weighs_fluid: Whether a rule hangs on how dry or overloaded the patient is.
        asked: Circumstances that a rule asks about, whether or not they hold.
    """

    also: tuple[Action, ...]
    monitor: tuple[str, ...]
    would_change: tuple[str, ...]
    sources: tuple[Source, ...]
    way_back: WayBack | None
    asks_rate: bool
    weighs_fluid: bool
    asked: frozenset[Circumstance]


def fixed_parts(judged: Sequence[Judged], *, standing: Standing, never_hold: bool) -> Fixed:
    """Return what the rules of one suggestion say together.

    Args:
        judged: The rules that speak, the strongest first.
        standing: Of the line: what is not signed yet or has ended is avoided and not held.
        never_hold: Whether a hold of the line is never suggested.
    """
    held = Action.HOLD if standing.can_be_held else Action.AVOID
    found = _fixed(tuple([one.variant for one in judged]), held, never_hold)
    if standing.can_be_held or Action.LEVEL not in found.also:
        return found
    # Nothing was given whose level could be measured, or there is no next dose.
    also = tuple(each for each in found.also if each is not Action.LEVEL)
    return replace(found, also=also)


@lru_cache(maxsize=8192)
def _fixed(variants: tuple[Variant, ...], held: Action, never_hold: bool) -> Fixed:
    rules = [RULE_BY_KEY[variant.rule] for variant in variants]
    lead = variants[0].action
    also = {variant.action for variant in variants} | {each for rule in rules for each in rule.also}
    if ACTIONS[lead].withholds:
        # What omission brings stands beside it; nothing is held and urged at once.
        also.discard(Action.CONTINUE)
    further = tuple(sorted(also - {lead}, key=RANK.__getitem__))
    sources = [source for rule in rules for source in rule.sources]
    ours = (
        *((PRECEDENCE_SOURCE,) if len(rules) > 1 else ()),
        URGENCY_SOURCE,
        LOOK_AGAIN_SOURCE,
        RESTART_SOURCE,
    )
    plans = [
        rule.restart
        for rule, variant in zip(rules, variants, strict=True)
        if ACTIONS[variant.action].may_withhold and rule.restart is not None
    ]
    return Fixed(
        also=further,
        monitor=tuple(dict.fromkeys(each for rule in rules for each in rule.monitor)),
        would_change=tuple(changes(RULE_BY_KEY, variants, held=held, never_hold=never_hold)),
        sources=tuple(dict.fromkeys((*sources, *ours))),
        way_back=way_back(plans) if plans else None,
        weighs_fluid=any(rule.weighs_fluid for rule in rules),
        asks_rate=any(_asks_rate(rule, variant) for rule, variant in zip(rules, variants, strict=True)),
        asked=frozenset(
            each
            for rule in rules
            for each in (
                *rule.only_when,
                *rule.unless,
                *(c for step in (*rule.stronger, *rule.milder) for c in step.when),
            )
        ),
    )


_RATES: Final = frozenset({Circumstance.EGFR_BELOW_30, Circumstance.EGFR_BELOW_45})


def _asks_rate(rule: MedicineRule, variant: Variant) -> bool:
    in_injury = rule.trigger is Trigger.AKI and variant.action is Action.REDUCE
    return in_injury or not _RATES.isdisjoint((*variant.decided_by, *rule.only_when))


def way_back(plans: Sequence[RestartPlan]) -> WayBack:
    """Put one or several ways back together: each condition once, the strictest of its kind."""
    special = said_once(plan.who for plan in plans if plan.who != USUAL_WHO)
    asked = dict.fromkeys(each for plan in plans for each in plan.conditions)
    needed = [each for each in asked if COVERED_BY.get(each, _BY_NOTHING).isdisjoint(asked)]
    then = dict.fromkeys(each for plan in plans for each in plan.then)
    return WayBack(
        condition=plan_words(needed, tuple(then)),
        who=" and ".join(special) or USUAL_WHO,
        within=min(plan.within for plan in plans),
    )


# What would make a suggestion stronger or milder, or end it: said of all its rules together.
#
# One rule that would let go changes nothing while another still speaks for the hold, so a
# hold that rests on several rules names everything that has to pass.

#: In doubt because nobody has confirmed it, not because of how it was measured.
_BLEEDS: Final = frozenset({Trigger.BLEEDING, Trigger.CRITICAL_BLEEDING})
_WEAKEST: Final = PRECEDENCE[-1]
#: More circumstances than this are listed and not joined by "and".
_READ_AT_ONCE: Final = 2


def changes(
    rules: Mapping[str, MedicineRule], variants: Sequence[Variant], *, held: Action, never_hold: bool
) -> Iterator[str]:
    """Say what would change a suggestion.

    Args:
        rules: The rules by their keys.
        variants: How each rule of the suggestion came to its action, the strongest first.
        held: What a hold comes to for this line: not to be started, where it is not signed yet.
        never_hold: Whether no circumstance makes a hold of it.
    """
    doubtful = {rules[variant.rule].trigger for variant in variants if variant.is_doubtful}
    if doubtful & _BLEEDS:
        yield "Whether there is bleeding decides: that is in doubt."
    if doubtful - _BLEEDS:
        yield "A repeat measurement decides: this one is in doubt."
    sure = [variant for variant in variants if not variant.is_doubtful]
    holding = [variant for variant in sure if variant.would_be is Action.HOLD]
    if holding:
        yield from _of_a_hold(rules, variants, holding)
    elif not never_hold:
        stronger = _stronger(rules, sure)
        if stronger:
            yield _instead(held, variants[0].action, any_of(stronger))


def _instead(new: Action, present: Action, when: str) -> str:
    return f"Would be '{_label(new)}' instead of '{_label(present)}' if {when}."


def _label(action: Action) -> str:
    return ACTIONS[action].label.lower()


# A hold


def _of_a_hold(
    rules: Mapping[str, MedicineRule], variants: Sequence[Variant], holding: Sequence[Variant]
) -> Iterator[str]:
    present = variants[0].action
    others = [variant.action for variant in variants if variant not in holding]
    instead: dict[Action, list[str]] = {}
    milder = _milder(rules, holding)
    if milder is not None:
        instead[_strongest([milder.action, *others])] = [any_of(milder.when)]
    passed = dict.fromkeys(each for variant in holding for each in _passed(rules[variant.rule], variant))
    left = others + [rules[variant.rule].action for variant in holding if variant.decided_by]
    if left and len(passed) <= _READ_AT_ONCE:
        instead.setdefault(_strongest(left), []).append(" and ".join(passed))
    for action, whens in instead.items():
        yield _instead(action, present, ", or if ".join(whens))
    if len(passed) > _READ_AT_ONCE:
        yield f"Stays '{_label(present)}' until all of this is so: {'; '.join(passed)}."
    elif not left:
        yield f"No longer suggested once {' and '.join(passed)}."


def _strongest(actions: Sequence[Action]) -> Action:
    return min(actions, key=RANK.__getitem__, default=_WEAKEST)


def _milder(rules: Mapping[str, MedicineRule], holding: Sequence[Variant]) -> Step | None:
    """Return what would ease every rule that holds: one that nothing eases keeps the hold."""
    eased = [_eases(rules[variant.rule]) for variant in holding]
    shared = [each for each in eased[0] if all(each in one for one in eased)]
    if not shared:
        return None
    return Step(action=_strongest([one[each] for one in eased for each in shared]), when=tuple(shared))


def _eases(rule: MedicineRule) -> dict[Circumstance, Action]:
    return {each: step.action for step in rule.milder for each in step.when}


def _passed(rule: MedicineRule, variant: Variant) -> tuple[str, ...]:
    """Say what has to pass before one rule no longer holds, all of it."""
    if variant.decided_by:
        return tuple(CLAUSES[each].passed for each in variant.decided_by)
    return (TRIGGER_PASSED[rule.trigger],)


# Anything else


def _stronger(rules: Mapping[str, MedicineRule], variants: Sequence[Variant]) -> list[Circumstance]:
    """Return the circumstances that would make a hold of it; not of a rule that something eases."""
    found: dict[Circumstance, None] = {}
    for variant in variants:
        rule = rules[variant.rule]
        if not set(variant.decided_by).isdisjoint(_eases(rule)):
            continue
        found |= dict.fromkeys(c for step in rule.stronger if step.action is Action.HOLD for c in step.when)
    return list(found)


def any_of(circumstances: Sequence[Circumstance]) -> str:
    """List circumstances of which one is enough: 'a, b or c'."""
    words = list(dict.fromkeys(CLAUSES[each].holds for each in circumstances))
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
