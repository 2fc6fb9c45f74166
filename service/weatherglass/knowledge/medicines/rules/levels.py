"""Medicines whose level decides the next dose: what a high or a low one asks for, and how old it may be.

The range that comes with a result decides whether it is high or low. Where none is sent the
toxic limits of `drug_levels` do, and here the limits of what is measured before a dose.
The rows, and what their columns mean, are in `levels.toml`.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, Lasting, SignalLimit, Timed, cite, cutoff, toml_members
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, RestartPlan, Step
from weatherglass.knowledge.medicines.rules.said import ways_back
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff


class BeforeDose(Columns, frozen=True):
    """The limit of a level that is measured before the next dose."""

    limit: SignalLimit
    after: Lasting
    unless_known: bool = False
    newborn: SignalLimit | None = None
    newborn_doses: int = 0

    def limit_for(self, *, is_newborn: bool, doses: int) -> Cutoff:
        """Return the limit, of a newborn while so few doses were given."""
        is_theirs = self.newborn is not None and is_newborn and doses <= self.newborn_doses
        return (self.newborn if is_theirs and self.newborn is not None else self.limit).cutoff


class LevelRule(Columns, frozen=True):
    """One medicine, by its international name, and its level."""

    key: str
    signal: Signal
    reason: str
    when_high: Action
    high_reason: str
    team: str
    source: Source
    overdue: Timed | None = None
    eased_in: tuple[Circumstance, ...] = ()
    before_dose: BeforeDose | None = None
    in_infusion: SignalLimit | None = None
    low: SignalLimit | None = None
    too_early: Timed | None = None
    worse: tuple[SignalLimit, ...] = ()
    bound_to_albumin: bool = False

    @property
    def eases(self) -> tuple[Step, ...]:
        """What makes a high level's suggestion milder."""
        return (Step(action=Action.REVIEW, when=self.eased_in),) if self.eased_in else ()

    @property
    def restart(self) -> RestartPlan:
        """What brings the medicine back after a high level."""
        return RestartPlan(conditions=(ways_back.LEVEL_IN_RANGE,), who=self.team)


#: Of total phenytoin: what it would be at a usual albumin is it over (0.02 * albumin in g/L + 0.1).
BOUND: Final = cite("common practice: total phenytoin is adjusted for a low albumin, by Sheiner and Tozer")
BOUND_FOR_EACH_GRAM: Final = Decimal("0.02")
FREE: Final = Decimal("0.1")
LOW_ALBUMIN: Final = cutoff(
    Signal.ALBUMIN, "< 32", cite("ours: below an albumin of 32 g/L a total level is adjusted")
)
HIGHEST_BOUND: Final = cutoff(
    Signal.PHENYTOIN_LEVEL, "> 20", cite("ours: 20 mg/L where no range is sent with the level")
)

LEVEL_RULES: Final = toml_members("medicines/rules/levels.toml", LevelRule)
