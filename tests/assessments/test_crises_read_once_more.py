"""Crises of babies, children, mothers and minds that a record held and nobody asked about, at both ends.

Kocher 1999 and Caird 2006 (septic hip), NICE CG98 (bilirubin), RCOG Green-top Guideline 5
(hyperstimulation), Clark 2016 (amniotic fluid), AAGBI 2010 (local anaesthetics), neuroleptic consensus
2011: from memory; the rest common practice. How soon, ages and days are ours, where the row says so.
"""

from datetime import timedelta
from typing import Any

import pytest

from tests.assessments.crisis_records import CALM, CONFUSED, HR, SBP, SPO2, VOICE, E, P, T, U, crises
from tests.charts import NOW, condition, findings, order, rounds
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.problems import ConditionKind as K
from weatherglass.model.signals import CodedSignal, Signal

MIND = CodedSignal.CONSCIOUSNESS
ADULT, YEAR = 12000, 366
SEPTIC, STIMULATED, BOWEL = "septic-joint-of-a-child", "severe-hyperstimulation", "bowel-that-no-longer-moves"
RIGID, VEINS = "neuroleptic-malignant-early", "clot-in-the-veins-of-the-brain"
GUT, PYLORUS = "intussusception-without-blood", "pyloric-stenosis"
NEC_BY_RESULTS, SPREADS = "necrotising-enterocolitis-by-results", "chickenpox-without-defences"
THROAT, LIMB, OHSS = K.THROAT_THAT_BLOCKS, K.LIMB_NOT_USED, K.OVARIAN_HYPERSTIMULATION
VOMITS, BELLY, STIFF = K.VOMITING_OR_DIARRHOEA, K.SWOLLEN_BELLY, K.STIFF_MUSCLES
METABOLIC, NO_STOOL, LEUKAEMIA = K.METABOLIC_DISEASE, K.CONSTIPATION, K.ACUTE_LEUKAEMIA
PALE, POX, TINGLING = K.LETHARGY, K.CHICKENPOX, K.LOCAL_ANAESTHETIC_SIGN
ARCHES = K.BILIRUBIN_IN_THE_BRAIN


@pytest.mark.parametrize(
    ("key", "age", "kinds", "shown", "numbers", "urgency"),
    [
        ("throat-of-a-child", 800, (THROAT,), {T: "38.0"}, {}, E),
        ("throat-of-a-child", 800, (THROAT,), {T: "37.9", SPO2: "94"}, {}, E),
        ("throat-of-a-child", 800, (THROAT,), {T: "37.9", SPO2: "95"}, {}, U),
        ("throat-of-a-child", 700, (THROAT,), {T: "39"}, {}, None),
        ("throat-of-a-child", ADULT, (THROAT,), {T: "39"}, {}, None),
        ("throat-of-a-child", 800, (THROAT, K.BUTTON_BATTERY), {T: "39"}, {}, None),
        (SEPTIC, 800, (LIMB,), {T: "38.0"}, {"crp": "21"}, U),
        (SEPTIC, 800, (LIMB,), {T: "38.0"}, {"crp": "20", "white-cells": "12"}, P),
        (SEPTIC, 800, (LIMB,), {T: "37.9"}, {"crp": "20"}, None),
        (SEPTIC, 800, (LIMB, K.INJURED_LIMB), {T: "38.5"}, {"crp": "90"}, None),
        ("torsion-of-an-ovary", 4800, (K.OVARIAN_CYST, VOMITS), {}, {}, U),
        ("torsion-of-an-ovary-by-pain", 4800, (K.OVARIAN_CYST, K.ABDOMINAL_PAIN), {}, {}, P),
        ("torsion-of-an-ovary", 4800, (K.OVARIAN_CYST,), {}, {}, None),
        (STIMULATED, ADULT, (OHSS,), {}, {"sodium": "134", "potassium": "5.1"}, U),
        (STIMULATED, ADULT, (OHSS,), {}, {"sodium": "135", "potassium": "5.0"}, P),
        ("metabolic-crisis", 800, (METABOLIC, VOMITS), {}, {}, U),
        ("metabolic-crisis", 800, (METABOLIC, VOMITS), {}, {"glucose": "3.9"}, E),
        ("metabolic-crisis", 800, (METABOLIC, VOMITS), {MIND: VOICE}, {}, E),
        ("metabolic-crisis", 800, (METABOLIC,), {}, {}, None),
        ("bilirubin-in-the-brain", 4, (ARCHES,), {}, {"bilirubin": "250"}, E),
        ("bilirubin-in-the-brain", 4, (ARCHES,), {}, {"bilirubin": "249"}, None),
        ("bilirubin-in-the-brain", 28, (ARCHES,), {}, {"bilirubin": "300"}, None),
        ("necrotising-enterocolitis", 20, (BELLY, K.BILIOUS_VOMITING), {}, {}, E),
        ("necrotising-enterocolitis", 90, (BELLY, K.BILIOUS_VOMITING), {}, {}, None),
        (NEC_BY_RESULTS, 20, (BELLY,), {}, {"platelets": "99"}, U),
        (NEC_BY_RESULTS, 20, (BELLY,), {}, {"platelets": "100"}, None),
        (PYLORUS, 40, (VOMITS,), {}, {"bicarbonate": "29", "chloride": "97"}, U),
        (PYLORUS, 40, (VOMITS,), {}, {"bicarbonate": "28", "chloride": "97"}, None),
        (PYLORUS, 130, (VOMITS,), {}, {"bicarbonate": "29", "chloride": "97"}, None),
        (GUT, 300, (PALE, VOMITS), {MIND: VOICE}, {}, U),
        (GUT, 300, (PALE, VOMITS), {}, {}, None),
        (GUT, 300, (PALE, VOMITS, K.DIARRHOEA), {}, {}, None),
        (GUT, 1200, (PALE, VOMITS), {}, {}, None),
        ("local-anaesthetic-in-the-blood", ADULT, (TINGLING,), {}, {}, U),
        ("local-anaesthetic-in-the-blood", ADULT, (TINGLING,), {HR: "49"}, {}, E),
        ("local-anaesthetic-in-the-blood", ADULT, (TINGLING,), {MIND: CONFUSED}, {}, E),
        (SPREADS, 800, (POX, LEUKAEMIA), {}, {}, U),
        ("ammonia-of-a-child", 3, (), {MIND: VOICE}, {"ammonia": "150"}, E),
        ("ammonia-of-a-child", 3, (), {}, {"ammonia": "150"}, U),
        ("ammonia-of-a-child", 3, (), {MIND: VOICE}, {"ammonia": "149"}, None),
        ("ammonia-of-a-child", ADULT, (), {MIND: VOICE}, {"ammonia": "200"}, None),
        ("toxic-shock", 5200, (K.RASH,), {T: "38.9", SBP: "89"}, {"platelets": "99", "lactate": "2.1"}, E),
        ("toxic-shock", 5200, (K.RASH,), {T: "38.8", SBP: "89"}, {"platelets": "99", "lactate": "2.1"}, None),
        ("toxic-shock", 5200, (), {T: "38.9", SBP: "89"}, {"platelets": "99", "lactate": "2.1"}, None),
        ("large-burn-of-a-child", 1500, (K.BURN_OF_A_TENTH,), {}, {}, U),
        ("large-burn-of-a-child", ADULT, (K.BURN_OF_A_TENTH,), {}, {}, None),
        ("heart-graft", 3300, (K.HEART_TRANSPLANT,), {HR: "130"}, {"lactate": "2.1"}, U),
        ("heart-graft", 3300, (K.HEART_TRANSPLANT,), {HR: "129"}, {"lactate": "2.1"}, None),
        ("spell-of-a-baby", 45, (K.SPELL_OF_A_BABY,), {}, {}, P),
        ("spell-of-a-baby", 400, (K.SPELL_OF_A_BABY,), {}, {}, None),
        (SPREADS, 800, (POX, LEUKAEMIA), {T: "38", SPO2: "93"}, {}, E),
        (SPREADS, 800, (POX,), {T: "38"}, {}, None),
        (VEINS, 3000, (LEUKAEMIA, K.SEIZURE), {}, {"fibrinogen": "0.9"}, U),
        (VEINS, 3000, (LEUKAEMIA, K.SEIZURE), {}, {"fibrinogen": "1.0"}, None),
        (BOWEL, ADULT, (BELLY, NO_STOOL), {HR: "101"}, {"lactate": "2.1"}, U),
        (BOWEL, ADULT, (BELLY, NO_STOOL), {HR: "100"}, {"lactate": "2.1"}, None),
        (BOWEL, ADULT, (BELLY,), {HR: "120"}, {"lactate": "2.1"}, None),
        (BOWEL, ADULT, (BELLY, NO_STOOL, K.LIVER_DISEASE), {}, {}, None),
        (RIGID, ADULT, (STIFF,), {T: "37.5", HR: "101"}, {"creatine-kinase": "1000"}, U),
        (RIGID, ADULT, (STIFF,), {T: "37.4", HR: "101"}, {"creatine-kinase": "1000"}, None),
        (RIGID, ADULT, (STIFF,), {T: "37.4", HR: "100"}, {"creatine-kinase": "1000"}, None),
    ],
)  # fmt: skip
def test_is_asked(
    key: str, age: int, kinds: tuple[K, ...], shown: Any, numbers: dict[str, str], urgency: Urgency | None
) -> None:
    """By what is on record, the age, the signs and the results of the day."""
    quiet = {SBP: "110" if age >= YEAR else None, MIND: CALM}
    told = tuple(condition(kind, text=kind.value, began=5) for kind in kinds)
    results: Any = {Signal(name): [(2, value)] for name, value in numbers.items()}
    born = (NOW - timedelta(days=age)).date()
    found = crises(rounds((1, {**quiet, **shown}), numbers=results, born=born, conditions=told)).get(key)
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("words", "kind", "means"),
    [
        ("Drooling", K.THROAT_THAT_BLOCKS, True),
        ("Refusing to weight-bear", K.LIMB_NOT_USED, True),
        ("Not weight-bearing", K.LIMB_NOT_USED, True),
        ("Limp home care", K.LIMB_NOT_USED, False),
        ("MCADD", K.METABOLIC_DISEASE, True),
        ("Lactic acidaemia", K.METABOLIC_DISEASE, False),
        ("Soft abdomen", K.SWOLLEN_BELLY, False),
        ("Distended abdomen", K.SWOLLEN_BELLY, True),
        ("Absent patellar reflexes", K.LOST_REFLEXES, True),
        ("Brisk reflexes", K.LOST_REFLEXES, False),
        ("Local anaesthetic toxicity", K.LOCAL_ANAESTHETIC_SIGN, True),
        ("Congenital adrenal hyperplasia", K.ADRENAL_INSUFFICIENCY, True),
        ("Orthopnoea", K.BREATHLESSNESS, True),
        ("Accidental ingestion of gliclazide tablet", K.OVERDOSE, True),
        ("Swallowed two of grandma's tablets", K.OVERDOSE, True),
        ("Accidental ingestion of a coin", K.OVERDOSE, False),
        ("Scald 12% TBSA", K.BURN_OF_A_TENTH, True),
        ("Scald 9% TBSA", K.BURN_OF_A_TENTH, False),
        ("Heart transplant", K.HEART_TRANSPLANT, True),
        ("Brief resolved unexplained event", K.SPELL_OF_A_BABY, True),
        ("Brief resolved unexplained event", K.APNOEA, False),
    ],
)
def test_words(words: str, kind: K, means: bool) -> None:
    """How records write it is our own reading."""
    assert (kind in kinds_in_words(words).kinds) is means


@pytest.mark.parametrize(("systolic", "is_asked"), [("84", True), ("96", False)])
def test_an_adrenal_crisis_of_a_child(systolic: str, is_asked: bool) -> None:
    """A pressure low for the age, and a dose by it: 96 mmHg at 6 years is none, 100 mg is an adult's."""
    known = condition(K.ADRENAL_INSUFFICIENCY, text="Congenital adrenal hyperplasia", began=9000)
    born = (NOW - timedelta(days=6 * YEAR)).date()
    shown: Any = {SBP: systolic, HR: "132"}
    record = rounds((1, shown), numbers={Signal.SODIUM: [(2, "128")]}, born=born, conditions=(known,))
    found = findings(record, Kind.METABOLIC).get("adrenal-crisis")
    assert (found is not None) is is_asked
    assert found is None or "50 mg from 1 to 5" in found.sentence


@pytest.mark.parametrize(
    ("level", "creatinine", "is_asked"), [("1.0", "90", True), ("0.9", "140", False), ("9", "89", False)]
)
def test_methotrexate_that_is_not_cleared(level: str, creatinine: str, is_asked: bool) -> None:
    """After a high dose (Ramsey 2018, from memory; limits ours): it was "not starting methotrexate again"."""
    numbers: Any = {Signal.METHOTREXATE_LEVEL: [(2, level)], Signal.CREATININE: [(40, "50"), (2, creatinine)]}
    given = order("Methotrexate 12 g", "methotrexate", starts=30)
    found = crises(rounds((1, {}), numbers=numbers, orders=(given,)))
    assert ("methotrexate-not-cleared" in found) is is_asked
