"""Why infection is suspected, spelled out beside the sentences about sepsis."""

from collections.abc import Iterator

from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.model.findings import Measure


def infection_measures(infection: SuspectedInfection) -> Iterator[Measure]:
    """Spell out why infection is suspected, and its treatment."""
    label = "suspected or known infection"
    for one in infection.conditions:
        yield Measure(key="infection", label=label, value=one.text, at=one.began, origin=one.origin)
    for reason in infection.reasons:
        yield Measure(key="infection", label=label, value=reason.text, at=reason.at, origin=reason.origin)
    for order in infection.orders:
        yield Measure(
            key="antibacterial", label="on the chart", value=order.medicine.text, origin=order.origin
        )
    if infection.doses:
        dose = infection.doses[-1]
        yield Measure(
            key="last-dose", label="last dose", value=dose.medicine.text, at=dose.at, origin=dose.origin
        )
