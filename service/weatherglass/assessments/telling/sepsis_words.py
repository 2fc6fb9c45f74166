"""Values in the sentences about sepsis: in the present while they are new, then in the past."""

from collections.abc import Iterator
from datetime import datetime

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.infection.infection import SuspectedInfection
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.model.findings import Measure
from weatherglass.model.quantities import plain, unit_words
from weatherglass.model.record import Measurement
from weatherglass.model.signals import FACTS, Signal


def value_words(bedside: Bedside, signal: Signal, one: Measurement) -> str:
    """Say a value with its unit: 'lactate 3.2 mmol/L', or 'lactate (was 3.2 mmol/L at 22:00 ...)'."""
    shown = f"{plain(one.value)} {unit_words(FACTS[signal].unit)}".rstrip()
    return told(bedside, FACTS[signal].label, shown, one.at)


def told(bedside: Bedside, label: str, shown: str, at: datetime, *, is_answer: bool = False) -> str:
    """Say what was seen, in the past tense and with its time where that is some hours ago.

    An answer stands in brackets behind what was asked.
    """
    if not _is_new(bedside, at):
        return f"{label} (was {shown} {bedside.clock.at(at)})"
    return f"{label} ({shown})" if is_answer else f"{label} {shown}"


def told_plainly(bedside: Bedside, label: str, shown: str, at: datetime) -> str:
    """Say the same without brackets, as the head of a sentence has it."""
    return f"{label} {shown}" if _is_new(bedside, at) else f"{label} was {shown} {bedside.clock.at(at)}"


def _is_new(bedside: Bedside, at: datetime) -> bool:
    return bedside.as_of - at <= sepsis.TOLD_WITH_ITS_TIME.length


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
