"""Which rules give a reason that another rule of the same medicine gives as well.

A suggestion that several rules lead to says such a reason once. The rows stand in `reasons-said.csv`.
"""

from collections.abc import Mapping
from typing import Final

from weatherglass.knowledge.data_files import Columns, TableError, csv_rows
from weatherglass.knowledge.medicines.named_rules import RULES as NAMED_RULES
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES
from weatherglass.knowledge.medicines.rules.rules import RULES


class _Said(Columns, frozen=True):
    rule: str
    said_by: frozenset[str]


def _read() -> Mapping[str, frozenset[str]]:
    found = {row.rule: row.said_by for row in csv_rows("medicines/rules/said/reasons-said.csv", _Said)}
    known = {rule.key for rule in RULES} | {rule.key for rule in NAMED_RULES}
    known |= {f"level-high-{level.key}" for level in LEVEL_RULES}
    for key, said_by in found.items():
        if unknown := ({key} | said_by) - known:
            raise TableError(f"reasons-said.csv: no rule is called {', '.join(sorted(unknown))}.")
        if any(key in found.get(other, ()) for other in said_by):
            raise TableError(
                f"reasons-said.csv: {key} and another say each other's reason, so that neither is said."
            )
    return found


#: By the key of a rule, those of which one beside it leaves its reason out.
SAID_BY: Final = _read()
