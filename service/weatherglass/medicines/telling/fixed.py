"""What a suggestion says whatever the values are: it follows from its rules alone.

Put together once for each way in which rules meet in one line, and kept.
"""

from collections.abc import Sequence
from datetime import timedelta
from functools import lru_cache
from typing import Final, NamedTuple

from weatherglass.facts.medicines.drug_chart import Standing
from weatherglass.knowledge.medicines.dose_limits import RULES as DOSE_RULES
from weatherglass.knowledge.medicines.kidney_limits import RULES as KIDNEY_RULES
from weatherglass.knowledge.medicines.named_rules import RULES as NAMED_RULES
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, PRECEDENCE_SOURCE, RANK, Action
from weatherglass.knowledge.medicines.rules.rule import (
    RESTART_SOURCE,
    USUAL_WHO,
    Circumstance,
    MedicineRule,
    RestartPlan,
    Trigger,
    plan_words,
)
from weatherglass.knowledge.medicines.rules.rules import NOT_TO_BE_STARTED, RULES
from weatherglass.knowledge.medicines.rules.urgencies import LOOK_AGAIN_SOURCE, URGENCY_SOURCE
from weatherglass.knowledge.medicines.rules.ways_back import COVERED_BY
from weatherglass.medicines.judging.judgement import Judged, Variant
from weatherglass.medicines.telling.changes import changes
from weatherglass.medicines.triggers.levels import AS_RULES
from weatherglass.model.sources import Source

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


class WayBack(NamedTuple):
    """Several restart plans together: every condition, the most special roles, the earliest time."""

    condition: str
    who: str
    within: timedelta


class Fixed(NamedTuple):
    """The parts of a suggestion that follow from its rules alone.

    Attributes:
        also: Further actions beside the strongest, in the order of precedence.
        sources: Of the rules, and of what is ours about every suggestion.
        way_back: Of the rules that can end in a hold; None where none of them can.
        asks_rate: Whether a rule hangs on the filtration rate.
        asked: Circumstances that a rule asks about, whether or not they hold.
    """

    also: tuple[Action, ...]
    monitor: tuple[str, ...]
    would_change: tuple[str, ...]
    sources: tuple[Source, ...]
    way_back: WayBack | None
    asks_rate: bool
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
    if standing is not Standing.DRAFT or Action.LEVEL not in found.also:
        return found
    # Nothing was given whose level could be measured.
    also = tuple(each for each in found.also if each is not Action.LEVEL)
    return found._replace(also=also)


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
        asks_rate=any(_asks_rate(rule, variant) for rule, variant in zip(rules, variants, strict=True)),
        asked=frozenset(
            each
            for rule in rules
            for each in (
                *rule.only_when,
                *rule.unless,
                *(c for step in (*rule.steps, *rule.eases) for c in step.when),
            )
        ),
    )


_RATES: Final = frozenset({Circumstance.EGFR_BELOW_30, Circumstance.EGFR_BELOW_45})


def _asks_rate(rule: MedicineRule, variant: Variant) -> bool:
    in_injury = rule.trigger is Trigger.AKI and variant.action is Action.REDUCE
    return in_injury or not _RATES.isdisjoint((*variant.decided_by, *rule.only_when))


def way_back(plans: Sequence[RestartPlan]) -> WayBack:
    """Put one or several ways back together: each condition once, the strictest of its kind."""
    special = dict.fromkeys(plan.who for plan in plans if plan.who != USUAL_WHO)
    asked = dict.fromkeys(each for plan in plans for each in plan.conditions)
    needed = [each for each in asked if COVERED_BY.get(each, _BY_NOTHING).isdisjoint(asked)]
    then = dict.fromkeys(each for plan in plans for each in plan.then)
    return WayBack(
        condition=plan_words(needed, tuple(then)),
        who=" and ".join(special) or USUAL_WHO,
        within=min(plan.within for plan in plans),
    )
