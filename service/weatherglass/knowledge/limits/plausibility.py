"""Which values cannot be true at a bedside: limits against artefact and wrong units.

Data only: the ranges of `plausible-ranges.csv`. A value outside its limit is left out of scores and
said to be an artefact, never dropped in silence. The bedside limits are ours and tighter than those
of the research extraction code, which stand in for signals without one of ours.

Ours, and why: a breathing rate above 80 is an artefact in an adult and a sick infant, so
the limit for children is the entry limit of the national paediatric specification.

Left out, with reasons:
    Weight and height of the research code (250 kg, 275 cm): real patients exceed the first.
    Lactate of the research code (33 mmol/L): below our bedside limit and not impossible.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, csv_rows
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source

PUBLIC_KEY: Final = "plausibility"
_PRINTED: Final = PrintedRows("limits/plausibility-rows")


class PlausibleRange(Columns, frozen=True, kw_only=True):
    """The values that can be true, both ends inside, in the signal's unit.

    Raises:
        ValueError: When the ends are the wrong way round.
    """

    where: Literal["bedside", "bedside, under 16 years", "research"] = "bedside"
    signal: Signal
    low: Decimal
    high: Decimal
    source: Source
    remark: str = ""  # For whoever reviews the file; never shown.

    def __post_init__(self) -> None:
        """Refuse an empty range."""
        if self.low >= self.high:
            raise ValueError(f"{self.signal}: the range {self.low}-{self.high} is empty.")

    @property
    def unit(self) -> Unit:
        """The unit of both ends."""
        return self.signal.unit

    def holds(self, value: Decimal) -> bool:
        """Tell whether a value in the signal's unit can be true."""
        return self.low <= value <= self.high


_ROWS: Final = csv_rows("limits/plausible-ranges.csv", PlausibleRange)


def _ranges(where: str) -> dict[Signal, PlausibleRange]:
    return {row.signal: row for row in _ROWS if row.where == where}


BEDSIDE_LIMITS: Final = _ranges("bedside")
#: Instead of the above under `CHILD_BELOW`.
CHILD_BEDSIDE_LIMITS: Final = _ranges("bedside, under 16 years")
CHILD_BELOW: Final = _PRINTED.age("child-below")

#: For signals without a bedside limit of ours; converted where the code prints mass units.
HARD_LIMITS: Final = _ranges("research")

SPO2_VERIFY: Final = _PRINTED.cutoff("spo2-verify")
DIASTOLIC_BELOW_SYSTOLIC: Final = _PRINTED.clause("diastolic-below-systolic")
#: No breathing or no pulse is an emergency or an artefact, and never a normal value.
ZERO_MEANS_CHECK: Final = frozenset({Signal.RESPIRATION_RATE, Signal.PULSE})
ZERO_MEANS_CHECK_RULE: Final = _PRINTED.clause("zero-means-check-rule")


def limits_for(signal: Signal, *, is_child: bool) -> PlausibleRange | None:
    """Return the range that holds for a signal, or `None` where there is none.

    Args:
        signal: What was measured.
        is_child: Whether the person is under `CHILD_BELOW`.
    """
    if is_child and signal in CHILD_BEDSIDE_LIMITS:
        return CHILD_BEDSIDE_LIMITS[signal]
    return BEDSIDE_LIMITS.get(signal) or HARD_LIMITS.get(signal)
