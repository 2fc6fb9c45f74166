"""Every drug-chart rule in one table, checked when it is loaded."""

from collections.abc import Iterable, Mapping
from typing import Final

from weatherglass.knowledge.data_files import toml_members
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.knowledge.medicines.rules.circumstances import CLAUSES
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES
from weatherglass.knowledge.medicines.rules.rule import MedicineRule, Trigger
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP
from weatherglass.knowledge.medicines.rules.triggers import TRIGGERS


def rules_of(name: str) -> tuple[MedicineRule, ...]:
    """Return the rules of `rules/NAME.toml`, in the order of the file."""
    return toml_members(f"medicines/rules/{name}.toml", MedicineRule)


PUBLIC_KEY: Final = "medicines"
RULES: Final[tuple[MedicineRule, ...]] = tuple(
    rule
    for table in (
        "aki-strain",
        "aki-build-up",
        "potassium-and-sodium",
        "circulation",
        "bleeding",
        "glucose-and-acid",
        "consciousness",
        "sepsis-and-contrast",
        "fluid-loss",
        "time-critical",
        "not-taken",
    )
    for rule in rules_of(table)
)


#: For an order that is not signed yet, above a potassium of 5.0 and below the limit of the rules above.
(NOT_TO_BE_STARTED,) = rules_of("drafts")


def _have_words(rules: Iterable[MedicineRule]) -> None:
    """Refuse a circumstance that nobody could be told about."""
    for rule in rules:
        stronger = {each for step in rule.stronger for each in step.when}
        milder = {each for step in rule.milder for each in step.when}
        silent = [each for each in stronger if each not in CLAUSES or not CLAUSES[each].passed]
        if silent or not milder <= set(CLAUSES):
            raise ValueError(f"Rule {rule.key!r} has a circumstance without words.")


def _by_trigger() -> dict[Trigger, tuple[MedicineRule, ...]]:
    """Refuse doubled keys and gaps, and lay the rules out by trigger."""
    for kind, keys in (
        ("rule", [rule.key for rule in RULES]),
        ("combination", [combination.key for combination in COMBINATIONS]),
        ("do-not-stop entry", [entry.key for entry in DO_NOT_STOP]),
        ("level rule", [level.key for level in LEVEL_RULES]),
    ):
        if len(set(keys)) != len(keys):
            raise ValueError(f"A {kind} key is used twice.")
    if set(ACTIONS) != set(Action):
        raise ValueError("An action has no row.")
    if set(TRIGGERS) != set(Trigger):
        raise ValueError("A trigger has no meaning.")
    _have_words(RULES)
    if unknown := [level.key for level in LEVEL_RULES if level.key not in BY_NAME]:
        raise ValueError(f"Level rules for unlisted ingredients: {unknown}.")
    return {trigger: tuple(rule for rule in RULES if rule.trigger is trigger) for trigger in Trigger}


#: The rules of each trigger, in the order of the tables.
RULES_BY_TRIGGER: Final[Mapping[Trigger, tuple[MedicineRule, ...]]] = _by_trigger()
