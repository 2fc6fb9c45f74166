"""Results that are clearly abnormal, short of every limit that calls, and not this person's own level."""

from collections.abc import Iterator

from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.limits.out_of_range import OUT_OF_RANGE, USUAL_AFTER, USUAL_FOR, OutOfRange
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal


def out_of_range(patient: Illness) -> Iterator[tuple[Signal, Measurement]]:
    """Yield the newest result of each kind that is abnormal without a reason on record."""
    for row in OUT_OF_RANGE:
        values = patient.exact(row.signal, patient.choices.laboratory_counts_for)
        is_abnormal = values and row.cutoff.is_met_by(values[-1].value)
        if is_abnormal and not _is_explained(patient, row) and not _is_usual(row, values):
            yield row.signal, values[-1]


def _is_explained(patient: Illness, row: OutOfRange) -> bool:
    return (bool(row.unless) and patient.record.has(*row.unless)) or bool(patient.on_chart(row.unless_on))


def _is_usual(row: OutOfRange, values: tuple[Measurement, ...]) -> bool:
    newest = values[-1].at
    return any(
        USUAL_AFTER.length < newest - one.at <= USUAL_FOR.length and row.cutoff.is_met_by(one.value)
        for one in values
    )
