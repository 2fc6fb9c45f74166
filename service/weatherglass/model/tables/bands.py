"""The two shapes published bedside criteria come in: rows and cut-offs.

A `BandTable` is typed in row by row as printed and checked when it is built:
rows ascend, the outer rows are open-ended, and neighbours are exactly one
printed step apart. A mistyped row fails at import, not at a bedside. A
`Cutoff` is a single printed number together with the printed inequality.

Printed rows leave gaps ("36.0", then "36.1"). What to do with a value in a gap
is our decision, not the source's, so every table states its `GapRule`.

This module knows nothing about any particular score. The numbers live in
`weatherglass.knowledge`.
"""

from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum, StrEnum
from itertools import pairwise
from operator import ge, gt, le, lt
from typing import Final

from weatherglass.model.numbers.quantities import Quantity, Unit, UnitMismatchError, round_half_up
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source


class GapRule(StrEnum):
    """What happens to a value that falls between two printed rows."""

    ROUND_HALF_UP = "round half up to the printed step"
    KEEP_LOWER_ROW = "keep the lower row until the next row's first number is reached"


class Band(Plain, frozen=True):
    """One printed row: inclusive at both ends, `None` where it is open."""

    low: Decimal | None
    high: Decimal | None
    points: int


def band(low: str | None, high: str | None, points: int) -> Band:
    """Type in one row as it is printed."""
    return Band(None if low is None else Decimal(low), None if high is None else Decimal(high), points)


@dataclass(frozen=True, slots=True, kw_only=True)
class BandTable:
    """Points by value, as printed.

    Attributes:
        unit: The unit the publication prints.
        step: The printed resolution; neighbouring rows are one step apart.
        gap_rule: Ours, always: what a value between rows scores.
        bands: The rows, ascending, open at both ends.
        source: Where the rows are printed.

    Raises:
        ValueError: When the rows do not ascend, leave more than one step, or
            are closed at an end.
    """

    unit: Unit
    step: Decimal
    gap_rule: GapRule
    bands: tuple[Band, ...]
    source: Source
    _starts: tuple[Decimal, ...] = field(init=False, repr=False)
    _points: tuple[int, ...] = field(init=False, repr=False)
    lowest: int = field(init=False, repr=False)  #: The fewest points any value can score.
    highest: int = field(init=False, repr=False)  #: The most points any value can score.

    def __post_init__(self) -> None:
        """Check the rows and lay them out for bisection."""
        bands = self.bands
        if not bands or bands[0].low is not None or bands[-1].high is not None:
            raise ValueError(f"{self.source.locator}: the outer rows must be open-ended.")
        for row, following in pairwise(bands):
            if row.high is None or following.low is None:
                raise ValueError(f"{self.source.locator}: only the outer rows may be open.")
            if following.low - row.high != self.step:
                raise ValueError(
                    f"{self.source.locator}: rows {row.high} and {following.low} "
                    f"are not one step ({self.step}) apart."
                )
        for row in bands:
            if row.low is not None and row.high is not None and row.high < row.low:
                raise ValueError(f"{self.source.locator}: row {row.low}-{row.high} descends.")
        # A value belongs to the last row whose start it reaches. Rounding half up to
        # the step is the same as starting each row half a step early, so that no
        # value needs to be rounded on the way to its points.
        early = self.step / 2 if self.gap_rule is GapRule.ROUND_HALF_UP else Decimal(0)
        starts = tuple(row.low - early for row in bands if row.low is not None)
        object.__setattr__(self, "_starts", starts)
        object.__setattr__(self, "_points", tuple(row.points for row in bands))
        object.__setattr__(self, "lowest", min(row.points for row in bands))
        object.__setattr__(self, "highest", max(row.points for row in bands))

    def points(self, quantity: Quantity) -> int:
        """Return the points of a value.

        Raises:
            UnitMismatchError: If the value is in another unit than the table.
        """
        if quantity.unit is not self.unit:
            raise UnitMismatchError(expected=self.unit, actual=quantity.unit)
        return self.points_of(quantity.value)

    def points_of(self, value: Decimal) -> int:
        """Return the points of a number already known to be in the table's unit."""
        # A value equal to a start has reached that row.
        return self._points[bisect_right(self._starts, value)]

    def points_between(self, low: Decimal | None, high: Decimal | None) -> tuple[int, int]:
        """Return the lowest and highest points any value of an interval could score.

        An open end (`None`) reaches to the table's outer row.
        """
        first = 0 if low is None else bisect_right(self._starts, low)
        last = len(self._points) - 1 if high is None else bisect_right(self._starts, high)
        span = self._points[first : last + 1]
        return min(span), max(span)

    def read_as(self, value: Decimal) -> Decimal:
        """Return the value as the table reads it: rounded where the gap rule rounds."""
        if self.gap_rule is GapRule.ROUND_HALF_UP:
            return round_half_up(value, self.step)
        return value


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceTable:
    """Points by a coded answer, as printed ("V, P or U: 3")."""

    points_by_choice: Mapping[Enum, int]
    source: Source
    lowest: int = field(init=False, repr=False)  #: The fewest points any answer can score.
    highest: int = field(init=False, repr=False)  #: The most points any answer can score.

    def __post_init__(self) -> None:
        """Note the range."""
        object.__setattr__(self, "lowest", min(self.points_by_choice.values()))
        object.__setattr__(self, "highest", max(self.points_by_choice.values()))

    def points_of(self, choice: Enum) -> int:
        """Return the points of an answer; every answer of the scale is listed."""
        return self.points_by_choice[choice]


class Compare(StrEnum):
    """The printed inequality of a cut-off."""

    AT_LEAST = ">="
    ABOVE = ">"
    AT_MOST = "<="
    BELOW = "<"

    __hash__ = str.__hash__  # In C: it is looked up for every value and every cut-off.

    @property
    def is_upward(self) -> bool:
        """Whether larger values meet it."""
        return self in (Compare.AT_LEAST, Compare.ABOVE)


_MEETS: Final[Mapping[Compare, Callable[[Decimal, Decimal], bool]]] = {
    Compare.AT_LEAST: ge,
    Compare.ABOVE: gt,
    Compare.AT_MOST: le,
    Compare.BELOW: lt,
}


class Cutoff(Plain, frozen=True, kw_only=True):
    """A single printed number with its printed inequality.

    Examples:
        >>> from weatherglass.model.sources import our_choice
        >>> low = Cutoff(compare=Compare.BELOW, limit=Quantity(Decimal("4.0"),
        ...     Unit.MILLIMOLE_PER_LITRE), source=our_choice("example"))
        >>> low.is_met_by(Decimal("3.9")), low.is_met_by(Decimal("4.0"))
        (True, False)
    """

    compare: Compare
    limit: Quantity
    source: Source

    def is_met(self, quantity: Quantity) -> bool:
        """Tell whether a value meets the cut-off.

        Raises:
            UnitMismatchError: If the value is in another unit than the cut-off.
        """
        return self.is_met_by(quantity.value_in(self.limit.unit))

    def is_met_by(self, value: Decimal) -> bool:
        """Tell whether a number already known to be in the printed unit meets it."""
        return _MEETS[self.compare](value, self.limit.value)

    @property
    def printed(self) -> str:
        """The cut-off as a reader sees it: ">= 26.5 umol/L"."""
        return f"{self.compare.value} {self.limit.value} {self.limit.unit.value}"
