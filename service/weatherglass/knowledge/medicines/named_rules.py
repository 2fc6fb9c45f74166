"""Rules of single medicines: recorded problems that forbid them, and results that speak against them.

The rows stand in `named_rules.toml`, the limits of the results in `laboratory_triggers.csv`. A
contra-indication asks for another medicine; what must never end suddenly is reviewed and not held.
"""

from collections.abc import Mapping
from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Days, Lasting, TableError, toml_members
from weatherglass.knowledge.medicines.groups import OfMedicines
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import (
    Circumstance,
    MedicineRule,
    Rank,
    RestartPlan,
    Sentences,
    Trigger,
)
from weatherglass.model.once import cached_property
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "named-medicine-rules"


class NamedRule(OfMedicines, frozen=True, kw_only=True, dict=True):
    """One rule with the lines that it speaks of; the other columns are those of `rule.MedicineRule`.

    Its columns are explained in `named_rules.toml`.
    """

    key: str
    action: Action
    reason: str
    sources: tuple[Source, ...]
    problem: frozenset[ConditionKind] = frozenset()
    trigger: Trigger = Trigger.RECORDED_PROBLEM
    lasts: bool = False
    within: Days = timedelta(0)
    dated: bool = False
    begun_within: Days = timedelta(0)
    also: tuple[Action, ...] = ()
    not_to_start: bool = False
    only_when: tuple[Circumstance, ...] = ()
    unless: tuple[Circumstance, ...] = ()
    caution: Sentences = ()
    monitor: tuple[str, ...] = ()
    soon: tuple[UrgencyWord, ...] = ()
    until: tuple[str, ...] = ()
    back_within: Lasting = timedelta(hours=24)
    rank: Rank | None = None

    def __post_init__(self) -> None:
        """Refuse a rule that nothing or two things set off."""
        if bool(self.problem) is not (self.trigger is Trigger.RECORDED_PROBLEM):
            raise TableError("either a problem or a trigger sets it off.")

    @cached_property
    def rule(self) -> MedicineRule:
        """What is suggested."""
        return MedicineRule(
            key=self.key,
            trigger=self.trigger,
            classes=(),
            medicine=self.medicine,
            action=self.action,
            also=self.also,
            not_to_start=self.not_to_start,
            only_when=self.only_when,
            unless=self.unless,
            reason=self.reason,
            caution=self.caution,
            monitor=self.monitor,
            soon=self.soon,
            restart=RestartPlan(conditions=self.until, within=self.back_within) if self.until else None,
            rank=self.rank,
            sources=self.sources,
        )


NAMED_RULES: Final = toml_members("medicines/named_rules.toml", NamedRule)
BY_TRIGGER: Final[Mapping[Trigger, tuple[NamedRule, ...]]] = {
    trigger: tuple(each for each in NAMED_RULES if each.trigger is trigger)
    for trigger in dict.fromkeys(each.trigger for each in NAMED_RULES)
}
#: Those that a recorded problem sets off.
BY_PROBLEM: Final = BY_TRIGGER[Trigger.RECORDED_PROBLEM]
RULES: Final = tuple(each.rule for each in NAMED_RULES)
