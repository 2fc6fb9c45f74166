"""What would make a suggestion stronger or milder, or end it: said of all its rules together.

One rule that would let go changes nothing while another still speaks for the hold, so a
hold that rests on several rules names everything that has to pass.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from weatherglass.knowledge.medicines.rules.actions import ACTIONS, PRECEDENCE, RANK, Action
from weatherglass.knowledge.medicines.rules.circumstances import CLAUSES
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, Step, Trigger
from weatherglass.knowledge.medicines.rules.triggers import TRIGGER_PASSED
from weatherglass.medicines.judging.judgement import Variant

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
    return {each: step.action for step in rule.eases for each in step.when}


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
        found |= dict.fromkeys(c for step in rule.steps if step.action is Action.HOLD for c in step.when)
    return list(found)


def any_of(circumstances: Sequence[Circumstance]) -> str:
    """List circumstances of which one is enough: 'a, b or c'."""
    words = list(dict.fromkeys(CLAUSES[each].holds for each in circumstances))
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
