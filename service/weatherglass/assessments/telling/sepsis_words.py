"""What the sentences about sepsis share: the treatment in them, and why infection is suspected."""

from collections.abc import Iterator

from weatherglass.facts.infection.antimicrobial import Treatment
from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.knowledge.sepsis.other_causes import BACTERIA_ARE_ASKED
from weatherglass.model.findings import Measure
from weatherglass.model.sources import Cited
from weatherglass.model.words.lists import capital


def infection_measures(infection: SuspectedInfection) -> Iterator[Measure]:
    """Spell out why infection is suspected, and its treatment."""
    label = "suspected or known infection"
    for one in infection.conditions:
        yield Measure("infection", label, one.text, at=one.began, origin=one.origin)
    for reason in infection.reasons:
        yield Measure("infection", label, reason.text, at=reason.at, origin=reason.origin)
    for order in infection.orders:
        key = "antimicrobial" if order in infection.treating else "antibacterial"
        yield Measure(key, "on the chart", order.medicine.text, origin=order.origin)
    if infection.doses:
        dose = infection.doses[-1]
        yield Measure("last-dose", "last dose", dose.medicine.text, at=dose.at, origin=dose.origin)


def cause_sources(infection: SuspectedInfection) -> Iterator[Cited]:
    """Yield what a sentence rests on that does not ask for an antibacterial."""
    if infection.cause is not None:
        yield infection.cause
        yield BACTERIA_ARE_ASKED


def with_treatment(said: str, treatment: Treatment | None) -> str:
    """Say a risk of sepsis and its treatment in one sentence; a deadline that is past comes first."""
    if treatment is None:
        return f"{capital(said)}."
    if treatment.is_overdue:
        return f"{capital(treatment.words)}; {said}."
    return f"{capital(said)}; {treatment.words}."
