"""Crises of the heart and of clots by their signs, at both ends of each.

Wells 2000; European Society of Cardiology 2019, from memory; from when each is asked for is our choice.
"""

from datetime import date
from typing import Any

import pytest

from tests.assessments.crisis_records import EMBOLISM, HR, RR, SBP, SPO2, E, P, U, asked_of, crises
from tests.charts import ago, condition, order, rounds, was_done
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal


@pytest.mark.parametrize(
    ("systolic", "pulse", "spo2", "began", "is_asked"),
    [
        ("99", "110", "95", 48, True),
        ("100", "110", "95", 48, False),
        ("99", "109", "95", 48, False),
        ("120", "110", "89", 48, True),
        ("99", "110", "95", 24 * 3, True),
        ("99", "110", "95", 24 * 3 + 1, False),
    ],
)
def test_an_embolism_that_gets_worse(
    systolic: str, pulse: str, spo2: str, began: float, is_asked: bool
) -> None:
    """ESC 2019, from memory: reperfusion is decided at once; the numbers are our choice."""
    embolism = condition(ConditionKind.PULMONARY_EMBOLISM, text="Pulmonary embolism", began=began)
    shown = {Signal.SYSTOLIC_PRESSURE: systolic, Signal.PULSE: pulse, Signal.SPO2: spo2}
    found = crises(rounds((1, shown), conditions=(embolism,))).get("worse-embolism")
    assert (found.urgency if found is not None else None) is (E if is_asked else None)


class TestPulmonaryEmbolism:
    """Wells 2000, as restated: pulse above 100, surgery in 4 weeks, an earlier clot, cancer; 92 % is ours."""

    @pytest.mark.parametrize(
        ("pulse", "saturation", "days", "is_asked"),
        [("101", "91", 28, True), ("100", "91", 3, False), ("101", "92", 3, False), ("101", "91", 29, False)],
    )
    def test_after_an_operation(self, pulse: str, saturation: str, days: float, is_asked: bool) -> None:
        knee = was_done(ProcedureKind.SURGERY, hours=24 * days, text="Knee replacement")
        record = rounds((1, {HR: pulse, Signal.SPO2: saturation}), procedures=(knee,))
        assert ("pulmonary-embolism" in crises(record)) is is_asked

    @pytest.mark.parametrize("kind", [ConditionKind.VENOUS_THROMBOEMBOLISM, ConditionKind.CANCER])
    @pytest.mark.parametrize("is_treated", [True, False])
    def test_a_problem_and_no_treatment(self, kind: ConditionKind, is_treated: bool) -> None:
        orders = (order("Apixaban 5 mg", "factor-xa-inhibitor"),) if is_treated else ()
        ill = {HR: "120", Signal.SPO2: "88"}
        record = rounds((1, ill), conditions=(condition(kind),), orders=orders)
        assert ("pulmonary-embolism" in crises(record)) is not is_treated


INFARCT = condition(ConditionKind.ACUTE_CORONARY_SYNDROME, text="STEMI", began=24 * 7)


@pytest.mark.parametrize(
    ("systolic", "lactate", "is_asked"),
    [("100", "2.1", True), ("101", "2.1", False), ("100", "2.0", False), ("84", "1.2", False)],
)
def test_cardiogenic_shock(systolic: str, lactate: str, is_asked: bool) -> None:
    """A lactate above 2.0 is from memory; that it is asked for from 100 mmHg on is ours."""
    record = rounds(
        (1, {Signal.SYSTOLIC_PRESSURE: systolic}),
        numbers={Signal.LACTATE: [(2, lactate)]},
        conditions=(INFARCT,),
    )
    found = crises(record).get("cardiogenic-shock")
    assert (found is not None) is is_asked
    if found is not None:
        assert (found.urgency, found.since) == (E, ago(1))


def test_an_infarction_counts_for_a_week() -> None:
    old = condition(ConditionKind.ACUTE_CORONARY_SYNDROME, text="STEMI", began=24 * 7 + 1)
    record = rounds(
        (1, {Signal.SYSTOLIC_PRESSURE: "84"}), numbers={Signal.LACTATE: [(2, "5")]}, conditions=(old,)
    )
    assert "cardiogenic-shock" not in crises(record)


class TestKnownEmbolism:
    """Systolic below 90 mmHg makes it high-risk (European Society of Cardiology 2019, from memory)."""

    @pytest.mark.parametrize(
        ("systolic", "days", "is_asked"), [("89", 3, True), ("90", 1, False), ("89", 3.1, False)]
    )
    def test_with_a_low_pressure(self, systolic: str, days: float, is_asked: bool) -> None:
        found = asked_of(EMBOLISM, days, {SBP: systolic}).get("high-risk-embolism")
        assert (found.urgency if found is not None else None) is (E if is_asked else None)

    @pytest.mark.parametrize(("days", "is_asked"), [(28, False), (28.1, True)])
    def test_what_is_known_is_not_asked_for(self, days: float, is_asked: bool) -> None:
        found = asked_of(EMBOLISM, days, {HR: "110", SPO2: "90"})
        assert ("pulmonary-embolism" in found) is is_asked

    def test_a_clot_in_the_leg_goes_on_asking(self) -> None:
        found = asked_of((ConditionKind.VENOUS_THROMBOEMBOLISM,), 1, {HR: "110", SPO2: "90"})
        assert "pulmonary-embolism" in found


@pytest.mark.parametrize(
    ("systolic", "pulse", "days", "is_asked"),
    [
        ("100", "101", 14, True),
        ("101", "101", 1, False),
        ("100", "100", 1, False),
        ("100", "101", 14.1, False),
    ],
)
def test_tamponade(systolic: str, pulse: str, days: float, is_asked: bool) -> None:
    """Our choice of signs."""
    found = asked_of((ConditionKind.PERICARDIAL_EFFUSION,), days, {SBP: systolic, HR: pulse})
    assert (found["tamponade"].urgency if "tamponade" in found else None) is (U if is_asked else None)
    shown = {SBP: systolic, HR: pulse, RR: "25"}
    is_sure = "tamponade" in asked_of((ConditionKind.PERICARDIAL_EFFUSION,), days, shown)
    assert is_sure is (days <= 14)
    if is_asked:
        assert asked_of((ConditionKind.PERICARDIAL_EFFUSION,), days, shown)["tamponade"].urgency is E


@pytest.mark.parametrize(
    ("shown", "is_asked"),
    [
        ({SBP: "100", HR: "111"}, True),
        ({HR: "111", SPO2: "91"}, True),
        ({SBP: "101", HR: "111"}, False),
        ({HR: "110", SPO2: "91"}, False),
        ({HR: "111", SPO2: "92"}, False),
    ],
)
def test_tension_pneumothorax(shown: dict[Any, str], is_asked: bool) -> None:
    """Our choice of signs."""
    assert ("tension-pneumothorax" in asked_of((ConditionKind.PNEUMOTHORAX,), 2, shown)) is is_asked


@pytest.mark.parametrize(("breathing", "urgency"), [("25", U), ("24", P)])
def test_an_embolism_is_asked_sooner_with_fast_breathing(breathing: str, urgency: Urgency) -> None:
    """Our choice: within the hour at all three signs."""
    found = asked_of((ConditionKind.CANCER,), 900, {HR: "110", SPO2: "90", RR: breathing})
    assert found["pulmonary-embolism"].urgency is urgency


@pytest.mark.parametrize(("inr", "is_asked"), [("1.9", True), ("2.0", False)])
def test_a_valve_without_cover(inr: str, is_asked: bool) -> None:
    """Common practice; below 2.0 is ours. A heparin on the chart answers it."""
    valve = condition(ConditionKind.MECHANICAL_VALVE, text="Mechanical mitral valve")
    numbers = {Signal.INR: [(2, inr)]}
    assert (
        "valve-without-cover" in crises(rounds((1, {}), numbers=numbers, conditions=(valve,)))
    ) is is_asked
    covered = rounds(
        (1, {}),
        numbers=numbers,
        conditions=(valve,),
        orders=(order("Enoxaparin 80 mg", "low-molecular-weight-heparin"),),
    )
    assert "valve-without-cover" not in crises(covered)


@pytest.mark.parametrize(
    ("shown", "urgency"),
    [
        ({SPO2: "94", Signal.TEMPERATURE: "38.0", RR: "24"}, None),
        ({SPO2: "93", Signal.TEMPERATURE: "38.0", RR: "24"}, U),
        ({SPO2: "93", Signal.TEMPERATURE: "38.0", RR: "25"}, E),
        ({SPO2: "93", Signal.TEMPERATURE: "37.9", RR: "24"}, None),
    ],
)
def test_acute_chest_syndrome(shown: dict[Any, str], urgency: Urgency | None) -> None:
    """British Society for Haematology 2015 from memory; the numbers are ours. From six months on."""
    sickle = condition(ConditionKind.SICKLE_DISEASE, text="Sickle cell disease")
    for born in (date(1990, 1, 1), date(2024, 1, 1)):
        found = crises(rounds((1, shown), conditions=(sickle,), born=born)).get("acute-chest")
        assert (found.urgency if found else None) is urgency


@pytest.mark.parametrize(
    ("pulse", "systolic", "began", "is_asked"),
    [("150", "89", 48, True), ("149", "89", 2, False), ("150", "90", 2, False), ("150", "89", 48.1, False)],
)
def test_a_fast_rhythm_that_fails_the_circulation(
    pulse: str, systolic: str, began: float, is_asked: bool
) -> None:
    """Resuscitation Council UK 2021, from memory: in shock electricity comes first; the numbers are ours."""
    rhythm = condition(ConditionKind.ARRHYTHMIA, text="Supraventricular tachycardia", began=began)
    found = crises(rounds((1, {HR: pulse, SBP: systolic}), conditions=(rhythm,))).get("fast-rhythm")
    assert (found.urgency if found is not None else None) is (E if is_asked else None)


@pytest.mark.parametrize(
    ("pulse", "began", "paced", "is_asked"),
    [("40", 9, False, True), ("41", 9, False, False), ("40", 9, True, False), ("40", 169, False, False)],
)
def test_a_block_goes_on_as_long_as_the_pulse_is_slow(
    pulse: str, began: float, *, paced: bool, is_asked: bool
) -> None:
    """From memory; ours: after nine hours nothing asked for a pacer beside a pulse of 30."""
    block = condition(ConditionKind.HEART_BLOCK, text="Complete heart block", began=began)
    done = (was_done(ProcedureKind.PACEMAKER, hours=2),) if paced else ()
    found = crises(rounds((1, {HR: pulse}), conditions=(block,), procedures=done)).get("slow-rhythm")
    assert (found.urgency if found is not None else None) is (E if is_asked else None)
