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

from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.sepsis.paediatric_sepsis import RATES
from weatherglass.model.clauses import Clause, Share
from weatherglass.model.quantities import Quantity, Unit
from weatherglass.model.signals import Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.risk_tables import Risk

PUBLIC_KEY: Final = "child-trends"

_SIZE: Final = our_choice(
    "in a child a steady trend counts from a quarter of breathing, a fifth of pulse, 15 % of systolic "
    "pressure or 3 % of saturation: fear, feeding and sleep move less than that steadily"
)
#: By which share of where it began a sign has to have changed; of saturation the points of a percent.
RISE_OF_BREATHING: Final = Share(value=Decimal("0.25"), source=_SIZE)
RISE_OF_PULSE: Final = Share(value=Decimal("0.20"), source=_SIZE)
FALL_OF_PRESSURE: Final = Share(value=Decimal("0.15"), source=_SIZE)
FALL_OF_SATURATION: Final = Share(value=Decimal(3), source=_SIZE)
LOW_SATURATION: Final = Cutoff(
    compare=Compare.AT_MOST,
    limit=Quantity(Decimal(94), Unit.PERCENT),
    source=our_choice(
        "a falling saturation counts from 94 %, the upper end of the middle cell of Bedside PEWS"
    ),
)
FROM_12_YEARS: Final = Cutoff(
    compare=Compare.AT_LEAST,
    limit=Quantity(Decimal(110), Unit.PER_MINUTE),
    source=our_choice(
        "from 12 years a rising pulse counts from 110: 91, as in suspected sepsis, is within fear"
    ),
)
PROMPT: Final = Clause(
    text="A steady trend away from a child's own normal is prompt, whatever a score says.",
    source=our_choice(
        "a steady trend in a child is 'prompt': the bands that would grade it are not available"
    ),
)
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
    place = next(n for n, group in enumerate(pews.BEDSIDE_PEWS) if group.covers(max(months, 0)))
    table = pews.SYSTOLIC_PRESSURE[place]
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
