"""A slow decline: several vital signs that move the harmful way together over days.

Data only. Each sign may stay inside its points; own normal follows it as it moves. What tells is that
more than one goes, one way, and far. The size each has to have is in `slow-decline.csv`; after an
operation the C-reactive protein is read by the day, in `crp-after-operation.csv`.

Left out, with reasons:
    Children and pregnancy: their signs have trends of their own.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.numbers.quantities import Quantity
from weatherglass.model.once import cached_property
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "slow-decline"
_ROWS: Final = PrintedRows("signs/slow-decline-rows", globals())


class DecliningSign(Columns, frozen=True):
    """How far a sign has to go, and which way.

    Attributes:
        change: The least difference, in the unit of the sign.
        label: The sign in one word.
    """

    signal: Signal
    direction: Literal["up", "down"]
    change: Decimal
    label: str
    source: Source

    @property
    def is_up(self) -> bool:
        """Whether the harmful way is up."""
        return self.direction == "up"


SIGNS: Final = tuple(csv_rows("signs/slow-decline.csv", DecliningSign))


class DayLimit(Columns, frozen=True, dict=True):
    """The C-reactive protein above which a leak becomes likely, by the day after the operation."""

    day: int
    above: Decimal
    source: Source

    @cached_property
    def cutoff(self) -> Cutoff:
        """The limit."""
        limit = Quantity(self.above, Signal.CRP.unit)
        return Cutoff(compare=Compare.ABOVE, limit=limit, source=self.source)


CRP_AFTER_OPERATION: Final = csv_rows("signs/crp-after-operation.csv", DayLimit)
