"""Medicines whose level decides the next dose: what a high or a low one asks for, and how old it may be.

The range that comes with a result decides whether it is high or low. Where none is sent the
toxic limits of `drug_levels` do, and here the limits of what is measured before a dose.
The rows are in `levels.toml`.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import (
    Columns,
    SignalLimit,
    TableError,
    cite,
    cutoff,
    length,
    toml_table,
)
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, RestartPlan, Step
from weatherglass.model.clauses import Window
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff


class BeforeDose(Plain, frozen=True, kw_only=True):
    """The limit of a level that is measured before the next dose.

    Attributes:
        limit: Beyond it the next dose waits.
        after: A level counts as measured before a dose this long after the last one.
        unless_known: Whether it counts so too when no dose is recorded before it.
        newborn: The limit in the first 28 days of life, None where it is no other.
        newborn_doses: For how many doses that one holds.
    """

    limit: Cutoff
    after: timedelta
    unless_known: bool
    newborn: Cutoff | None = None
    newborn_doses: int = 0

    def limit_for(self, *, is_newborn: bool, doses: int) -> Cutoff:
        """Return the limit, of a newborn while so few doses were given."""
        is_theirs = self.newborn is not None and is_newborn and doses <= self.newborn_doses
        return self.newborn if is_theirs and self.newborn is not None else self.limit


class LevelRule(Plain, frozen=True, kw_only=True):
    """One medicine and its level.

    Attributes:
        ingredient: International name of the medicine.
        signal: Its level.
        overdue: In acute kidney injury a level older than this is overdue; None where none is asked for.
        reason: Why the level matters, in one sentence of ours.
        when_high: What a high level suggests.
        high_reason: What a high level means, in one sentence of ours.
        source: What says so.
        team: Who decides on the next dose.
        eases: What makes it milder.
        before_dose: The limit of a level before the next dose, where it has one.
        too_early: A high level measured so soon after a dose is in doubt; None where it is not.
        in_infusion: Beyond which a level is too high while the medicine runs all day.
        low: Below which a level is too low where no range is sent with it.
        worse_with: What makes a toxic level an emergency: any of these beyond its limit now.
        is_bound: Whether albumin binds most of it, so that a low albumin hides what acts.
    """

    ingredient: str
    signal: Signal
    overdue: Window | None
    reason: str
    when_high: Action
    high_reason: str
    source: Source
    team: str
    eases: tuple[Step, ...] = ()
    before_dose: BeforeDose | None = None
    too_early: Window | None = None
    worse_with: tuple[SignalLimit, ...] = ()
    in_infusion: Cutoff | None = None
    low: Cutoff | None = None
    is_bound: bool = False

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


class _Row(Columns, frozen=True):
    signal: Signal
    reason: str
    when_high: Action
    high_reason: str
    team: str
    source: str
    overdue: str = ""
    overdue_source: str = ""
    eased_in: tuple[Circumstance, ...] = ()
    before_dose: str = ""
    before_dose_after: str = ""
    before_dose_unless_known: bool = False
    before_dose_source: str = ""
    newborn_before_dose: str = ""
    newborn_doses: int = 0
    newborn_source: str = ""
    in_infusion: str = ""
    in_infusion_source: str = ""
    low: str = ""
    low_source: str = ""
    too_early: str = ""
    too_early_source: str = ""
    worse: tuple[SignalLimit, ...] = ()
    bound_to_albumin: bool = False


def _level_rule(ingredient: str, row: _Row) -> LevelRule:
    return LevelRule(
        ingredient=ingredient,
        signal=row.signal,
        overdue=_window(row.overdue, row.overdue_source),
        reason=row.reason,
        when_high=row.when_high,
        high_reason=row.high_reason,
        source=cite(row.source),
        team=row.team,
        eases=(Step(action=Action.REVIEW, when=row.eased_in),) if row.eased_in else (),
        before_dose=_before_dose(row) if row.before_dose else None,
        in_infusion=_limit(row.signal, row.in_infusion, row.in_infusion_source),
        low=_limit(row.signal, row.low, row.low_source),
        too_early=_window(row.too_early, row.too_early_source),
        worse_with=row.worse,
        is_bound=row.bound_to_albumin,
    )


def _limit(signal: Signal, when: str, source: str) -> Cutoff | None:
    return cutoff(signal, when, cite(source)) if when else None


def _window(text: str, source: str) -> Window | None:
    found = length(text)
    return Window(length=found, source=cite(source)) if found is not None else None


def _before_dose(row: _Row) -> BeforeDose:
    after = length(row.before_dose_after)
    if after is None:
        raise TableError("A limit before a dose says how long after the last one it holds.")
    limit = cutoff(row.signal, row.before_dose, cite(row.before_dose_source))
    other = row.newborn_before_dose
    return BeforeDose(
        limit=limit,
        after=after,
        unless_known=row.before_dose_unless_known,
        newborn=cutoff(row.signal, other, cite(row.newborn_source)) if other else None,
        newborn_doses=row.newborn_doses,
    )


LEVEL_RULES: Final = toml_table("medicines/rules/levels.toml", _Row, _level_rule)
