"""Adjusted calcium: the laboratory's own first, else worked out from the total and the albumin.

An ionised calcium taken near says more than either and stands in its own series. A total without
an albumin is kept as it is and marked: it may seem low where only the albumin is.
"""

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.model.plain import replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Series
from weatherglass.model.signals import Signal

#: Methods of results that are worked out here; no sender's code has these words.
ADJUSTED_HERE: Final = "adjusted here"
NOT_ADJUSTED: Final = "total, no albumin"
#: Ours: results this near are of one sample, or as good as.
_NEAR = timedelta(hours=4)


def adjusted_calcium(record: Record) -> tuple[Measurement, ...]:
    """Return every adjusted calcium, oldest first, those worked out here among them."""
    own = record.series(Signal.CALCIUM_ADJUSTED).items
    totals = record.series(Signal.CALCIUM_TOTAL).items
    if not totals:
        return own
    return tuple(sorted((*own, *_from_totals(record)), key=lambda one: one.at))


def series_of(record: Record, signal: Signal) -> Series[Measurement]:
    """Return the values of a signal; of adjusted calcium those worked out here among them."""
    return Series(adjusted_calcium(record)) if signal is Signal.CALCIUM_ADJUSTED else record.series(signal)


def signals_of(record: Record) -> frozenset[Signal]:
    """Return every signal of which `series_of` can have a value."""
    of_calcium = (Signal.CALCIUM_ADJUSTED,) if Signal.CALCIUM_TOTAL in record.numbers else ()
    return frozenset((*record.numbers, *of_calcium))


def _from_totals(record: Record) -> Iterator[Measurement]:
    better = [record.series(s) for s in (Signal.CALCIUM_ADJUSTED, Signal.CALCIUM_IONISED)]
    exact = Series([one for one in record.series(Signal.ALBUMIN).items if one.is_exact])
    for total in record.series(Signal.CALCIUM_TOTAL).items:
        if any(series.nearest(total.at, _NEAR) is not None for series in better):
            continue
        albumin = exact.nearest(total.at, limits.ALBUMIN_NEAR.length)
        if albumin is None or not total.is_exact:
            yield replace(total, method=NOT_ADJUSTED)
            continue
        missing = limits.ALBUMIN_NORMAL.value - albumin.value
        value = total.value + limits.CALCIUM_FOR_ALBUMIN.value * missing
        # The range that came with the total is not one of the adjusted value.
        yield replace(total, value=value, method=ADJUSTED_HERE, reference_low=None, reference_high=None)
