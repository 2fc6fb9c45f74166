"""A slow decline: several vital signs that move the harmful way together over days.

Data only. Each sign may stay inside its points; own normal follows it as it moves. What tells is that
more than one goes, one way, and far. The size each has to have is in `slow-decline.csv`; after an
operation the C-reactive protein is read by the day, in `crp-after-operation.csv`.

Left out, with reasons:
    Children and pregnancy: their signs have trends of their own.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from weatherglass.knowledge.data_files import Columns, cite, csv_table
from weatherglass.model.clauses import Share, Window
from weatherglass.model.quantities import Quantity
from weatherglass.model.signals import FACTS, Signal
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "slow-decline"


class _SignRow(Columns, frozen=True):
    signal: Signal
    direction: Literal["up", "down"]
    change: Decimal
    label: str
    source: str


class DecliningSign(NamedTuple):
    """How far a sign has to go, and which way.

    Attributes:
        change: The least difference, in the unit of the sign.
        label: The sign in one word.
    """

    signal: Signal
    is_up: bool
    change: Decimal
    label: str
    source: Source


SIGNS: Final = csv_table(
    "limits/slow-decline.csv",
    _SignRow,
    lambda row: DecliningSign(row.signal, row.direction == "up", row.change, row.label, cite(row.source)),
)
TOGETHER: Final = Share(
    value=Decimal(2),
    source=our_choice("slow decline: two signs or more, each by itself unlikely to be chance"),
)
OVER: Final = Window(length=timedelta(hours=72), source=our_choice("slow decline: looked for over 72 hours"))
AT_LEAST_OVER: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("slow decline: of a day or more, what is faster tells by itself"),
)
APART: Final = Window(
    length=timedelta(hours=3), source=our_choice("slow decline: readings of three hours or more apart")
)
PROMPT: Final = our_choice("a slow decline is 'prompt' until the score says it: 'routine' from NEWS2 5")


class _DayRow(Columns, frozen=True):
    day: int
    above: int
    source: str


class DayLimit(NamedTuple):
    """The C-reactive protein above which a leak becomes likely, by the day after the operation."""

    day: int
    cutoff: Cutoff


CRP_AFTER_OPERATION: Final = csv_table(
    "limits/crp-after-operation.csv",
    _DayRow,
    lambda row: DayLimit(
        row.day,
        Cutoff(
            compare=Compare.ABOVE,
            limit=Quantity(Decimal(row.above), FACTS[Signal.CRP].unit),
            source=cite(row.source),
        ),
    ),
)
CRP_IS_PROMPT: Final = our_choice(
    "a C-reactive protein above the limit of its day after bowel surgery is 'prompt' where it is not falling"
)
