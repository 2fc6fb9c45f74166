"""A well child whose round has no pressure, no refill and no effort of breathing is not "not fully assessed".

NICE NG143 (secondary): temperature, heart rate, breathing rate and refill of a child with fever, a blood
pressure where heart rate or refill is abnormal. Below 12 years, and what asks for the three, are ours.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.charts import NOW, ago, antibacterial, condition, findings, order, rounds, was_done
from weatherglass.model.findings import Kind, ScoreFinding, Urgency
from weatherglass.model.record.care import Directive, DirectiveKind, ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind as K
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
_WELL: dict[Any, Any] = {
    Signal.SYSTOLIC_PRESSURE: None,
    Signal.PULSE: "100",
    Signal.RESPIRATION_RATE: "24",
    Signal.SPO2: "98",
    Signal.TEMPERATURE: "36.8",
    CodedSignal.CONSCIOUSNESS: Consciousness.ALERT,
    CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.AIR,
}


def _score(shown: Any, years: int = 4, **rest: Any) -> ScoreFinding:
    record = rounds((1, {**_WELL, **shown}), born=(NOW - timedelta(days=years * 365 + 30)).date(), **rest)
    (found,) = [
        one for one in findings(record, Kind.SCORE).values() if isinstance(one, ScoreFinding) and one.parts
    ]
    return found


@pytest.mark.parametrize(
    ("shown", "years", "is_whole"),
    [
        ({}, 4, True),
        ({Signal.PULSE: "115"}, 4, True),
        ({Signal.PULSE: "155"}, 4, False),
        ({Signal.TEMPERATURE: "37.9"}, 4, True),
        ({Signal.TEMPERATURE: "38.0"}, 4, False),
        ({Signal.TEMPERATURE: "36.0"}, 4, True),
        ({Signal.TEMPERATURE: "35.9"}, 4, False),
        ({Signal.TEMPERATURE: None}, 4, False),
        ({Signal.SPO2: None}, 4, False),
        ({Signal.PULSE: None}, 4, False),
        ({CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}, 4, False),
        ({CodedSignal.CONSCIOUSNESS: None}, 4, False),
        ({Signal.PULSE: "75", Signal.RESPIRATION_RATE: "14"}, 13, False),
        ({Signal.PULSE: "75", Signal.RESPIRATION_RATE: "14", Signal.SYSTOLIC_PRESSURE: "112"}, 13, True),
    ],
)
def test_by_what_was_measured(shown: Any, years: int, is_whole: bool) -> None:
    """Everything else is there, and it is calm."""
    assert (not _score(shown, years).highest_tier) is is_whole


def test_what_is_missing_is_asked_with_the_next_round() -> None:
    """Named, not hidden: nobody takes a full set now."""
    found = _score({})
    assert "not known" in found.brief
    assert found.monitoring.startswith("capillary refill and effort of breathing with the next round")
    assert not found.response


@pytest.mark.parametrize(
    ("kind", "hours", "is_whole"),
    [
        (K.INFECTION, 20, False),
        (K.VOMITING_OR_DIARRHOEA, 20, False),
        (K.ASTHMA, 20, False),
        (K.SPELL_OF_A_BABY, 20, False),
        (K.EPILEPSY, 20, True),
    ],
)
def test_by_what_is_on_record(kind: K, hours: float, is_whole: bool) -> None:
    """An infection and lost fluid ask for the refill, ill breathing for its effort."""
    told = condition(kind, text=kind.value, began=hours)
    assert (not _score({}, conditions=(told,)).highest_tier) is is_whole


@pytest.mark.parametrize(("hours", "is_whole"), [(23, False), (25, True)])
def test_an_operation_asks_for_a_pressure_for_a_day(hours: float, is_whole: bool) -> None:
    """Ours."""
    done = was_done(ProcedureKind.SURGERY, hours=hours)
    assert (not _score({}, procedures=(done,)).highest_tier) is is_whole


@pytest.mark.parametrize(
    ("pulse", "hours", "heat", "urgency"),
    [("104", 47, "37.8", R), ("104", 49, "37.8", U), ("131", 47, "37.8", E)],
)
def test_a_pulse_after_an_operation_under_its_antibacterials(
    pulse: str, hours: float, heat: str, urgency: Urgency
) -> None:
    """One sign of moderate risk is that of the operation for two days (ours); it was "due 17 h ago"."""
    shown = {**_WELL, Signal.SYSTOLIC_PRESSURE: "110", Signal.PULSE: pulse, Signal.TEMPERATURE: heat}
    line = order("Co-amoxiclav", "antibacterial", route=Route.INTRAVENOUS, starts=hours + 1)
    record = rounds(
        (18, {**shown, Signal.RESPIRATION_RATE: "20"}),
        (1, {**shown, Signal.RESPIRATION_RATE: "20"}),
        born=(NOW - timedelta(days=12 * 366 + 30)).date(),
        procedures=(was_done(ProcedureKind.SURGERY, hours=hours),),
        orders=(line,),
        administrations=(antibacterial(3), antibacterial(11), antibacterial(19)),
    )
    assert findings(record, Kind.SEPSIS_RISK)["sepsis-signs"].urgency is urgency


@pytest.mark.parametrize(
    ("temperature", "is_treated", "urgency"), [("36.9", True, P), ("36.9", False, U), ("38.1", True, U)]
)
def test_few_neutrophils_after_chemotherapy(temperature: str, is_treated: bool, urgency: Urgency) -> None:
    """In somebody well the temperature is what calls (ours); with a fever the sepsis says it."""
    told = (condition(K.CHEMOTHERAPY, text="Chemotherapy", began=220),) if is_treated else ()
    record = rounds(
        (1, {**_WELL, Signal.RESPIRATION_RATE: "20", Signal.TEMPERATURE: temperature}),
        numbers={Signal.NEUTROPHILS: [(3, "0.3")]},
        born=(NOW - timedelta(days=7 * 366)).date(),
        conditions=told,
    )
    assert findings(record, Kind.CRITICAL_RESULT)["neutrophils-low"].urgency is urgency


@pytest.mark.parametrize(
    ("glucose", "drug", "is_told"), [("3.9", True, True), ("4.0", True, False), ("2.1", False, False)]
)
def test_a_low_glucose_of_the_dying(glucose: str, drug: bool, is_told: bool) -> None:
    """What a medicine makes distresses, and ends with sugar (Diabetes UK 2021, from memory)."""
    dying = Directive(origin=Origin("Flag/f"), kind=DirectiveKind.END_OF_LIFE, text="Last days", at=ago(20))
    record = rounds(
        (1, {}),
        numbers={Signal.GLUCOSE: [(2, glucose)]},
        directives=(dying,),
        orders=(order("Insulin glargine", "insulin"),) if drug else (),
    )
    assert ("comfort-low-sugar" in findings(record, Kind.CONTEXT)) is is_told


@pytest.mark.parametrize(("heard", "urgency"), [(4, U), (2, P)])
def test_a_baby_that_moves_less_and_was_heard(heard: float, urgency: Urgency) -> None:
    """It said to listen to a heart that was counted since (RCOG Green-top Guideline 57, from memory)."""
    told = condition(K.REDUCED_MOVEMENTS, text="Reduced fetal movements", began=3)
    pregnant = condition(K.PREGNANCY, text="Pregnancy, 30 weeks", began=900)
    record = rounds((1, {}), numbers={Signal.FETAL_HEART: [(heard, "142")]}, conditions=(told, pregnant))
    (found,) = [one for key, one in findings(record, Kind.SINGLE_SIGN).items() if key.startswith("movements")]
    assert found.urgency is urgency
    assert bool(found.at_once) is (urgency is U)
