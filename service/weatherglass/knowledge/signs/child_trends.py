"""Steady trends of a child's vital signs against its own beginning: how large, and beyond what they end.

The national paediatric score has bands that are not available here, so a child is followed against its
own normal. Where a trend has to end comes from the tables of suspected sepsis and of Bedside PEWS; how
large it has to be is ours.

Left out, with reasons:
    Temperature: fever comes and goes in children and is asked about where infection is.
"""

from collections.abc import Callable
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.sepsis.paediatric_sepsis import RATES
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.tables.risk_tables import Risk

PUBLIC_KEY: Final = "child-trends"
_ROWS: Final = PrintedRows("signs/child-trends-rows", globals())

RISE_OF_BREATHING: Final = _ROWS.share("rise-of-breathing")
RISE_OF_PULSE: Final = _ROWS.share("rise-of-pulse")
FALL_OF_PRESSURE: Final = _ROWS.share("fall-of-pressure")
FALL_OF_SATURATION: Final = _ROWS.share("fall-of-saturation")
LOW_SATURATION: Final = _ROWS.cutoff("low-saturation")
FROM_12_YEARS: Final = _ROWS.cutoff("from-12-years")
_TWELVE: Final = 144
_LESS: Final = {Signal.RESPIRATION_RATE: RISE_OF_BREATHING, Signal.PULSE: RISE_OF_PULSE}


def rate_limit(signal: Signal, months: int) -> Cutoff | None:
    """Return from which rate a rise counts: moderate risk in suspected sepsis at that age."""
    if signal is Signal.PULSE and months >= _TWELVE:
        return FROM_12_YEARS
    return next(
        (
            row.cutoff
            for row in RATES
            if row.signal is signal
            and row.risk is Risk.MODERATE
            and row.from_months <= months
            and (row.below_months is None or months < row.below_months)
        ),
        None,
    )


def _rises(signal: Signal, months: int) -> Callable[[Decimal, Decimal], bool]:
    limit, share = rate_limit(signal, months), _LESS[signal].value
    return lambda first, last: (
        limit is not None
        and limit.is_met_by(last)
        and not limit.is_met_by(first)
        and last >= first * (1 + share)
    )


def _pressure_falls(months: int) -> Callable[[Decimal, Decimal], bool]:
    table = pews.SYSTOLIC_PRESSURE[pews.age_group(months)]
    share = 1 - FALL_OF_PRESSURE.value
    return lambda first, last: (
        last <= first * share and bool(table.points_of(last)) and not table.points_of(first)
    )


def _saturation_falls(first: Decimal, last: Decimal) -> bool:
    return first - last >= FALL_OF_SATURATION.value and LOW_SATURATION.is_met_by(last)


def size_in_a_child(signal: Signal, months: int) -> Callable[[Decimal, Decimal], bool] | None:
    """Return what tells, of a first and a last value, whether a trend is large enough; None elsewhere."""
    if signal in _LESS:
        return _rises(signal, max(months, 0))
    if signal is Signal.SYSTOLIC_PRESSURE:
        return _pressure_falls(months)
    return _saturation_falls if signal is Signal.SPO2 else None
