"""Which rules of single medicines speak of a line: by a recorded problem, or by a trigger that is met."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.groups import ByMember
from weatherglass.knowledge.medicines.named_rules import BY_PROBLEM, BY_TRIGGER, NamedRule
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.triggers.met import MetRule, MetTrigger, met_by_problems
from weatherglass.model.record.problems import Reason, Recorded

#: Those of one trigger stand together.
_RULES = ByMember((each for rules in BY_TRIGGER.values() for each in rules), lambda each: each.members)
_OF_PROBLEMS = ByMember(BY_PROBLEM, lambda each: each.members)


def met_named(
    bedside: Bedside, of_line: NamedLine, all_met: Mapping[Trigger, MetTrigger]
) -> Iterator[MetRule]:
    """Return the rules that mean a line, each with what set it off."""
    classes, words = of_line.line.classes, of_line.words
    for each in _RULES.that_may_mean(classes, words):
        met = all_met.get(each.trigger)
        if met is not None and of_line.is_one_of(each.members):
            yield each.rule, met
    for each in _OF_PROBLEMS.that_may_mean(classes, words):
        if each.begun_within and not _is_as_new(bedside, of_line, each.begun_within):
            continue
        found = _problems(bedside, each)
        if found and of_line.is_one_of(each.members):
            yield each.rule, _of_problem(each, found)


def _is_as_new(bedside: Bedside, of_line: NamedLine, within: timedelta) -> bool:
    began = of_line.line.since
    return began is None or bedside.as_of - began <= within


def _problems(bedside: Bedside, rule: NamedRule) -> list[Recorded]:
    """Return what is recorded of a rule's problems: on the list, or as the reason of a stay that goes on."""
    found = [
        Recorded(one.text or kind.value, one.began, one.origin)
        for kind in rule.problem
        for one in bedside.problems.get(kind, ())
        if one.active or rule.lasts
        if not rule.within or one.may_have_begun_within(rule.within, bedside.as_of)
        if not rule.dated or one.began is not None
    ]
    came = [
        one
        for one in bedside.record.came_for(*rule.problem)
        if not rule.dated or (one.at is not None and bedside.as_of - one.at <= rule.within)
    ]
    # When the stay began says nothing of when the problem did.
    return found or [Recorded(one.text or _kind_of(one, rule), None, one.origin) for one in came]


def _kind_of(reason: Reason, rule: NamedRule) -> str:
    return min(reason.kinds & rule.problem).value


def _of_problem(rule: NamedRule, found: Sequence[Recorded]) -> MetTrigger:
    return met_by_problems(Trigger.RECORDED_PROBLEM, found, key="recorded-problem", source=rule.sources[0])
