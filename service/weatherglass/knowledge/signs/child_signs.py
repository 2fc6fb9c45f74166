"""Single signs of a child that call by themselves, by age.

Data only. The limits are the outermost cells of Bedside PEWS 2009, Table 1, each of which scores
4 alone; of a low systolic pressure the cell that scores 2 as well, and from 13 years what lies
below 90. The paper prescribes no response to one cell: the urgency is ours. Below the outermost cell
of breathing, pulse or pressure nobody waits for the rest of the set.

Left out: breathing and pulse that score 2, which a crying or feverish child reaches.
"""

from decimal import Decimal
from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.knowledge.signs.single_signs import SingleSign, Whose
from weatherglass.model.numbers.quantities import Quantity
from weatherglass.model.plain import replace
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import BandTable, Compare, Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "child-signs"
_ROWS: Final = PrintedRows("signs/child-signs-rows", globals())
_LOW: Final = _ROWS.source("low")
_PRESSURE: Final = _ROWS.source("pressure")
_HIGH: Final = _ROWS.source("high")


def _limit(table: BandTable, *, points: int, low: bool) -> Decimal:
    """Return the printed limit of a cell: its upper end on the low side, its lower end on the high."""
    cells = [one for one in table.bands if one.points == points]
    found = cells[0].high if low else cells[-1].low
    if found is None:
        raise ValueError("The cell has no end on this side.")
    return found


def _sign(
    key: str, signal: Signal, label: str, table: BandTable, points: int, urgency: UrgencyWord
) -> SingleSign:
    low = key.endswith("-low")
    return SingleSign(
        key=key,
        signal=signal,
        label=label,
        cutoff=Cutoff(
            compare=Compare.AT_MOST if low else Compare.AT_LEAST,
            limit=Quantity(_limit(table, points=points, low=low), signal.unit),
            source=table.source,
        ),
        urgency=urgency,
        whose=Whose.CHILDREN,
        nearest=_HIGH if not low else _LOW if urgency == "emergency" else _PRESSURE,
    )


_RR, _HR, _SBP = Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SYSTOLIC_PRESSURE


def _group(place: int) -> tuple[SingleSign, ...]:
    breathing, pulse = pews.RESPIRATION_RATE[place], pews.HEART_RATE[place]
    pressure = pews.SYSTOLIC_PRESSURE[place]
    return (
        _sign("respiration-low", _RR, "Breathing", breathing, 4, "emergency"),
        _sign("respiration-high", _RR, "Breathing", breathing, 4, "urgent"),
        _sign("pulse-low", _HR, "Pulse", pulse, 4, "emergency"),
        _sign("pulse-high", _HR, "Pulse", pulse, 4, "urgent"),
        _sign("systolic-low", _SBP, "Systolic pressure", pressure, 4, "emergency"),
        _sign("systolic-low", _SBP, "Systolic pressure", pressure, 2, "urgent"),
        _sign("systolic-high", _SBP, "Systolic pressure", pressure, 4, "urgent"),
    )


_FROM_13: Final = _ROWS.cutoff("pressure-from-13")


def _of_age(place: int) -> tuple[SingleSign, ...]:
    """Return the limits of a group; in the oldest one a pressure calls a little earlier than its cell."""
    if place < len(pews.BEDSIDE_PEWS) - 1:
        return _group(place)
    return tuple(
        replace(one, cutoff=_FROM_13) if (one.key, one.urgency) == ("systolic-low", "urgent") else one
        for one in _group(place)
    )


#: In the order of the age groups of Bedside PEWS, youngest first.
CHILD_SIGNS: Final = tuple(map(_of_age, range(len(pews.BEDSIDE_PEWS))))
_EARLY: Final = _ROWS.source("pressure-of-the-early")
_STEPS: Final[tuple[tuple[UrgencyWord, Decimal], ...]] = (
    ("emergency", Decimal(0)),
    ("urgent", _ROWS.share("pressure-to-spare").value),
)


def systolic_of_the_early(weeks: int) -> tuple[SingleSign, ...]:
    """Return what a systolic pressure of a newborn born early calls at, by the weeks of gestation."""
    return tuple(
        replace(
            _sign("systolic-low", _SBP, "Systolic pressure", pews.SYSTOLIC_PRESSURE[0], 4, urgency),
            cutoff=Cutoff(
                compare=Compare.BELOW,
                limit=Quantity(weeks + more, _SBP.unit),
                source=_EARLY,
            ),
        )
        for urgency, more in _STEPS
    )


_SLOW: Final = _ROWS.source("slow")
#: Breathing that is slow in a drowsy child, in the same order.
SLOW_BREATHING: Final = tuple(
    Cutoff(
        compare=Compare.AT_MOST,
        limit=Quantity(_limit(table, points=2, low=True), _RR.unit),
        source=_SLOW,
    )
    for table in pews.RESPIRATION_RATE
)
