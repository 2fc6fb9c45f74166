"""Immediate investigations worth having, by what was found.

Data only, in `investigations.csv`: common practice at the bedside, no publication prints this list.
A row says what is worth having beside a finding, never that it must be done; by which results the
record shows that it was done, and when it is worth having again while its reason lasts.
"""

from typing import Annotated, Final, Literal

from weatherglass.knowledge.data_files import Columns, Hours, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.findings import URGENCY_OF, Finding, Kind, Urgency
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "investigations"
_ROWS: Final = PrintedRows("investigations-rows", globals())


def _urgency(word: str) -> Urgency:
    return URGENCY_OF[word]


def _group(cell: str) -> tuple[Signal, ...]:
    return tuple(Signal(key) for key in cell.split("|"))


class Investigation(Columns, frozen=True, kw_only=True):
    """What is worth having beside findings of some kinds, from an urgency upwards.

    Attributes:
        name: Without a comma or an "and": several are read out in a row.
        keys: Beginnings of the keys of findings, when only some of a kind ask for it.
        once_treated: Its name where antimicrobials were given already, when that is another one.
        results: One result of each group shows that it was done; empty where the record cannot show it.
        again_after: After how long it is worth having again while its reason lasts; None: after a day.
        times: After so many it is not asked for again; None while its reason lasts.
        waits_for: Beginnings of the keys of findings that are met first.
        whose: Of a child its team decides, where a row is for adults alone.
    """

    name: str
    kinds: frozenset[Kind]
    keys: tuple[str, ...] = ()
    at_least: Annotated[Urgency, _urgency] = Urgency.PROMPT
    once_treated: str = ""
    results: tuple[Annotated[tuple[Signal, ...], _group], ...] = ()
    again_after: Hours | None = None
    times: int | None = None
    waits_for: tuple[str, ...] = ()
    whose: Literal["", "adults"] = ""
    source: Source

    def is_worth_having_for(self, finding: Finding) -> bool:
        """Tell whether a finding asks for it."""
        if finding.kind not in self.kinds or finding.urgency < self.at_least:
            return False
        return not self.keys or finding.key.startswith(self.keys)


INVESTIGATIONS: Final = csv_rows("investigations.csv", Investigation)
