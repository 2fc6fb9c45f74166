"""What publications print besides tables and single numbers.

A `Window` is a length of time, an `AgeLimit` an age from which or below which a
criterion holds, a `Share` a plain number without a unit, a `Clause` a
sentence that carries no number. Each has its `Source`, as every table has.
"""

from datetime import timedelta
from decimal import Decimal

from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source


class Window(Plain, frozen=True, kw_only=True):
    """A length of time that a criterion looks back over, or an interval it asks for.

    Raises:
        ValueError: When the length is not greater than zero.
    """

    length: timedelta
    source: Source

    def __post_init__(self) -> None:
        """Refuse a window without extent."""
        if self.length <= timedelta(0):
            raise ValueError(f"{self.source.locator}: a window must be longer than zero.")


class AgeLimit(Plain, frozen=True, kw_only=True):
    """An age in completed years (or days) that separates two groups.

    Someone exactly at the limit belongs to the older group.
    """

    source: Source
    years: int = 0
    days: int = 0

    def __post_init__(self) -> None:
        """Refuse a limit that is neither in years nor in days."""
        if (self.years > 0) == (self.days > 0):
            raise ValueError(f"{self.source.locator}: give either years or days.")


class Share(Plain, frozen=True, kw_only=True):
    """A number without a unit: a proportion, a factor, a count."""

    value: Decimal
    source: Source


class Clause(Plain, frozen=True, kw_only=True):
    """A rule that a publication states in words; the words here are ours."""

    text: str
    source: Source
