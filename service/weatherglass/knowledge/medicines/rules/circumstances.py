"""Circumstances that a rule asks about: what on the record makes one, and how it is said.

The rows stand in `circumstances.toml`. A problem that lasts counts although it is listed as
inactive: a stroke of 2021 is still a reason for aspirin. One that passes counts only while it is
active and recent. A problem that nobody has confirmed makes no circumstance; it is shown as a caution.
"""

from collections.abc import Mapping
from datetime import timedelta
from typing import Annotated, Final

from weatherglass.knowledge.data_files import Columns, Named, length, toml_members
from weatherglass.knowledge.medicines.rules.rule import Circumstance
from weatherglass.knowledge.medicines.rules.timing import LOSS_LISTED_FOR
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import our_choice


def _within(words: str) -> timedelta | None:
    return LOSS_LISTED_FOR.length if words == "as fluid loss" else length(words)


class CircumstanceRow(Columns, frozen=True, kw_only=True):
    """One circumstance: what on the record makes it, and how it is said.

    Its columns are explained in `circumstances.toml`.
    """

    key: Named[Circumstance]
    holds: str = ""
    passed: str = ""
    problems: tuple[Named[ConditionKind], ...] = ()
    procedures: tuple[Named[ProcedureKind], ...] = ()
    lasts: bool = False
    within: Annotated[timedelta, _within] | None = None


_ROWS: Final = toml_members("medicines/rules/circumstances.toml", CircumstanceRow)
#: What is recorded as a problem or a procedure; the others are worked out from values or the chart.
CIRCUMSTANCES: Final = tuple(row for row in _ROWS if row.problems or row.procedures)
#: Every circumstance that makes an action stronger or milder, with its words.
CLAUSES: Final[Mapping[Circumstance, CircumstanceRow]] = {row.key: row for row in _ROWS if row.holds}
CIRCUMSTANCES_SOURCE: Final = our_choice(
    "a lasting problem counts although inactive; a passing one only while active and recent"
)
