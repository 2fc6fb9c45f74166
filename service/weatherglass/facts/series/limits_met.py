"""Does a value meet a limit, wherever in its interval it lies?"""

from enum import IntEnum

from weatherglass.model.record.values import Measurement
from weatherglass.model.tables.bands import Cutoff


class Met(IntEnum):
    """Whether a value meets a limit; `MAYBE` where only an interval is known."""

    NO = 0
    MAYBE = 1
    YES = 2


def meets(cutoff: Cutoff, measured: Measurement) -> Met:
    """Tell whether a value meets a limit, wherever in its interval it lies.

    Examples:
        >>> from datetime import UTC, datetime
        >>> from decimal import Decimal
        >>> from weatherglass.knowledge.medicines.rules import triggers
        >>> from weatherglass.model.record.values import Spread
        >>> from weatherglass.model.sources import Origin
        >>> def value(number: str, low: str | None = None, high: str | None = None) -> Measurement:
        ...     spread = Spread(low and Decimal(low), high and Decimal(high)) if low or high else None
        ...     return Measurement(Decimal(number), datetime.now(UTC), Origin("Observation/x"), spread)
        >>> meets(triggers.LOW_MAGNESIUM, value("0.3", high="0.3")).name  # Reported as below 0.3.
        'YES'
        >>> meets(triggers.INR_ABOVE_EVERY_TARGET, value("4", low="4")).name
        'YES'
        >>> meets(triggers.LOW_MAGNESIUM, value("0.7", "0.6", "0.8")).name
        'MAYBE'
    """
    if measured.is_exact:
        return Met.YES if cutoff.is_met_by(measured.value) else Met.NO
    low, high = measured.lowest, measured.highest
    best, worst = (low, high) if cutoff.compare.is_upward else (high, low)
    # "More than 8" is beyond a limit of 8 although 8 itself is not.
    if best is not None and (cutoff.is_met_by(best) or (worst is None and best == cutoff.limit.value)):
        return Met.YES
    return Met.MAYBE if worst is None or cutoff.is_met_by(worst) else Met.NO


def surely(cutoff: Cutoff, measured: Measurement) -> bool:
    """Tell whether every value that a result allows is beyond a limit: "> 6.0" is 3.0 or more."""
    return meets(cutoff, measured) is Met.YES
