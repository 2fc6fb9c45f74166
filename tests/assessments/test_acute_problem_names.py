"""How an acute problem is written: the words that are read as one, and those that are not (ours)."""

from collections.abc import Iterable
from typing import Any

import pytest

from tests.assessments.problems_recorded import KEYS, SOON, by_name, calm, reviewed, told_in
from tests.charts import chart, condition, findings, order
from tests.records import full_set, problem
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.knowledge.emergencies.acute_problems import ACUTE_PROBLEMS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.problems import ConditionKind

E, U, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.ROUTINE


_K = ConditionKind
_NAMED = frozenset(row.problem for row in ACUTE_PROBLEMS)


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        ("Stridor", {_K.AIRWAY_THREATENED}),
        ("Reversible airway obstruction", set()),
        ("Neck haematoma", {_K.AIRWAY_THREATENED}),
        ("Ruptured AAA", {_K.AORTIC_CATASTROPHE}),
        ("Aortic dissection repair", set()),
        ("Chronic type B dissection", set()),
        ("Ruptured cerebral aneurysm", set()),
        ("Exertional compartment syndrome", set()),
        ("Meningitis", {_K.BACTERIAL_MENINGITIS}),
        ("Viral meningitis", set()),
        ("STEMI", {_K.ST_ELEVATION, _K.ACUTE_CORONARY_SYNDROME}),
        ("NSTEMI", {_K.ACUTE_CORONARY_SYNDROME}),
        ("Suspected PE", {_K.PULMONARY_EMBOLISM, _K.VENOUS_THROMBOEMBOLISM}),
        ("Calf DVT", {_K.VENOUS_THROMBOEMBOLISM}),
        ("Angioedema", {_K.ANGIOEDEMA}),
        ("Angio-oedema of the lips and tongue", {_K.ANGIOEDEMA, _K.AIRWAY_THREATENED}),
        ("Swollen tongue", {_K.AIRWAY_THREATENED}),
        ("Ankle swelling", set()),
        ("Facial droop", {_K.STROKE_SIGNS}),
        ("Weakness of the left arm", {_K.STROKE_SIGNS}),
        ("Slurred speech", {_K.STROKE_SIGNS}),
        ("Generalised weakness", set()),
        ("Bilateral leg weakness", {_K.WEAK_LEGS}),
        ("Stevens-Johnson syndrome", {_K.SEVERE_SKIN_REACTION}),
        ("Dressing of wound", set()),
        ("Heparin-induced thrombocytopenia", {_K.HEPARIN_THROMBOCYTOPENIA}),
        ("Hit by a car", set()),
        ("Acute glaucoma", {_K.SIGHT_THREATENED}),
        ("Chronic glaucoma", set()),
        ("Massive haemoptysis", {_K.MASSIVE_HAEMOPTYSIS}),
        ("Ventricular tachycardia", {_K.DANGEROUS_RHYTHM}),
        ("Non-sustained VT", set()),
        ("SVT", set()),
        ("GBS carrier", set()),
        ("Food poisoning", set()),
        ("Perforated ear drum", set()),
        ("Perforated sigmoid diverticulitis", {_K.GUT_CATASTROPHE}),
        ("Small bowel obstruction", {_K.BOWEL_OBSTRUCTION}),
        ("Incarcerated inguinal hernia", {_K.BOWEL_OBSTRUCTION}),
        ("Inhaled foreign body", {_K.AIRWAY_THREATENED, _K.CHOKING}),
        ("Foreign body in eye", set()),
        ("Burn of 40 percent of body surface", {_K.LARGE_BURN}),
        ("25% TBSA burns", {_K.LARGE_BURN}),
        ("Burns 15 %, face", {_K.LARGE_BURN}),
        ("Burns 14 %", set()),
        ("Scald of hand, 2 %", set()),
        ("Heartburn", set()),
        ("Umbilical cord prolapse", {_K.CORD_PROLAPSE}),
        ("Amniotic fluid embolism", {_K.BIRTH_EMERGENCY}),
    ],
)
def test_how_it_is_written(words: str, kinds: Iterable[ConditionKind]) -> None:
    assert kinds_in_words(words).kinds & _NAMED == frozenset(kinds)


@pytest.mark.parametrize(
    ("words", "is_told"),
    [
        ("Suicidal ideation", True),
        ("Deliberate self-harm, cut wrists", True),
        ("Thoughts of harming herself", True),
        ("Postnatal psychosis", True),
        ("No suicidal ideation", False),
        ("Denies suicidal thoughts", False),
        ("Low risk of self-harm", False),
        ("History of self-harm", False),
        ("Postnatal depression", False),
    ],
)
def test_who_may_come_to_harm_by_their_own_hand_is_not_nothing_urgent(words: str, is_told: bool) -> None:
    """NICE NG225 and CG192, secondary: an assessment at the earliest, within 4 hours after a birth."""
    one = reviewed(problem(words, recordedDate=SOON), *full_set())
    assert any(f.key in KEYS for f in one.findings) is is_told
    if is_told:
        assert one.urgency is U
        assert "alone" in one.at_bedside


@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("Hyperviscosity syndrome", "viscosity"),
        ("Leukostasis", "viscosity"),
        ("Thrombotic thrombocytopenic purpura", "microangiopathy"),
        ("Superior vena cava obstruction", "caval"),
        ("Carotid blowout", "torrent"),
        ("Ruptured spleen", "inside"),
        ("Haemothorax", "inside"),
        ("Thunderclap headache", "headache"),
        ("Migraine", None),
        ("Pyonephrosis", "kidney"),
        ("Infected obstructed kidney", "kidney"),
        ("Priapism", "priapism"),
        ("Pituitary apoplexy", "apoplexy"),
        ("Acute promyelocytic leukaemia", "leukaemia"),
        ("Peripartum cardiomyopathy", "cardiomyopathy"),
        ("Venous air embolism", "gas"),
        ("Blocked tracheostomy", "tracheostomy"),
        ("Saddle anaesthesia", "spine"),
        ("Meningism", "meningitis"),
        ("Cold pale leg", "limb"),
        ("Ingestion of antifreeze", "overdose"),
        ("Angina", None),
    ],
)
def test_more_names_of_adults_that_were_nothing_urgent(words: str, key: str | None) -> None:
    """Gertz 2018; NG228, CG95, NG148, BSH 2023, apoplexy 2011 from memory; others common practice."""
    one = reviewed(problem(words, recordedDate=SOON), *full_set())
    found = [f for f in one.findings if f.key in KEYS]
    assert [f.key for f in found] == ([f"{key}-recorded"] if key else [])
    assert ("Nothing urgent found" in one.headline) is (key is None)


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        ("Croup with stridor at rest", {"croup-recorded"}),
        ("Stridor", {"airway-recorded"}),
        ("Croup", set()),
        ("Bleeding after tonsillectomy", {"tonsils-recorded"}),
        ("Secondary haemorrhage following adenotonsillectomy", {"tonsils-recorded"}),
        ("Tonsillectomy", set()),
    ],
)
def test_children(words: str, keys: set[str]) -> None:
    """Common practice, no source: croup is kept calm, a bleeding tonsil bed is seen by a surgeon."""
    one = reviewed(problem(words, recordedDate=SOON))
    assert {f.key for f in one.findings if f.key in KEYS} == keys


@pytest.mark.parametrize(
    ("group", "chart", "is_asked"),
    [
        ("RhD negative", (), True),
        ("Blood group: Rhesus negative", (), True),
        ("RhD positive", (), False),
        ("RhD negative", (order("Anti-D", MedicineClass.ANTI_D.value),), False),
    ],
)
def test_anti_d(group: str, chart: tuple[Any, ...], is_asked: bool) -> None:
    """BSH 2014, from memory: within 72 hours of a sensitising event."""
    (kinds,) = (kinds_in_words(group).kinds,)
    mother = condition(*kinds, text=group) if kinds else condition(ConditionKind.PREGNANCY)
    record = calm(by_name(ConditionKind.SENSITISING_EVENT, 1), mother, orders=chart)
    assert ("rhesus-recorded" in told_in(record)) is is_asked


def test_a_tracheostomy_that_is_blocked_has_a_way_of_its_own() -> None:
    """National Tracheostomy Safety Project, from memory: it is no wound of the neck that is opened."""
    kinds = kinds_in_words("Blocked tracheostomy").kinds
    assert kinds >= {_K.AIRWAY_THREATENED, _K.TRACHEOSTOMY_BLOCKED}
    assert _K.TRACHEOSTOMY_BLOCKED not in kinds_in_words("Tracheostomy care").kinds
    (found,) = findings(
        chart(conditions=(condition(*kinds, text="Blocked tracheostomy", began=0.5),)), Kind.SINGLE_SIGN
    ).values()
    assert found.urgency is Urgency.EMERGENCY
    assert "inner tube out" in found.at_once
    assert "the wound is opened" not in found.sentence


@pytest.mark.parametrize(
    ("words", "is_it"),
    [
        ("Cloudy dialysate", True),
        ("PD peritonitis", True),
        ("Cloudy PD bag, abdominal pain", True),
        ("Peritonitis", False),
        ("Peritoneal dialysis", False),
    ],
)
def test_peritonitis_of_dialysis(words: str, is_it: bool) -> None:
    """International Society for Peritoneal Dialysis 2022, from memory: cloudy is peritonitis at first."""
    assert (_K.DIALYSIS_PERITONITIS in kinds_in_words(words).kinds) is is_it


@pytest.mark.parametrize("words", ["Spinal cord injury C5", "C4 spinal cord injury", "Tetraplegia"])
def test_a_cord_that_is_cut_high_weakens_breathing(words: str) -> None:
    assert kinds_in_words(words).kinds >= {_K.WEAK_BREATHING, _K.SPINAL_CORD_INJURY}
    assert _K.WEAK_BREATHING not in kinds_in_words("Spinal cord injury T10").kinds


@pytest.mark.parametrize(
    ("words", "is_one"),
    [
        ("Stab wound to chest", True),
        ("Gunshot wound, left groin", True),
        ("Penetrating abdominal trauma", True),
        ("Stab wound to hand", False),
        ("Stabbing chest pain", False),
        ("Stabbing pain in the back", False),
    ],
)
def test_what_a_wound_of_the_body_is_called(words: str, *, is_one: bool) -> None:
    """How records write it is our own reading."""
    assert (ConditionKind.PENETRATING_INJURY in kinds_in_words(words).kinds) is is_one


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("Reduced fetal movements", _K.REDUCED_MOVEMENTS),
        ("Decreased foetal movement", _K.REDUCED_MOVEMENTS),
        ("Fetal movements felt", None),
        ("Antepartum haemorrhage", _K.BLEEDING_BEFORE_BIRTH),
        ("Vaginal bleeding in pregnancy", _K.BLEEDING_BEFORE_BIRTH),
        ("Previous antepartum haemorrhage", None),
        ("Postpartum haemorrhage", None),
        ("Clonus", _K.CLONUS),
        ("No clonus", None),
        ("Catatonia", _K.CATATONIA),
        ("Choking episode", _K.CHOKING),
        ("Choking risk", None),
        ("Bulging fontanelle", _K.BULGING_FONTANELLE),
    ],
)
def test_words_of_mothers_and_minds(words: str, kind: ConditionKind | None) -> None:
    """Common practice, no source: what is denied or past is not meant."""
    mine = {_K.REDUCED_MOVEMENTS, _K.BLEEDING_BEFORE_BIRTH, _K.CLONUS, _K.CATATONIA}
    mine |= {_K.CHOKING, _K.BULGING_FONTANELLE}
    assert kinds_in_words(words).kinds & mine == ({kind} if kind is not None else set())
