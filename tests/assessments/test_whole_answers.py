"""Whole answers for the sick, the well and the half-recorded: one question a course that was read aloud."""

from datetime import timedelta
from typing import Any

import pytest

from tests.assessments.crisis_records import (
    CALM,
    CONFUSED,
    HR,
    RR,
    SBP,
    SPO2,
    VOICE,
    E,
    P,
    U,
    asked_of,
    crises,
    operation,
)
from tests.assessments.whole_answers import MIND, YEAR, found_in, known_since
from tests.charts import NOW, condition, rounds
from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    full_set,
    given,
    observation,
    ordered,
    patient,
    problem,
    quantity,
    round_before,
    stay,
)
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind as K
from weatherglass.model.signals import Consciousness, Signal


class TestASourceThatIsDrained:
    """Tokyo Guidelines 2018, grade III, from memory; a lactate above 4 and the grading are ours."""

    @pytest.mark.parametrize(
        ("mind", "systolic", "numbers", "urgency"),
        [
            (CALM, "90", {}, None),
            (CALM, "89", {}, U),
            (CONFUSED, "110", {}, U),
            (CONFUSED, "89", {}, E),
            (CALM, "89", {Signal.PLATELETS: "99"}, E),
            (CALM, "110", {Signal.PLATELETS: "100"}, None),
            (CALM, "110", {Signal.CREATININE: "177"}, U),
            (CALM, "110", {Signal.CREATININE: "176"}, None),
            (CALM, "110", {Signal.LACTATE: "4.1"}, U),
            (CALM, "110", {Signal.LACTATE: "4.0"}, None),
        ],
    )
    def test_an_organ_that_fails_asks(
        self, mind: Consciousness, systolic: str, numbers: dict[Signal, str], urgency: Urgency | None
    ) -> None:
        """Pressure, mind, platelets and creatinine at both ends."""
        ducts = condition(K.INFECTION, K.SOURCE_TO_DRAIN, text="Cholangitis", began=9)
        results: Any = {signal: [(1, value)] for signal, value in numbers.items()}
        record = rounds((1, {MIND: mind, SBP: systolic}), conditions=(ducts,), numbers=results)
        found = crises(record).get("source-not-drained")
        assert (found.urgency if found is not None else None) is urgency

    @pytest.mark.parametrize(
        "kind", [ProcedureKind.SURGERY, ProcedureKind.INSTRUMENTED, ProcedureKind.DEEP_PUNCTURE]
    )
    @pytest.mark.parametrize(("days", "is_asked"), [(0.1, False), (3, True)])
    def test_what_drained_it_since_answers(self, kind: ProcedureKind, days: float, is_asked: bool) -> None:
        """An operation, an endoscopy and a drain answer; one of before the infection does not."""
        ducts = condition(K.INFECTION, K.SOURCE_TO_DRAIN, text="Cholangitis", began=9)
        shown: Any = {MIND: CONFUSED, SBP: "84"}
        record = rounds((1, shown), conditions=(ducts,), procedures=(operation(kind, days),))
        assert ("source-not-drained" in crises(record)) is is_asked

    @pytest.mark.parametrize(("lactate", "is_asked"), [("2.1", True), ("2.0", False)])
    def test_a_child(self, lactate: str, is_asked: bool) -> None:
        """In a child a lactate above 2 asks within the hour (ours)."""
        known = condition(K.INFECTION, K.SOURCE_TO_DRAIN, text="Appendicitis", began=6)
        born = (NOW - timedelta(days=9 * YEAR)).date()
        results: Any = {Signal.LACTATE: [(1, lactate)]}
        record = rounds((1, {MIND: CALM}), conditions=(known,), numbers=results, born=born)
        found = crises(record).get("source-not-drained-in-a-child")
        assert (found is not None and found.urgency is U) is is_asked

    def test_no_liver_failure_is_asked_of_ducts_that_are_infected(self) -> None:
        """INR and bilirubin with confusion are those of the ducts (ours)."""
        numbers = {"6301-6": ("1.8", "1"), "14631-6": ("168", "umol/L"), "1742-6": ("900", "U/L")}
        results = [
            observation(f"o{code}", code, at=AT, valueQuantity=quantity(*value))
            for code, value in numbers.items()
        ]
        ill = full_set(consciousness="new-confusion")
        assert "liver-failure" in found_in(*ill, *results)
        assert "liver-failure" not in found_in(*ill, *results, problem("Acute cholangitis"))


class TestAMotherWhoseHeartMayFail:
    """NT-proBNP above 450 ng/L below 50 years (European Society of Cardiology 2021, from memory)."""

    @pytest.mark.parametrize(("value", "heart", "embolism"), [("451", True, False), ("450", False, True)])
    def test_the_heart_comes_before_an_embolism(self, value: str, heart: bool, embolism: bool) -> None:
        """Where the heart is asked about as urgently, an embolism is part of its sentence (ours)."""
        result = observation("b", "33762-6", at=AT, valueQuantity=quantity(value, "ng/L"))
        signs = full_set(pulse="118 /min", spo2="93 %")
        told = (problem("Pregnancy, 36 weeks"), problem("Breathlessness", recordedDate=AT, onsetDateTime=AT))
        (one,) = answer_of(patient("1995-01-01", gender="female"), *signs, result, *told).reviews
        keys = {each.key for each in one.findings}
        assert ("heart-of-a-mother-by-nt-probnp" in keys, "embolism-of-a-mother" in keys) == (heart, embolism)


@pytest.mark.parametrize(
    ("pressures", "pulses", "urgency"),
    [
        (("100", "160"), ("60", "110"), U),
        (("100", "159"), ("60", "109"), None),
        (("100", "160"), ("60", "100"), P),
        (("110", "150"), ("60", "110"), P),
    ],
)
def test_swings_in_guillain_barre_syndrome(
    pressures: tuple[str, str], pulses: tuple[str, str], urgency: Urgency | None
) -> None:
    """60 mmHg and 50 beats within a day (ours, after Willison 2016, from memory); each alone is prompt."""
    known = condition(K.GUILLAIN_BARRE, text="Guillain-Barré syndrome", began=60)
    both = zip(pressures, pulses, strict=True)
    sets: Any = [(8 - 7 * place, {MIND: CALM, SBP: p, HR: b}) for place, (p, b) in enumerate(both)]
    found = crises(rounds(*sets, conditions=(known,))).get("autonomic-swings")
    assert (found.urgency if found is not None else None) is urgency
    said = "systolic blood pressure 100 to 160 mmHg within a day"
    assert found is None or urgency is not U or said in found.sentence


@pytest.mark.parametrize(
    ("spo2", "mind", "is_asked"), [("91", CALM, True), ("92", CALM, False), ("96", VOICE, True)]
)
def test_croup_that_tires(spo2: str, mind: Consciousness, is_asked: bool) -> None:
    """A dull mind or less than 92 % (NICE Clinical Knowledge Summary, from memory)."""
    known = condition(K.CROUP, text="Croup", began=4)
    born = (NOW - timedelta(days=2 * YEAR)).date()
    found = crises(rounds((1, {MIND: mind, SPO2: spo2}), conditions=(known,), born=born))
    assert ("croup-that-tires" in found) is is_asked


def test_stridor_beside_croup_asks_for_what_croup_needs() -> None:
    """Two lines of a problem list are one illness: no wound of the neck is opened (ours)."""
    told = [problem(words, id=words, recordedDate=AT, onsetDateTime=AT) for words in ("Croup", "Stridor")]
    with_croup = found_in(*full_set(), *told, born="2023-01-01")
    alone = found_in(*full_set(), told[1], born="2023-01-01")
    (asked,) = (one for one in with_croup.values() if "Stridor" in one.sentence)
    assert "dexamethasone" in asked.sentence
    assert "wound" not in asked.sentence
    assert any("wound" in one.sentence for one in alone.values())


@pytest.mark.parametrize(
    ("spo2", "breaths", "urgency"), [("89", "30", E), ("90", "30", U), ("89", "29", U), ("90", "29", None)]
)
def test_a_neck_breather(spo2: str, breaths: str, urgency: Urgency | None) -> None:
    """Oxygen goes to the stoma (McGrath 2012, from memory); the numbers are ours."""
    found = asked_of((K.LARYNGECTOMY,), 900, {MIND: CALM, SPO2: spo2, RR: breaths}).get("neck-breather")
    assert (found.urgency if found is not None else None) is urgency
    assert found is None or "stoma" in found.at_once


def _of_days(**values: str) -> list[Json]:
    """Return rounds of days before the newest one."""
    return [one for back in (60, 48, 36, 24) for one in round_before(f"{back} h", **values)]


class TestWhatIsUsual:
    """What is as usual over a day asks for less, where nothing speaks of an illness (all ours)."""

    @pytest.mark.parametrize(
        ("told", "creatinine", "lactate", "urgency"),
        [
            ("Heart failure", "120", "1.8", Urgency.ROUTINE),
            ("Heart failure", "185", "1.8", U),
            ("Heart failure", None, "1.8", U),
            ("Heart failure", "120", "2.1", E),
            ("Hypertension", "120", "1.8", U),
        ],
    )
    def test_the_pressure_of_a_failing_heart(
        self, told: str, creatinine: str | None, lactate: str, urgency: Urgency
    ) -> None:
        """Awake, with a creatinine of the day that is kept; without one nobody knows that it is borne."""
        low = {"systolic_pressure": "88 mm[Hg]"}
        results = [observation("l", "2524-7", at=AT, valueQuantity=quantity(lactate, "mmol/L"))]
        for back, value in (("90 h", "118"), ("3 h", creatinine)):
            if value is not None:
                sent = quantity(value, "umol/L")
                results.append(observation(f"k{back}", "14682-9", at=earlier(back), valueQuantity=sent))
        found = found_in(*_of_days(**low), *full_set(**low), problem(told), *results)
        assert max(found[key].urgency for key in ("news2", "systolic-pressure") if key in found) is urgency

    @pytest.mark.parametrize(("told", "is_routine"), [("Heart failure", True), ("Hypertension", False)])
    def test_a_low_pressure_as_usual_is_no_trend(self, told: str, *, is_routine: bool) -> None:
        """A 3 that asks by the total alone does not ask as newly 3 either (all ours)."""
        rounds = [
            one
            for back in (60, 48, 36, 24)
            for one in round_before(f"{back} h", systolic_pressure="92 mm[Hg]")
        ]
        results = [
            observation(f"k{back}", "14682-9", at=earlier(back), valueQuantity=quantity("118", "umol/L"))
            for back in ("90 h", "3 h")
        ]
        found = found_in(*rounds, *full_set(systolic_pressure="88 mm[Hg]"), problem(told), *results)
        assert (found["news2"].urgency is Urgency.ROUTINE) is is_routine

    def test_not_with_an_infection_of_these_days(self) -> None:
        """A failing heart may be septic as well."""
        low = {"systolic_pressure": "88 mm[Hg]"}
        results = [
            observation(f"k{back}", "14682-9", at=earlier(back), valueQuantity=quantity("118", "umol/L"))
            for back in ("90 h", "3 h")
        ]
        told = problem("Heart failure"), problem("Pneumonia", id="i", recordedDate=earlier("20 h"))
        found = found_in(*_of_days(**low), *full_set(**low), *told, *results)
        assert found["news2"].urgency is U

    @pytest.mark.parametrize(
        ("usual", "pulse", "systolic", "more", "urgency"),
        [
            ("44", "40", "100", (), U),
            ("45", "40", "118", (), U),
            ("46", "40", "118", (), E),
            ("40", "40", "118", (), E),
            ("44", "40", "99", (), E),
            ("44", "38", "118", (), E),
            ("44", "40", "118", (problem("Syncope"),), E),
            ("44", "40", "118", (ordered("Bisoprolol 5 mg", "C07AB07"),), E),
        ],
    )
    def test_a_slow_pulse(
        self, usual: str, pulse: str, systolic: str, more: tuple[Json, ...], urgency: Urgency
    ) -> None:
        """Within the hour and not at once; a heart that is as slow as a limit that calls has no usual."""
        shown = {"pulse": f"{pulse} /min", "systolic_pressure": f"{systolic} mm[Hg]"}
        found = found_in(*_of_days(pulse=f"{usual} /min"), *full_set(**shown), *more, born="2000-01-01")
        assert found["pulse"].urgency is urgency

    @pytest.mark.parametrize(
        ("told", "usual", "newest", "urgency"),
        [
            ("Hypoplastic left heart syndrome", "78", "73", P),
            ("Hypoplastic left heart syndrome", "78", "72", E),
            ("Hypoplastic left heart syndrome", "73", "70", P),
            ("Hypoplastic left heart syndrome", "73", "69", E),
            ("Asthma", "78", "78", E),
        ],
    )
    def test_the_saturation_of_a_heart_that_mixes(
        self, told: str, usual: str, newest: str, urgency: Urgency
    ) -> None:
        """Where nobody has written down which range holds, that is what is asked."""
        before = _of_days(spo2=f"{usual} %")
        found = found_in(*before, *full_set(spo2=f"{newest} %"), problem(told), born="2025-10-01")
        assert found["spo2"].urgency is urgency


@pytest.mark.parametrize(
    ("before", "now", "dose", "again", "urgency"),
    [
        ("pain", "voice", "100 min", None, U),
        ("unresponsive", "alert", "100 min", None, U),
        ("pain", "pain", "100 min", None, E),
        ("voice", "voice", "100 min", None, E),
        ("pain", "voice", None, None, E),
        ("pain", "voice", "100 min", "20 min", E),
    ],
)
def test_status_that_was_treated(
    before: str, now: str, dose: str | None, again: str | None, urgency: Urgency
) -> None:
    """A mind that comes back after the dose is no seizure that goes on (ours); one that does not may be."""
    began = earlier("120 min")
    sent = [*round_before("110 min", consciousness=before), *full_set(consciousness=now)]
    sent.append(problem("Status epilepticus", onsetDateTime=began, recordedDate=began))
    if dose is not None:
        sent.append(given("Lorazepam", earlier(dose), "N05BA06"))
    if again is not None:
        late = earlier(again)
        sent.append(problem("Seizure", id="s", onsetDateTime=late, recordedDate=late))
    assert found_in(*sent)["seizure"].urgency is urgency


@pytest.mark.parametrize(("hours", "is_told"), [(47, True), (48, False)])
def test_curb_65_is_not_for_a_pneumonia_of_the_ward(hours: int, is_told: bool) -> None:
    """Lim 2003: made for pneumonia acquired outside hospital; 48 hours after admission it is not."""
    written = earlier("1 h")
    came = earlier(f"{hours + 1} h")
    told = problem("Pneumonia", onsetDateTime=written, recordedDate=written)
    found = found_in(stay(period={"start": came}), *full_set(), told)
    assert ("curb-65" in found) is is_told


def test_what_was_given_stands_beside_the_question_of_a_childs_sepsis() -> None:
    """It said "antimicrobial within 1 hour" beside a ceftriaxone of half an hour ago."""
    ill = full_set(temperature="39.4 Cel", pulse="168 /min", consciousness="voice")
    dose = given("Ceftriaxone", earlier("20 min"), "J01DD04")
    without, beside = (found_in(*ill, *more, born="2023-01-01") for more in ((), (dose,)))
    asked = "screen-for-infection"
    assert "antimicrobial within 1 hour" in without[asked].sentence
    if asked in beside:
        assert "Ceftriaxone was given" in beside[asked].sentence


@pytest.mark.parametrize(
    ("words", "total"),
    [
        ("E4V5M6", "15"),
        ("E3 V5 M6", "14"),
        ("GCS 15/15", "15"),
        ("14 (E3 V5 M6)", "14"),
        ("E2, V2, M4", "8"),
        ("gcs: 7", "7"),
        ("15 (E3 V5 M6)", None),
        ("E4VTM6", None),
        ("16", None),
        ("E5V5M6", None),
        ("improved to 14", None),
    ],
)
def test_a_coma_scale_in_words(words: str, total: str | None) -> None:
    """Parts that add up, and a total of 15; what contradicts itself is named as not read (ours)."""
    sent = {**observation("g", "9269-2", at=AT), "valueString": words}
    (one,) = answer_of(patient(), *full_set(consciousness=None), sent).reviews
    read = [each.value for found in one.findings for each in found.measures if each.key == "gcs-total"]
    is_named = "Glasgow Coma Scale" in one.headline
    assert is_named is (total is None)
    assert total is None or total == "15" or any(str(each) == total for each in read)


def test_what_a_ceiling_leaves_is_part_of_it() -> None:
    """What is still given was named as "not read as a decision"."""
    words = "Ward-based care, not for ICU. For antibiotics and fluids."
    plan = {**observation("p", "x", system="urn:x", at=AT), "code": {"text": "Treatment escalation plan"}}
    (one,) = answer_of(patient(), *full_set(), {**plan, "valueString": words}).reviews
    (told,) = one.ceiling
    assert "not for ICU; For antibiotics and fluids" in told
    words = "Not for CPR. For all other active treatment."
    (one,) = answer_of(patient(), *full_set(), {**plan, "valueString": words}).reviews
    assert not any("not read" in each for each in one.ceiling)


def test_a_low_glucose_comes_before_the_agitation_that_it_may_be() -> None:
    """Sugar in the mouth is comfort within minutes; the rest is asked where it does not help (ours)."""
    told = [
        problem(words, id=words, recordedDate=earlier("3 h"), onsetDateTime=earlier("3 h"))
        for words in ("Last days of life", "Agitation")
    ]
    insulin = ordered("Insulin glargine", "A10AE04")
    low = observation("g", "15074-8", at=AT, valueQuantity=quantity("2.1", "mmol/L"))
    (one,) = answer_of(patient(), *told, insulin, low).reviews
    assert "Low glucose, 2.1 mmol/L, on Insulin glargine, with agitation" in one.headline
    assert not any(each.key == "comfort-agitation" for each in one.findings)


def test_a_slow_heart_of_an_unborn_child_by_ultrasound() -> None:
    """LOINC 11948-7, from memory, is read as what it is; it was not used beside 96 a minute."""
    slow = observation("f", "11948-7", at=AT, valueQuantity=quantity("96", "/min"))
    found = found_in(problem("Pregnancy, 40 weeks"), *full_set(), slow, born="1996-01-01")
    assert found["slow-fetal-heart"].urgency is E


@pytest.mark.parametrize(
    ("words", "is_asked"), [("Early pregnancy, 7 weeks", False), ("Pregnancy, 30 weeks", True)]
)
def test_no_heparin_is_offered_beside_an_ectopic_pregnancy(words: str, is_asked: bool) -> None:
    """Ours: "heparin into a vein" stood beside "Ectopic pregnancy?" after a faint at 96 mmHg."""
    shock = full_set(pulse="112 /min", systolic_pressure="96 mm[Hg]")
    told = (
        known_since(words, "150 h"),
        known_since("Faint", "1 h"),
        known_since("Lower abdominal pain", "4 h"),
    )
    found = found_in(*shock, *told, born="1999-01-01")
    assert ("embolism-of-a-mother-in-shock" in found) is is_asked
    assert any(key.startswith("ectopic") for key in found) is not is_asked
