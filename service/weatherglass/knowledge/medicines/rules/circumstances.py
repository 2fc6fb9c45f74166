"""Circumstances that a rule asks about: what on the record makes one, and how it is said.

The rows stand in `circumstances.toml`. A problem that lasts counts although it is listed as
inactive: a stroke of 2021 is still a reason for aspirin. One that passes counts only while it is
active and recent. A problem that nobody has confirmed makes no circumstance; it is shown as a caution.
"""

from collections.abc import Mapping
from datetime import timedelta
from typing import Final, NamedTuple

from weatherglass.knowledge.data_files import Columns, all_named, length, named, toml_table
from weatherglass.knowledge.medicines.rules.rule import Circumstance
from weatherglass.knowledge.medicines.rules.timing import LOSS_LISTED_FOR
from weatherglass.model.plain import Plain
from weatherglass.model.record import ConditionKind, ProcedureKind
from weatherglass.model.sources import our_choice


class RecordedCircumstance(Plain, frozen=True, kw_only=True):
    """What on the record makes one circumstance.

    Attributes:
        circumstance: The circumstance.
        kinds: Any of these problems makes it.
        procedures: Any of these procedures, done and not only asked for, makes it.
        lasts: Whether an inactive problem counts as well.
        within: It counts this long after it began; None always. Undated counts.
    """

    circumstance: Circumstance
    kinds: tuple[ConditionKind, ...]
    procedures: tuple[ProcedureKind, ...] = ()
    lasts: bool = False
    within: timedelta | None = None


class Clause(NamedTuple):
    """One circumstance as it stands after "if".

    Attributes:
        holds: When it is there.
        passed: When it no longer is; empty for what lasts.
    """

    holds: str
    passed: str = ""


class _Row(Columns, frozen=True):
    holds: str = ""
    passed: str = ""
    problems: tuple[str, ...] = ()
    procedures: tuple[str, ...] = ()
    lasts: bool = False
    within: str = ""


def _within(words: str) -> timedelta | None:
    return LOSS_LISTED_FOR.length if words == "as fluid loss" else length(words)


def _read(key: str, row: _Row) -> tuple[RecordedCircumstance, Clause]:
    made_by = RecordedCircumstance(
        circumstance=named(Circumstance, key),
        kinds=all_named(ConditionKind, row.problems),
        procedures=all_named(ProcedureKind, row.procedures),
        lasts=row.lasts,
        within=_within(row.within),
    )
    return made_by, Clause(row.holds, row.passed)


_ROWS: Final = toml_table("medicines/rules/circumstances.toml", _Row, _read)

#: What is recorded as a problem or a procedure; the others are worked out from values or the chart.
CIRCUMSTANCES: Final = tuple(made_by for made_by, _ in _ROWS if made_by.kinds or made_by.procedures)
#: The words of every circumstance that makes an action stronger or milder.
CLAUSES: Final[Mapping[Circumstance, Clause]] = {
    made_by.circumstance: clause for made_by, clause in _ROWS if clause.holds
}
CIRCUMSTANCES_SOURCE: Final = our_choice(
    "a lasting problem counts although inactive; a passing one only while active and recent"
)
