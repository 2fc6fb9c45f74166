"""Rules of single medicines: recorded problems that forbid them, and results that speak against them.

The rows stand in `named_rules.toml`, the limits of the results in `laboratory_triggers.csv`. A
contra-indication asks for another medicine; what must never end suddenly is reviewed and not held.
"""

from collections.abc import Mapping
from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import Columns, TableError, cite, csv_table, cutoff, toml_rows
from weatherglass.knowledge.limits.critical_results import CRITICAL_RESULTS
from weatherglass.knowledge.medicines.groups import Members, members_of
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import (
    Circumstance,
    MedicineRule,
    RestartPlan,
    Trigger,
    each_sentence,
)
from weatherglass.model.plain import Plain
from weatherglass.model.record import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "named-medicine-rules"


class _Row(Columns, frozen=True):
    who: tuple[str, ...]
    action: Action
    reason: str
    sources: tuple[str, ...]
    problem: tuple[ConditionKind, ...] = ()
    trigger: Trigger = Trigger.RECORDED_PROBLEM
    lasts: bool = False
    within: int = 0
    also: tuple[Action, ...] = ()
    not_to_start: bool = False
    only_when: tuple[Circumstance, ...] = ()
    unless: tuple[Circumstance, ...] = ()
    caution: str | tuple[str, ...] = ()
    monitor: tuple[str, ...] = ()
    soon: tuple[UrgencyWord, ...] = ()
    until: tuple[str, ...] = ()


class NamedRule(Plain, frozen=True, kw_only=True):
    """One rule with the lines that it speaks of.

    Attributes:
        who: The medicines.
        problem: Recorded problems that set it off; none where a trigger does.
        lasts: Whether a problem counts that is no longer active.
        within: How long ago a dated problem may have begun; zero where that does not matter.
        rule: What is suggested.
        source: Where that is stated first.
    """

    key: str
    who: Members
    problem: frozenset[ConditionKind]
    lasts: bool
    within: timedelta
    rule: MedicineRule
    source: Source


class ResultLimit(Plain, frozen=True, kw_only=True):
    """From which result on a trigger is met, and how bad that is."""

    trigger: Trigger
    signal: Signal
    cutoff: Cutoff
    grade: int
    source: Source


class _LimitRow(Columns, frozen=True):
    trigger: Trigger
    signal: Signal
    when: str
    grade: int
    source: str = ""


def _named(key: str, row: _Row) -> NamedRule:
    if bool(row.problem) is not (row.trigger is Trigger.RECORDED_PROBLEM):
        raise TableError(f"named_rules.toml, [{key}]: either a problem or a trigger sets it off.")
    sources = tuple(cite(line) for line in row.sources)
    rule = MedicineRule(
        key=key,
        trigger=row.trigger,
        classes=(),
        medicine=" or ".join(row.who),
        action=row.action,
        also=row.also,
        not_to_start=row.not_to_start,
        only_when=row.only_when,
        unless=row.unless,
        reason=row.reason,
        caution=each_sentence(row.caution),
        monitor=row.monitor,
        soon=row.soon,
        restart=RestartPlan(conditions=row.until) if row.until else None,
        sources=sources,
    )
    return NamedRule(
        key=key,
        who=members_of(row.who),
        problem=frozenset(row.problem),
        lasts=row.lasts,
        within=timedelta(days=row.within),
        rule=rule,
        source=sources[0],
    )


def _result_limit(row: _LimitRow) -> ResultLimit:
    """Make one limit; "as KEY URGENCY" names a row of the critical results, where the number stands."""
    limit = _critical(row) if row.when.startswith("as ") else cutoff(row.signal, row.when, cite(row.source))
    return ResultLimit(
        trigger=row.trigger, signal=row.signal, cutoff=limit, grade=row.grade, source=limit.source
    )


def _critical(row: _LimitRow) -> Cutoff:
    for band in CRITICAL_RESULTS:
        if row.when == f"as {band.key} {band.urgency}" and band.signal is row.signal:
            return band.cutoff
    raise TableError(f"{row.when!r} is no row of the critical results; write 'as KEY URGENCY' or '>= 6.5'.")


NAMED_RULES: Final = tuple(
    _named(key, row) for key, row in toml_rows("medicines/named_rules.toml", _Row).items()
)
RESULT_LIMITS: Final = csv_table("medicines/laboratory_triggers.csv", _LimitRow, _result_limit)
BY_TRIGGER: Final[Mapping[Trigger, tuple[NamedRule, ...]]] = {
    trigger: tuple(each for each in NAMED_RULES if each.rule.trigger is trigger)
    for trigger in dict.fromkeys(each.rule.trigger for each in NAMED_RULES)
}
#: Those that a recorded problem sets off.
BY_PROBLEM: Final = BY_TRIGGER[Trigger.RECORDED_PROBLEM]
RULES: Final = tuple(each.rule for each in NAMED_RULES)
