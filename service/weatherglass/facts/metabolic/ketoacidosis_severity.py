"""What makes a ketoacidosis severe: any one of the published values, each where it was measured."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.limits_met import surely
from weatherglass.knowledge.metabolic.metabolic import SEVERITY, Severity
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import POTASSIUM_OF_EITHER, Signal
from weatherglass.model.sources import Mark

#: Ours: a potassium so near the beginning is the one of the admission.
_NEAR_THE_BEGINNING: Final = timedelta(hours=4)
_SAME_ROUND: Final = timedelta(hours=1)


class Severe(Plain, frozen=True):
    """One value that is met."""

    row: Severity
    result: Measurement

    @property
    def is_remembered(self) -> bool:
        """Whether the row is from memory and decides nothing alone."""
        return self.row.source.mark is Mark.FROM_MEMORY

    @property
    def words(self) -> str:
        """The value: 'pH 6.95'."""
        return f"{self.row.name} {plain(self.result.value)}"


def severity_of(bedside: Bedside, since: datetime) -> tuple[Severe, ...]:
    """Return what makes the ketoacidosis that began at a moment severe, each value once."""
    found = {one.row.label: one for one in _met(bedside, since)}
    return tuple(found.values())


def _met(bedside: Bedside, since: datetime) -> Iterator[Severe]:
    for row in SEVERITY:
        result = _result(bedside, row.signal, since)
        if result is not None and surely(row.cutoff, result):
            yield Severe(row, result)


def _result(bedside: Bedside, signal: Signal, since: datetime) -> Measurement | None:
    series = bedside.series(signal)
    if signal in POTASSIUM_OF_EITHER:
        return series.nearest(since, _NEAR_THE_BEGINNING)
    newest = series.recent(bedside.as_of, bedside.choices.gas_counts_for)
    if signal is Signal.SPO2 and newest is not None and not _on_air(bedside, newest.at):
        return None
    return newest


def _on_air(bedside: Bedside, at: datetime) -> bool:
    near = [point for point in bedside.oxygen_course if abs(point.at - at) <= _SAME_ROUND]
    return bool(near) and not near[-1].is_oxygen
