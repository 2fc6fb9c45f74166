"""What the tests of crises are built of: signs, problems and operations, and what is asked of them."""

from typing import Any

from tests.charts import ago, condition, findings, rounds
from weatherglass.knowledge.emergencies.crises import CRISES
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

KEYS = frozenset(each.key for each in CRISES)


E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT


T, HR, BILI, CK = Signal.TEMPERATURE, Signal.PULSE, Signal.BILIRUBIN, Signal.CREATINE_KINASE


CALM, CONFUSED, VOICE = Consciousness.ALERT, Consciousness.NEW_CONFUSION, Consciousness.VOICE


def ill(mind: Consciousness, temperature: str, pulse: str = "90", **rest: Any) -> Record:
    shown = {CodedSignal.CONSCIOUSNESS: mind, T: temperature, HR: pulse}
    return rounds((1, shown), **rest)


def crises(record: Record) -> dict[str, Finding]:
    return {key: f for key, f in findings(record, Kind.METABOLIC).items() if key in KEYS}


EMBOLISM = (ConditionKind.VENOUS_THROMBOEMBOLISM, ConditionKind.PULMONARY_EMBOLISM)


SBP, SPO2, RR, PCO2 = Signal.SYSTOLIC_PRESSURE, Signal.SPO2, Signal.RESPIRATION_RATE, Signal.PCO2_ARTERIAL


def asked_of(
    kinds: tuple[ConditionKind, ...], days: float, shown: dict[Any, str], **rest: Any
) -> dict[str, Finding]:
    known = condition(*kinds, text="Recorded", began=days * 24)
    return crises(rounds((1, shown), conditions=(known,), **rest))


def operation(kind: ProcedureKind, days: float, words: str = "Operation") -> Procedure:
    return Procedure(origin=Origin("Procedure/p"), text=words, kinds=frozenset({kind}), at=ago(days * 24))
