"""The shape of a table that grades single signs as high or moderate risk, by age where it matters."""

from enum import Enum, IntEnum, StrEnum

from weatherglass.model.plain import Plain
from weatherglass.model.signals import CodedSignal, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.bands import Cutoff


class Risk(IntEnum):
    """How high the risk of severe illness or death is."""

    VERY_LOW = 0
    LOW = 1
    MODERATE = 2
    HIGH = 3

    @property
    def word(self) -> str:
        """As it is said."""
        return self.name.lower().replace("_", " ")


class Where(StrEnum):
    """What a value must go with to count."""

    ANYWHERE = ""
    UNLESS_ON_OXYGEN = "in air, or where air or oxygen is not recorded"


class _OfAnAge(Plain, frozen=True, kw_only=True):
    """A row of the table for an age in completed months.

    Attributes:
        below_months: The first age it no longer holds for; None without an end.
    """

    from_months: int = 0
    below_months: int | None = None

    def is_for(self, months: int | None) -> bool:
        """Tell whether it holds at an age; where none is recorded it does."""
        age = months if months is not None else self.from_months
        return self.from_months <= age and (self.below_months is None or age < self.below_months)


class RiskSign(_OfAnAge, frozen=True, kw_only=True):
    """One number of the table."""

    signal: Signal
    risk: Risk
    cutoff: Cutoff
    where: Where = Where.ANYWHERE

    @property
    def source(self) -> Source:
        """Where it is printed."""
        return self.cutoff.source


class RiskAnswer(_OfAnAge, frozen=True, kw_only=True):
    """Coded answers that the table grades."""

    signal: CodedSignal
    risk: Risk
    answers: frozenset[Enum]
    source: Source
