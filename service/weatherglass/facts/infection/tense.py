"""Values in the sentences about sepsis: in the present while they are new, then in the past."""

from datetime import datetime

from weatherglass.facts.patient.illness import Illness
from weatherglass.knowledge.sepsis import sepsis_strata as sepsis
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.words.value_words import value_words


def told_value(patient: Illness, signal: Signal, one: Measurement) -> str:
    """Say a value with its unit: 'lactate 3.2 mmol/L', or 'lactate (was 3.2 mmol/L at 22:00 ...)'."""
    return told(patient, signal.label, value_words(signal, one), one.at)


def told(patient: Illness, label: str, shown: str, at: datetime, *, is_answer: bool = False) -> str:
    """Say what was seen, in the past tense and with its time where that is some hours ago.

    An answer stands in brackets behind what was asked.
    """
    if not _is_new(patient, at):
        return f"{label} (was {shown} {patient.clock.at(at)})"
    return f"{label} ({shown})" if is_answer else f"{label} {shown}"


def told_plainly(patient: Illness, label: str, shown: str, at: datetime) -> str:
    """Say the same without brackets, as the head of a sentence has it."""
    return f"{label} {shown}" if _is_new(patient, at) else f"{label} was {shown} {patient.clock.at(at)}"


def _is_new(patient: Illness, at: datetime) -> bool:
    return patient.as_of - at <= sepsis.TOLD_WITH_ITS_TIME.length
