"""What each signal is sent in, and the factor into the unit that it has here.

The rows stand in `units-of-signals.csv`; a factor that is no power of ten names its source.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source

#: Urea is sent as urea or as urea nitrogen; which one is told by the code, not the unit.
UREA_NITROGEN: Final = "urea nitrogen"


class SentUnit(Columns, frozen=True):
    """The units of one dimension, in which a signal is sent, and the factor of the substance."""

    signal: str
    dimension: str
    multiply: Decimal = Decimal(1)
    divide: Decimal = Decimal(1)
    printed: Literal["yes", ""] = ""
    source: Source | None = None

    def __post_init__(self) -> None:
        """Refuse a signal that is none, and a factor that is none or that nobody states."""
        if self.signal != UREA_NITROGEN:
            Signal(self.signal)
        if min(self.multiply, self.divide) <= 0:
            raise ValueError("a factor is not above zero.")
        if self.source is None and not (_is_power_of_ten(self.multiply) and _is_power_of_ten(self.divide)):
            raise ValueError("a factor that is no power of ten has no source.")


def _is_power_of_ten(factor: Decimal) -> bool:
    return factor.normalize().as_tuple().digits == (1,)


SENT: Final = csv_rows("units-of-signals.csv", SentUnit)


def in_milligrams(signal: Signal) -> SentUnit:
    """Return how milligrams a decilitre of a substance are counted here."""
    return next(row for row in SENT if (row.signal, row.dimension) == (signal, "milligrams a decilitre"))
