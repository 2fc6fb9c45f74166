"""Blood gas: alkaline and acid blood, expected compensation, oxygen, venous samples, asthma.

Data only. The limits of respiratory acidosis and of ventilation stand with the other results.
Compensation is compared in mmHg, in which it is printed.

What respiratory disorders do to the bicarbonate is in `gas-compensation.csv`, the limits of high-flow
oxygen in `rox.csv`.

Left out, with reasons:
    Berlin grades of P/F: they need a positive end-expiratory pressure, which a ward record seldom has.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.data_files import Columns, Hours, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.once import cached_property
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Compare, Cutoff

PUBLIC_KEY: Final = "blood-gas"
_ROWS: Final = PrintedRows("breathing/blood-gas-rows", globals())


class Compensation(Columns, frozen=True):
    """How far bicarbonate moves for each 10 mmHg of carbon dioxide."""

    key: str
    label: str
    least: Decimal
    most: Decimal
    source: Source


COMPENSATIONS: Final = tuple(csv_rows("breathing/gas-compensation.csv", Compensation))


class RoxLimit(Columns, frozen=True, dict=True):
    """From how long on high-flow oxygen on an index below the limit speaks for failure."""

    after: Hours
    below: Decimal
    source: Source

    @cached_property
    def cutoff(self) -> Cutoff:
        """The limit."""
        return Cutoff(compare=Compare.BELOW, limit=Quantity(self.below, Unit.RATIO), source=self.source)


#: The longest time first.
ROX_LIMITS: Final = csv_rows("breathing/rox.csv", RoxLimit)


WEAK_MUSCLES: Final = _ROWS.members("weak-muscles", ConditionKind)
