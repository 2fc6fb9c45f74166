"""Crises by their signs, at both ends of each.

Thyroid storm: Japan Thyroid Association 2012 (TS1 and TS2; 38 °C, pulse 130, bilirubin 3 mg/dL).
Myxoedema coma and serotonin toxicity (Hunter 2003): as restated; neuroleptic malignant syndrome: from memory.
From when each is asked for, and how soon, is our choice where the publication gives none.
"""

from datetime import date
from typing import Any

import pytest

from tests.assessments.crisis_records import (
    BILI,
    CALM,
    CONFUSED,
    HR,
    PCO2,
    RR,
    SBP,
    SPO2,
    VOICE,
    E,
    T,
    U,
    asked_of,
    crises,
    ill,
)
from tests.charts import ago, condition, order, rounds
from weatherglass.knowledge.emergencies.crises import CRISES, Crisis, possible
from weatherglass.model.findings import Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

GRAVES = condition(ConditionKind.HYPERTHYROIDISM, text="Graves' disease")


SLOW = condition(ConditionKind.HYPOTHYROIDISM, text="Hypothyroidism")


@pytest.mark.parametrize(
    ("mind", "temperature", "pulse", "bilirubin", "urgency"),
    [
        pytest.param(CONFUSED, "38.0", "90", None, E, id="mind-and-fever"),
        pytest.param(CONFUSED, "37.9", "129", "51", None, id="mind-alone"),
        pytest.param(CONFUSED, "37.0", "130", None, E, id="mind-and-pulse"),
        pytest.param(CALM, "38.0", "130", None, U, id="two-without-mind"),
        pytest.param(CALM, "38.0", "130", "52", E, id="three-without-mind"),
        pytest.param(CALM, "38.0", "130", "51", U, id="bilirubin-below"),
        pytest.param(CALM, "38.0", "129", None, None, id="fever-alone"),
    ],
)
def test_thyroid_storm(
    mind: Consciousness, temperature: str, pulse: str, bilirubin: str | None, urgency: Urgency | None
) -> None:
    numbers = {BILI: [(3, bilirubin)]} if bilirubin else {}
    found = crises(ill(mind, temperature, pulse, numbers=numbers, conditions=(GRAVES,))).get("thyroid-storm")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("began", "since"),
    [((900.0,), 6), ((4.0,), 4), ((2.0, 4.0), 4), ((None,), 6)],
    ids=["known", "written-later", "written-again", "undated"],
)
def test_it_is_asked_from_when_both_were_there(began: tuple[float | None, ...], since: float) -> None:
    """Law 3: signs older than the problem were another question; writing it down once more moves nothing."""
    shown = {CodedSignal.CONSCIOUSNESS: CONFUSED, T: "38.6", HR: "134"}
    known = [condition(ConditionKind.HYPERTHYROIDISM, began=at, text=f"Graves' disease {at}") for at in began]
    record = rounds((6, shown), (1, shown), conditions=tuple(known))
    assert crises(record)["thyroid-storm"].asked_since == ago(since)


def test_a_storm_that_is_on_record_is_not_asked() -> None:
    """What is asked is said where it is a problem on record, whatever its words and wherever it stands."""
    storm = condition(ConditionKind.HYPERTHYROIDISM, ConditionKind.THYROID_STORM, text="Thyrotoxic crisis")
    found = crises(ill(CONFUSED, "39.0", conditions=(GRAVES, storm)))["thyroid-storm"]
    assert found.brief.startswith("Thyrotoxic crisis with ")


@pytest.mark.parametrize(
    ("mind", "temperature", "is_asked"),
    [(VOICE, "35.0", True), (VOICE, "35.1", False), (CALM, "33.0", False), (CONFUSED, "34.0", True)],
)
def test_myxoedema(mind: Consciousness, temperature: str, is_asked: bool) -> None:
    found = crises(ill(mind, temperature, conditions=(SLOW,))).get("myxoedema")
    assert (found is not None) is is_asked
    if found is not None:
        assert found.urgency is E
        assert "hydrocortisone before thyroid hormone" in found.sentence


@pytest.mark.parametrize("conditions", [(), (condition(ConditionKind.DEMENTIA, text="Dementia"),)])
def test_not_without_its_ground(conditions: Any) -> None:
    assert crises(ill(CONFUSED, "39.0", "150", conditions=conditions)) == {}
    assert crises(ill(VOICE, "33.0", conditions=conditions)) == {}


def test_it_begins_when_enough_is_there() -> None:
    """A repeat of the same signs moves nothing."""
    steps = [(5, CALM, "38.5"), (3, CONFUSED, "38.6"), (1, CONFUSED, "38.4")]
    shown = [(at, {CodedSignal.CONSCIOUSNESS: mind, T: value}) for at, mind, value in steps]
    assert crises(rounds(*shown, conditions=(GRAVES,)))["thyroid-storm"].since == ago(3)


def test_what_has_passed_is_not_asked() -> None:
    shown = [
        (5, {CodedSignal.CONSCIOUSNESS: CONFUSED, T: "39.0"}),
        (1, {CodedSignal.CONSCIOUSNESS: CONFUSED, T: "37.0"}),
    ]
    assert crises(rounds(*shown, conditions=(GRAVES,))) == {}


@pytest.mark.parametrize(("born", "is_asked"), [(date(2010, 3, 12), True), (date(2010, 3, 13), False)])
def test_of_adults_only(born: date, is_asked: bool) -> None:
    record = ill(CONFUSED, "39.0", "150", conditions=(GRAVES,), born=born)
    assert bool(crises(record)) is is_asked


@pytest.mark.parametrize(
    ("breathing", "pco2", "key", "urgency"),
    [
        ("20", "6.0", None, None),
        ("21", "6.0", "breathing-muscles-early", U),
        ("21", "6.1", "breathing-muscles", E),
        ("12", "6.1", "breathing-muscles", E),
    ],
)
@pytest.mark.parametrize("kind", [ConditionKind.GUILLAIN_BARRE, ConditionKind.MYASTHENIA])
def test_breathing_muscles(
    kind: ConditionKind, breathing: str, pco2: str, key: str | None, urgency: Urgency | None
) -> None:
    """Lawn 2001: vital capacity falls first; the limits that ask for it are ours. Asked once."""
    found = asked_of((kind,), 60, {RR: breathing}, numbers={PCO2: [(1, pco2)]})
    assert {name: one.urgency for name, one in found.items()} == ({key: urgency} if key else {})


@pytest.mark.parametrize(
    ("creatinine", "potassium", "heat", "days", "is_asked"),
    [
        ("171", "4.0", "37.0", 7, True),
        ("170", "5.9", "37.9", 1, False),
        ("170", "6.0", "37.0", 1, True),
        ("170", "4.0", "38.0", 1, True),
        ("400", "6.4", "39.0", 7.1, False),
    ],
)
def test_obstructed_kidneys(creatinine: str, potassium: str, heat: str, days: float, is_asked: bool) -> None:
    """NICE NG148, from memory: obstruction with kidney injury is drained; the signs are our choice."""
    numbers = {Signal.CREATININE: [(2, creatinine)], Signal.POTASSIUM: [(2, potassium)]}
    found = asked_of((ConditionKind.URINARY_OBSTRUCTION,), days, {T: heat}, numbers=numbers)
    assert (found["obstructed-kidneys"].urgency if "obstructed-kidneys" in found else None) is (
        U if is_asked else None
    )


WEAK = ConditionKind.WEAK_LEGS


KNOWN_CANCER = condition(ConditionKind.CANCER, text="Carcinoma of prostate", began=900)


FULL_BLADDER = condition(ConditionKind.URINARY_OBSTRUCTION, text="Retention of urine", began=3)


@pytest.mark.parametrize(
    ("beside", "days", "found"),
    [
        ((KNOWN_CANCER,), 7, {"cord-beside-a-reason": U}),
        ((FULL_BLADDER,), 1, {"cord-beside-a-reason": U}),
        ((KNOWN_CANCER,), 7.1, {}),
        ((), 2, {}),
        ((KNOWN_CANCER, condition(ConditionKind.GUILLAIN_BARRE, began=3)), 1, {}),
    ],
)
def test_weak_legs(beside: tuple[Any, ...], days: float, found: dict[str, Urgency]) -> None:
    """NICE NG234, from memory: MRI within 24 hours in cancer. It said "Nothing urgent found"."""
    weak = condition(WEAK, text="Weakness of both legs", began=days * 24)
    asked = crises(rounds((1, {HR: "80"}), conditions=(weak, *beside)))
    cord = {key: one.urgency for key, one in asked.items() if key.startswith("cord")}
    assert cord == found


@pytest.mark.parametrize(("score", "is_asked"), [("12", True), ("13", False)])
@pytest.mark.parametrize("kind", [ConditionKind.BACTERIAL_MENINGITIS, ConditionKind.ENCEPHALITIS])
def test_meningitis_with_a_falling_coma_scale(kind: ConditionKind, score: str, is_asked: bool) -> None:
    """McGill 2016, from memory: critical care at 12 or less."""
    asked = asked_of((kind,), 1, {Signal.GCS_TOTAL: score})
    assert ("meningitis-with-coma" in asked) is is_asked
    if is_asked:
        assert asked["meningitis-with-coma"].urgency is E
        assert "Glasgow Coma Scale 12 and" in asked["meningitis-with-coma"].brief


@pytest.mark.parametrize(
    ("potassium", "saturation", "urgency"),
    [("6.5", "95", E), ("6.4", "89", E), ("6.4", "90", None)],
)
def test_dialysis_at_once(potassium: str, saturation: str, urgency: Urgency | None) -> None:
    """Common practice, no source: potassium and fluid on the lungs; the limits are ours."""
    numbers = {Signal.POTASSIUM: [(1, potassium)]}
    found = asked_of((ConditionKind.DIALYSIS,), 900, {SPO2: saturation}, numbers=numbers).get("dialysis-due")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("heat", "systolic", "days", "urgency"),
    [("38.0", "120", 7, U), ("38.0", "100", 1, E), ("37.9", "90", 1, None), ("39.0", "90", 7.1, None)],
)
def test_an_infected_kidney_behind_a_stone(
    heat: str, systolic: str, days: float, urgency: Urgency | None
) -> None:
    """European Association of Urology, from memory: it is decompressed urgently; the limits are ours."""
    asked = asked_of((ConditionKind.URETERIC_STONE,), days, {T: heat, SBP: systolic})
    assert [one.urgency for one in asked.values()] == ([urgency] if urgency is not None else [])


@pytest.mark.parametrize(
    ("mind", "days", "is_asked"), [(CONFUSED, 2, True), (CALM, 1, False), (CONFUSED, 2.1, False)]
)
def test_a_full_bladder_behind_confusion(mind: Consciousness, days: float, is_asked: bool) -> None:
    """NICE CG103, from memory: retention of urine is looked for in delirium."""
    full = condition(ConditionKind.URINARY_RETENTION, text="Retention of urine", began=days * 24)
    asked = crises(rounds((1, {CodedSignal.CONSCIOUSNESS: mind}), conditions=(full,)))
    assert ("retention-in-confusion" in asked) is is_asked


@pytest.mark.parametrize(
    ("bled", "awake_at", "dull", "is_asked"),
    [(48, 49, 23, True), (48, 49, 25, False), (48, 47, 40, True), (24 * 21 + 1, 47, 3, False)],
)
def test_a_mind_that_alters_after_a_bleed(bled: float, awake_at: float, dull: float, is_asked: bool) -> None:
    """Common practice, no source; a day after the bleed, or once alert since, and three weeks, are ours."""
    bleed = condition(ConditionKind.INTRACRANIAL_BLEEDING, text="Subarachnoid haemorrhage", began=bled)
    awake, drowsy = {CodedSignal.CONSCIOUSNESS: CALM}, {CodedSignal.CONSCIOUSNESS: VOICE}
    found = crises(rounds((awake_at, awake), (dull, drowsy), (1, drowsy), conditions=(bleed,)))
    assert ("after-bleeding-in-the-head" in found) is is_asked


@pytest.mark.parametrize(
    ("began", "awake_at", "dull", "urgency"),
    [(48, 49, 23, U), (48, 49, 25, None), (48, 47, 40, U), (24 * 7 + 1, 47, 3, None)],
)
def test_a_mind_that_alters_after_a_stroke(
    began: float, awake_at: float, dull: float, urgency: Urgency | None
) -> None:
    """Common practice, no source; a day after it, or once alert since, and a week, are our choice."""
    stroke = condition(ConditionKind.STROKE, text="Ischaemic stroke", began=began)
    bleed = condition(ConditionKind.INTRACRANIAL_BLEEDING, text="Haemorrhagic transformation", began=30)
    awake, drowsy = {CodedSignal.CONSCIOUSNESS: CALM}, {CodedSignal.CONSCIOUSNESS: VOICE}
    shown = ((awake_at, awake), (dull, drowsy), (1, drowsy))
    found = crises(rounds(*shown, conditions=(stroke,))).get("after-a-stroke")
    assert (found.urgency if found else None) is urgency
    assert "after-a-stroke" not in crises(rounds(*shown, conditions=(stroke, bleed)))


@pytest.mark.parametrize(("haemoglobin", "is_asked"), [("49", True), ("50", False)])
def test_a_haemoglobin_far_down_in_sickle_cell_disease(haemoglobin: str, is_asked: bool) -> None:
    """British Society for Haematology, from memory; 50 is ours, below the usual 60 to 90."""
    sickle = condition(ConditionKind.SICKLE_DISEASE, text="Sickle cell disease")
    for born in (date(1990, 1, 1), date(2020, 1, 1)):
        record = rounds(
            (1, {}), numbers={Signal.HAEMOGLOBIN: [(2, haemoglobin)]}, conditions=(sickle,), born=born
        )
        assert ("sickle-anaemia" in crises(record)) is is_asked


@pytest.mark.parametrize(
    ("born", "is_asked"), [(date(2025, 3, 13), True), (date(2025, 3, 11), False), (date(1990, 1, 1), False)]
)
def test_apnoea_in_the_first_year(born: date, is_asked: bool) -> None:
    """NICE NG51, a sign of high risk; an emergency by its name is ours."""
    still = condition(ConditionKind.APNOEA, text="Apnoea", began=2)
    assert ("apnoea-of-an-infant" in crises(rounds((1, {}), conditions=(still,), born=born))) is is_asked


@pytest.mark.parametrize(
    ("born", "mind", "shown", "is_asked"),
    [
        (date(2026, 3, 7), VOICE, {Signal.SPO2: "89"}, True),
        (date(2026, 3, 7), VOICE, {Signal.SPO2: "90"}, False),
        (date(2026, 3, 7), CALM, {Signal.SPO2: "89"}, False),
        (date(2026, 3, 7), CALM, {Signal.SPO2: "89", HR: "180"}, True),
        (date(2026, 2, 12), VOICE, {Signal.SPO2: "89"}, False),
    ],
)
def test_a_newborn_in_shock(born: date, mind: Consciousness, shown: dict[Any, str], is_asked: bool) -> None:
    """From memory; two signs with an altered mind, or three, and 28 days are ours. Lactate is one of them."""
    record = rounds(
        (1, {CodedSignal.CONSCIOUSNESS: mind, **shown}), numbers={Signal.LACTATE: [(1, "4.1")]}, born=born
    )
    assert ("newborn-in-shock" in crises(record)) is is_asked


def test_a_newborn_with_sepsis_on_record_is_not_asked_about_it() -> None:
    """What is known leads by itself: a glucose of 2.1 stood third behind the question."""
    shown = {CodedSignal.CONSCIOUSNESS: VOICE, Signal.SPO2: "89"}
    known = (condition(ConditionKind.SEPSIS, text="Suspected sepsis", began=1),)
    record = rounds(
        (1, shown), numbers={Signal.LACTATE: [(1, "4.1")]}, born=date(2026, 3, 7), conditions=known
    )
    assert "newborn-in-shock" not in crises(record)


def test_one_question_as_it_presses_most() -> None:
    """Written-down clonus made an emergency of what the pair alone asked promptly, and was not looked at."""
    clonus = condition(ConditionKind.CLONUS, text="Clonus", began=3)
    chart_ = (order("Venlafaxine", "snri"), order("Tramadol", "opioid"))
    found = crises(ill(CONFUSED, "38.9", "128", conditions=(clonus,), orders=chart_))
    asked = [one for one in found.values() if one.key.startswith("serotonin")]
    assert [(one.key, one.urgency) for one in asked] == [("serotonin-toxicity-with-clonus", E)]


@pytest.mark.parametrize(
    ("white", "systolic", "urgency"),
    [
        ("15", "110", None),
        ("15.1", "110", Urgency.PROMPT),
        ("15.1", "99", Urgency.URGENT),
        ("9", "100", None),
    ],
)
def test_a_severe_c_difficile(white: str, systolic: str, urgency: Urgency | None) -> None:
    """NICE NG199, from memory: white cells above 15 are severe; the pressure is ours."""
    shown = {Signal.SYSTOLIC_PRESSURE: systolic, Signal.WHITE_CELLS: white}
    found = crises(rounds((1, shown), conditions=(condition(ConditionKind.C_DIFFICILE, began=40),)))
    assert getattr(found.get("severe-c-difficile"), "urgency", None) is urgency


@pytest.mark.parametrize("crisis", [pytest.param(each, id=each.key) for each in CRISES])
def test_whatever_makes_it_likely_lets_it_be_asked(crisis: Crisis) -> None:
    """Only whom a crisis can concern is asked about it: each of its grounds alone is enough for that."""
    beside = frozenset(crisis.beside[:1])
    for problem in crisis.problems:
        assert crisis in tuple(possible(beside | {problem}, (), ()))
    for medicine in crisis.medicines:
        assert crisis in tuple(possible(beside, (medicine,), ()))
    for procedure in crisis.was_done:
        assert crisis in tuple(possible(beside, (), (procedure,)))
    if not crisis.is_of_what_is_on_record:
        assert crisis in tuple(possible(beside, (), ()))
