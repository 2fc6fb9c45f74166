"""By how many percent a result may differ from the one before it by chance, with where that is stated.

Worked out of the variation of method and person, or printed as such; the rows stand with `trend_limits`.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from weatherglass.knowledge.signs.trend_limits import BIOLOGICAL_VARIATION, PUBLISHED_REFERENCE_CHANGES
from weatherglass.model.numbers.statistics import (
    ReferenceChange,
    log_normal_reference_change,
    reference_change,
)
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Source


def _changes() -> dict[Signal, tuple[ReferenceChange, Source]]:
    found = {}
    for varies in BIOLOGICAL_VARIATION:
        compute = reference_change if varies.form == "symmetric" else log_normal_reference_change
        change = compute(analytical_cv=varies.analytical_cv, within_subject_cv=varies.within_subject_cv)
        found[varies.signal] = (change, varies.source)
    for printed in PUBLISHED_REFERENCE_CHANGES:
        found[printed.signal] = (ReferenceChange(printed.percent, -printed.percent), printed.source)
    return found


REFERENCE_CHANGES: Final[Mapping[Signal, tuple[ReferenceChange, Source]]] = _changes()


def rise_by_chance(signal: Signal) -> Decimal:
    """Return how much a result may rise by chance alone, in percent of the earlier one."""
    return REFERENCE_CHANGES[signal][0].rise
