"""Results that belong to pre-eclampsia and to HELLP syndrome, beyond the limits of their publication."""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.series.limits_met import Beyond, reaches
from weatherglass.knowledge.signs import heart_and_pressure as limits
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff

PREECLAMPSIA_RESULTS = (
    (Signal.PLATELETS, limits.PREECLAMPSIA_PLATELETS),
    (Signal.CREATININE, limits.PREECLAMPSIA_CREATININE),
    (Signal.ALT, limits.PREECLAMPSIA_LIVER),
    (Signal.AST, limits.PREECLAMPSIA_LIVER),
)


def preeclampsia_results(patient: Illness) -> Iterator[tuple[Signal, Beyond]]:
    """Return the newest results that belong to pre-eclampsia and are beyond its limits, and since when."""
    for signal, cutoff in PREECLAMPSIA_RESULTS:
        found = _newest(patient, signal, cutoff)
        if found is not None:
            yield signal, found


def hellp_since(patient: Illness) -> datetime | None:
    """Return since when platelets are low enough and a liver test is raised; None where they are not both."""
    platelets = _newest(patient, Signal.PLATELETS, limits.HELLP_PLATELETS)
    tests = (_newest(patient, one, limits.PREECLAMPSIA_LIVER) for one in (Signal.ALT, Signal.AST))
    liver = [one.since for one in tests if one is not None]
    return max(platelets.since, min(liver)) if platelets is not None and liver else None


def _newest(patient: Illness, signal: Signal, cutoff: Cutoff) -> Beyond | None:
    return patient.newest_beyond(signal, reaches(cutoff), patient.choices.laboratory_counts_for)
