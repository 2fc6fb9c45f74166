"""Results that belong to pre-eclampsia and to HELLP syndrome, beyond the limits of their publication."""

from collections.abc import Iterator, Sequence

from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.limits import heart_and_pressure as limits
from weatherglass.model.record import Measurement
from weatherglass.model.signals import Signal

PREECLAMPSIA_RESULTS = (
    (Signal.PLATELETS, limits.PREECLAMPSIA_PLATELETS),
    (Signal.CREATININE, limits.PREECLAMPSIA_CREATININE),
    (Signal.ALT, limits.PREECLAMPSIA_LIVER),
    (Signal.AST, limits.PREECLAMPSIA_LIVER),
)


def preeclampsia_results(patient: Illness) -> Iterator[tuple[Signal, Measurement]]:
    """Return the newest results that belong to pre-eclampsia and are beyond its limits."""
    for signal, cutoff in PREECLAMPSIA_RESULTS:
        newest = patient.record.series(signal).recent(patient.as_of, patient.choices.laboratory_counts_for)
        if newest is not None and newest.spread is None and cutoff.is_met_by(newest.value):
            yield signal, newest


def may_be_hellp(blood: Sequence[tuple[Signal, Measurement]]) -> bool:
    """Tell whether platelets are low enough and a liver test is raised."""
    found = dict(blood)
    platelets = found.get(Signal.PLATELETS)
    has_liver = Signal.ALT in found or Signal.AST in found
    return has_liver and platelets is not None and limits.HELLP_PLATELETS.is_met_by(platelets.value)
