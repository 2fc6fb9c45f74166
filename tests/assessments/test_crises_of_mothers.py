"""Crises of mothers by their signs, at both ends of each.

From when each is asked for, and how soon, is our choice where the publication beside it gives none.
"""

from typing import Any

import pytest

from tests.assessments.crisis_records import CALM, CONFUSED, HR, RR, SBP, SPO2, VOICE, E, P, T, U, crises
from tests.charts import condition, rounds
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.model.findings import Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

ECTOPIC = condition(
    ConditionKind.ECTOPIC_PREGNANCY, ConditionKind.PREGNANCY, text="Ectopic pregnancy", began=24 * 42
)


@pytest.mark.parametrize(
    ("pulse", "systolic", "mind", "urgency"),
    [
        pytest.param("100", "101", CALM, None, id="neither"),
        pytest.param("101", "101", CALM, U, id="pulse"),
        pytest.param("100", "100", CALM, U, id="pressure"),
        pytest.param("101", "100", CALM, E, id="both"),
        pytest.param("101", "120", CONFUSED, E, id="mind"),
    ],
)
def test_ruptured_ectopic_pregnancy(
    pulse: str, systolic: str, mind: Consciousness, urgency: Urgency | None
) -> None:
    """Common practice, no source; from when it calls, and how soon, is ours."""
    shown = {CodedSignal.CONSCIOUSNESS: mind, HR: pulse, Signal.SYSTOLIC_PRESSURE: systolic}
    found = crises(rounds((1, shown), conditions=(ECTOPIC,))).get("ruptured-ectopic")
    assert (found.urgency if found else None) is urgency


def test_an_ectopic_pregnancy_counts_for_42_days() -> None:
    old = condition(ConditionKind.ECTOPIC_PREGNANCY, text="Ectopic pregnancy", began=24 * 42 + 1)
    assert "ruptured-ectopic" not in crises(rounds((1, {HR: "120"}), conditions=(old,)))


SICK = condition(ConditionKind.HYPEREMESIS, ConditionKind.PREGNANCY, began=72, text="Hyperemesis gravidarum")


@pytest.mark.parametrize(
    ("mind", "problem", "is_asked"),
    [
        (CONFUSED, SICK, True),
        (VOICE, SICK, True),
        (CALM, SICK, False),
        (CONFUSED, condition(ConditionKind.PREGNANCY), False),
    ],
)
def test_wernickes_encephalopathy_in_hyperemesis(mind: Consciousness, problem: Any, is_asked: bool) -> None:
    """RCOG Green-top Guideline 69, from memory: thiamine before glucose."""
    found = crises(rounds((1, {CodedSignal.CONSCIOUSNESS: mind}), conditions=(problem,))).get("wernicke")
    assert (found is not None) is is_asked
    if found is not None:
        assert found.urgency is U
        assert "thiamine into a vein now and before any glucose" in found.sentence


WCC = Signal.WHITE_CELLS
PREGNANT = condition(ConditionKind.PREGNANCY, text="Pregnancy", began=24 * 150)


WATERS = condition(ConditionKind.MEMBRANES_RUPTURED, text="Ruptured membranes", began=20)


@pytest.mark.parametrize(
    ("heat", "pulse", "white", "urgency"),
    [
        ("37.8", "101", "15.1", U),
        ("37.8", "101", "15.0", P),
        ("37.7", "101", "15.1", P),
        ("37.8", "100", "15", None),
    ],
)
def test_an_infected_womb(heat: str, pulse: str, white: str, urgency: Urgency | None) -> None:
    """Gibbs 1982, secondary: 37.8 °C with two of a pulse above 100, white cells above 15 and three others."""
    known = (PREGNANT, WATERS)
    record = rounds((1, {T: heat, HR: pulse}), numbers={WCC: [(2, white)]}, conditions=known)
    found = crises(record).get("infected-womb")
    assert (found.urgency if found else None) is urgency
    infection = condition(ConditionKind.INFECTION, text="Chorioamnionitis", began=1)
    told = rounds((1, {T: heat, HR: pulse}), numbers={WCC: [(2, white)]}, conditions=(*known, infection))
    assert "infected-womb" not in crises(told)


@pytest.mark.parametrize(
    ("heat", "pulse", "urgency"),
    [("37.8", "101", U), ("37.7", "101", P), ("37.8", "100", P), ("37.7", "100", None)],
)
def test_bleeding_weeks_after_a_birth(heat: str, pulse: str, urgency: Urgency | None) -> None:
    """RCOG Green-top Guideline 52, from memory: endometritis until shown otherwise; the limits are ours."""
    bleeds = condition(ConditionKind.LATE_BLEEDING_AFTER_BIRTH, text="Secondary PPH", began=4)
    found = crises(rounds((1, {T: heat, HR: pulse}), conditions=(bleeds,))).get("infected-womb-after-a-birth")
    assert (found.urgency if found else None) is urgency


@pytest.mark.parametrize(
    ("heat", "pulse", "white", "urgency"),
    [
        ("37.8", "101", "16.1", U),
        ("37.7", "101", "16.1", P),
        ("37.8", "101", "16", P),
        ("37.7", "100", "16.1", None),
    ],
)
def test_the_belly_of_a_mother(heat: str, pulse: str, white: str, urgency: Urgency | None) -> None:
    """Common practice: an appendicitis in pregnancy is operated on early; the limits are ours."""
    known = (PREGNANT, condition(ConditionKind.ABDOMINAL_PAIN, text="Right iliac fossa pain", began=8))
    blood = {WCC: [(2, white)], Signal.CRP: [(2, "51")]}
    record = rounds((1, {T: heat, HR: pulse}), numbers=blood, conditions=known)
    found = crises(record).get("belly-of-a-mother")
    assert (found.urgency if found else None) is urgency


@pytest.mark.parametrize(("platelets", "is_asked"), [("79", True), ("80", False)])
def test_few_platelets_of_a_mother(platelets: str, is_asked: bool) -> None:
    """Common practice: pregnancy itself seldom takes them below 80."""
    few = {Signal.PLATELETS: [(2, platelets)]}
    found = crises(rounds((1, {}), numbers=few, conditions=(PREGNANT,)))
    assert [one.urgency for one in found.values()] == [P] * is_asked
    assert not crises(rounds((1, {}), numbers=few))


@pytest.mark.parametrize(("rate", "is_asked"), [("99", True), ("100", False)])
def test_a_slow_fetal_heart(rate: str, is_asked: bool) -> None:
    """NICE NG229, from memory: below 100."""
    slow = {Signal.FETAL_HEART: [(1, rate)]}
    found = crises(rounds((1, {}), numbers=slow, conditions=(PREGNANT,)))
    assert [one.urgency for one in found.values()] == [E] * is_asked


@pytest.mark.parametrize(("acids", "is_asked"), [("100", True), ("99", False)])
def test_bile_acids_in_pregnancy(acids: str, is_asked: bool) -> None:
    """RCOG Green-top Guideline 43 (2022), from memory: 100 µmol/L or more."""
    high = {Signal.BILE_ACIDS: [(2, acids)]}
    found = crises(rounds((1, {}), numbers=high, conditions=(PREGNANT,)))
    assert ("severe-cholestasis-of-pregnancy" in found) is is_asked
    assert {one.urgency for one in found.values()} == {P}
    assert not crises(rounds((1, {}), numbers=high))


@pytest.mark.parametrize(("systolic", "is_asked"), [("139", False), ("140", True)])
@pytest.mark.parametrize(("hours", "is_lately"), [(48, True), (49, False)])
def test_a_headache_beside_high_pressure(systolic: str, is_asked: bool, hours: int, is_lately: bool) -> None:
    """NICE NG133, from memory: it was told as a diastolic pressure alone."""
    headache = condition(ConditionKind.PREECLAMPSIA_SYMPTOM, text="Headache", began=hours)
    shown = (1, {SBP: systolic})
    found = crises(rounds(shown, conditions=(PREGNANT, headache))).get("severe-pre-eclampsia")
    assert (found is not None) is (is_asked and is_lately)
    assert "severe-pre-eclampsia" not in crises(rounds(shown, conditions=(headache,)))


@pytest.mark.parametrize(
    ("key", "problem", "shown", "urgency"),
    [
        ("embolism-of-a-mother", ConditionKind.CHEST_PAIN, {HR: "100", SPO2: "95", RR: "20"}, None),
        ("embolism-of-a-mother", ConditionKind.CHEST_PAIN, {HR: "101"}, Urgency.PROMPT),
        ("embolism-of-a-mother", ConditionKind.BREATHLESSNESS, {HR: "101", RR: "21"}, U),
        ("heart-of-a-mother", ConditionKind.STRAINED_HEART, {HR: "111", SPO2: "95", RR: "24"}, None),
        ("heart-of-a-mother", ConditionKind.STRAINED_HEART, {HR: "111", SPO2: "94"}, U),
        ("heart-of-a-mother", ConditionKind.STRAINED_HEART, {HR: "111", SPO2: "94", RR: "25"}, E),
        ("headache-of-a-mother", ConditionKind.SEVERE_HEADACHE, {HR: "80"}, Urgency.PROMPT),
    ],
)
def test_of_mothers_alone(
    key: str, problem: ConditionKind, shown: dict[Any, str], urgency: Urgency | None
) -> None:
    """RCOG Green-top Guideline 37b from memory, common practice; numbers ours. Others are not asked."""
    ill = condition(problem, text="A problem", began=5)
    found = crises(rounds((1, shown), conditions=(ill, PREGNANT))).get(key)
    assert (found.urgency if found else None) is urgency
    assert key not in crises(rounds((1, shown), conditions=(ill,)))


@pytest.mark.parametrize(
    ("shown", "is_asked"),
    [
        ({HR: "111", SPO2: "89"}, True),
        ({HR: "111", Signal.SYSTOLIC_PRESSURE: "99"}, True),
        ({HR: "110", Signal.SYSTOLIC_PRESSURE: "99"}, False),
        ({HR: "111", Signal.SYSTOLIC_PRESSURE: "100", SPO2: "90"}, False),
    ],
)
@pytest.mark.parametrize("kind", [ConditionKind.COLLAPSE, ConditionKind.CHEST_PAIN])
def test_an_embolism_of_a_mother_in_shock(kind: ConditionKind, shown: Any, is_asked: bool) -> None:
    """RCOG Green-top Guideline 37b from memory; two of three, numbers ours, as in an embolism on record."""
    record = rounds((1, shown), conditions=(condition(kind, text="Syncope", began=5), PREGNANT))
    found = crises(record).get("embolism-of-a-mother-in-shock")
    assert (found is not None) is is_asked
    assert found is None or found.urgency is E


@pytest.mark.parametrize(("systolic", "is_asked"), [("90", True), ("91", False)])
def test_an_ectopic_pregnancy_at_a_low_pressure(systolic: str, is_asked: bool) -> None:
    """Ours: blood in the belly can slow the pulse, so that the pressure alone is an emergency."""
    shown = {HR: "58", Signal.SYSTOLIC_PRESSURE: systolic}
    found = crises(rounds((1, shown), conditions=(ECTOPIC,)))
    assert ("ruptured-ectopic-at-a-low-pressure" in found) is is_asked
    kinds = (ConditionKind.PREGNANCY, ConditionKind.EARLY_PREGNANCY)
    early = condition(*kinds, text="Pregnancy, 7 weeks", began=24)
    pain = condition(ConditionKind.ABDOMINAL_PAIN, text="Pain in the belly", began=5)
    found = crises(rounds((1, shown), conditions=(early, pain)))
    assert ("ectopic-at-a-low-pressure" in found) is is_asked


@pytest.mark.parametrize(
    ("pulse", "systolic", "beside", "is_asked"),
    [
        ("111", "120", ConditionKind.ABDOMINAL_PAIN, True),
        ("90", "100", ConditionKind.BIRTH_EMERGENCY, True),
        ("110", "101", ConditionKind.ABDOMINAL_PAIN, False),
        ("111", "100", ConditionKind.CONSTIPATION, False),
    ],
)
def test_a_scar_of_the_womb(pulse: str, systolic: str, beside: ConditionKind, is_asked: bool) -> None:
    """RCOG Green-top Guideline 45 from memory; numbers ours."""
    told = (condition(ConditionKind.SCARRED_WOMB, text="Previous caesarean section"),)
    shown = {HR: pulse, Signal.SYSTOLIC_PRESSURE: systolic}
    found = crises(rounds((1, shown), conditions=(*told, condition(beside, text="This", began=1))))
    assert ("ruptured-womb" in found) is is_asked


@pytest.mark.parametrize(
    ("systolic", "pulse", "urgency"), [("101", "100", None), ("100", "58", U), ("100", "101", E)]
)
def test_miscarriage(systolic: str, pulse: str, urgency: Urgency | None) -> None:
    """Common practice, no source; 100 and 100 are ours."""
    lost = condition(ConditionKind.MISCARRIAGE, text="Incomplete miscarriage", began=5)
    shown = {Signal.SYSTOLIC_PRESSURE: systolic, HR: pulse}
    found = crises(rounds((1, shown), conditions=(lost,))).get("miscarriage")
    assert (found.urgency if found else None) is urgency


@pytest.mark.parametrize(
    ("glucose", "others", "is_asked"),
    [
        ("11.1", (ConditionKind.DIABETES, ConditionKind.PREGNANCY), True),
        ("11.0", (ConditionKind.DIABETES, ConditionKind.PREGNANCY), False),
        ("17.2", (ConditionKind.DIABETES,), False),
        ("17.2", (ConditionKind.PREGNANCY,), False),
    ],
)
def test_glucose_of_a_mother(glucose: str, others: tuple[ConditionKind, ...], is_asked: bool) -> None:
    """NICE NG3, from memory; 11.0 is ours: 17.2 beside betamethasone was "nothing urgent found"."""
    known = tuple(condition(kind, began=24 * 60) for kind in others)
    found = crises(rounds((1, {}), numbers={Signal.GLUCOSE: [(2, glucose)]}, conditions=known))
    assert ("glucose-of-a-mother" in found) is is_asked


def test_sepsis_that_somebody_wrote_down() -> None:
    """Ours: "Sepsis" of a mother with calm signs and no antibiotic was ROUTINE."""
    told = condition(ConditionKind.SEPSIS, text="Sepsis", began=2)
    mother = crises(rounds((1, {HR: "80"}), conditions=(told, PREGNANT)))
    assert mother["sepsis-of-a-mother-by-its-name"].urgency is U
    assert "sepsis-of-a-mother-by-its-name" not in crises(rounds((1, {HR: "80"}), conditions=(told,)))


@pytest.mark.parametrize(
    ("words", "is_asked"), [("Chorioamnionitis", True), ("Endometritis", True), ("Endometriosis", False)]
)
def test_an_infection_of_the_womb(words: str, is_asked: bool) -> None:
    """Common practice; how soon is ours: "nothing urgent found" stood over chorioamnionitis."""
    kinds = kinds_in_words(words).kinds
    told = tuple(condition(kind, text=words, began=2) for kind in kinds)
    found = crises(rounds((1, {HR: "80"}), conditions=(*told, PREGNANT))).get("infection-of-the-womb")
    assert (found is not None) is is_asked
