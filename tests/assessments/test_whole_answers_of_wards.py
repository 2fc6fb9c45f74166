"""Whole answers of the wards: what comes again, what a drain, a catheter or a wire has changed."""

from datetime import timedelta
from functools import partial
from typing import Any

import pytest

from tests.assessments.crisis_records import CALM, CONFUSED, HR, SBP, E, P, T, U, crises, operation
from tests.assessments.whole_answers import MIND, YEAR, found_in, known_since
from tests.charts import NOW, condition, rounds
from tests.records import (
    AT,
    answer_of,
    earlier,
    full_set,
    observation,
    ordered,
    patient,
    problem,
    procedure,
    quantity,
)
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind as K
from weatherglass.model.signals import Consciousness, Signal

TROPONIN = "67151-1"
_of_a_man = partial(found_in, gender="male")


@pytest.mark.parametrize(
    ("hours", "is_asked"), [((20, 8), True), ((20,), False), ((20, 169), False), ((8, 8), False)]
)
def test_attacks_that_come_again(hours: tuple[int, ...], is_asked: bool) -> None:
    """Two in a week, at different hours: one that is written down twice is one (NICE NG128, from memory)."""
    told = tuple(
        condition(K.TRANSIENT_ISCHAEMIC_ATTACK, text=f"Attack {place}", began=each)
        for place, each in enumerate(hours)
    )
    found = crises(rounds((1, {MIND: CALM}), conditions=told))
    assert ("transient-attacks-again" in found) is is_asked


@pytest.mark.parametrize(
    ("platelets", "mind", "urgency"),
    [("19", CALM, U), ("20", CALM, None), ("19", CONFUSED, E)],
)
@pytest.mark.parametrize("years", [5, 50])
def test_a_headache_under_few_platelets(
    platelets: str, mind: Consciousness, urgency: Urgency | None, years: int
) -> None:
    """Below 20 it is bleeding into the head until it is seen not to be (common practice), at every age."""
    known = condition(K.HEADACHE, text="Headache", began=4)
    born = (NOW - timedelta(days=years * YEAR)).date()
    numbers: Any = {Signal.PLATELETS: [(2, platelets)]}
    found = crises(rounds((1, {MIND: mind}), conditions=(known,), numbers=numbers, born=born))
    asked = found.get("head-under-few-platelets")
    assert (asked.urgency if asked is not None else None) is urgency


@pytest.mark.parametrize(("pain", "is_asked"), [(3, True), (30, False)])
def test_pain_beside_an_ectopic_pregnancy_under_watch(pain: int, is_asked: bool) -> None:
    """New pain is examined at once (common practice); that of the first day was what it was found by."""
    told = (
        condition(K.ECTOPIC_PREGNANCY, text="Ectopic pregnancy", began=110),
        condition(K.ABDOMINAL_PAIN, text="Pain", began=pain),
    )
    found = crises(rounds((1, {MIND: CALM}), conditions=told))
    assert ("ectopic-with-pain" in found) is is_asked


@pytest.mark.parametrize(
    ("heat", "pulse", "crp", "is_asked"),
    [("38.0", "111", "151", True), ("37.9", "111", "151", False), ("38.0", "110", "151", False)],
)
def test_a_source_behind_a_fever(heat: str, pulse: str, crp: str, is_asked: bool) -> None:
    """All four together ask for the surgeon within the hour (numbers ours)."""
    known = condition(K.INFECTION, K.SOURCE_TO_DRAIN, text="Empyema", began=40)
    numbers: Any = {Signal.CRP: [(2, crp)], Signal.WHITE_CELLS: [(2, "16")]}
    found = crises(rounds((1, {MIND: CALM, T: heat, HR: pulse}), conditions=(known,), numbers=numbers))
    assert ("source-behind-a-fever" in found) is is_asked


@pytest.mark.parametrize(
    ("systolic", "pulse", "days", "urgency"),
    [("89", "101", 1, E), ("89", "100", 1, U), ("90", "100", 1, None), ("89", "101", 4, None)],
)
def test_a_wire_through_the_heart(systolic: str, pulse: str, days: int, urgency: Urgency | None) -> None:
    """In the three days after a pacemaker (common practice; numbers ours)."""
    done = (operation(ProcedureKind.PACEMAKER, days, "Pacemaker"),)
    found = crises(rounds((1, {MIND: CALM, SBP: systolic, HR: pulse}), procedures=done))
    asked = found.get("tamponade-after-a-wire")
    assert (asked.urgency if asked is not None else None) is urgency


@pytest.mark.parametrize(("back", "is_asked"), [(8, False), (40, True)])
def test_a_catheter_answers_obstructed_kidneys(back: int, is_asked: bool) -> None:
    """Put in since retention was written down: "bladder scan and catheter" was asked of who has one."""
    known = condition(K.URINARY_OBSTRUCTION, text="Retention", began=20)
    numbers: Any = {Signal.CREATININE: [(2, "310")]}
    done = (operation(ProcedureKind.BLADDER_CATHETER, back / 24, "Catheter"),)
    found = crises(rounds((1, {MIND: CALM}), conditions=(known,), numbers=numbers, procedures=done))
    assert ("obstructed-kidneys" in found) is is_asked


class TestHeavyLegsUnderAnEpidural:
    """AAGBI and OAA 2020, from memory: expected while it runs in labour; 4 hours after it they lift."""

    RUNS = ordered("Levobupivacaine 0.1%", authoredOn=earlier("3 h"))

    @pytest.mark.parametrize(
        ("mother", "born", "urgency"), [(True, False, P), (True, True, E), (False, False, E)]
    )
    def test_in_labour_it_is_the_block(self, mother: bool, born: bool, urgency: Urgency) -> None:
        """After the birth, and in who is not in labour, blood in the spine comes first."""
        line = {**self.RUNS, "dosageInstruction": [{"route": {"text": "epidural"}}]}
        told = [known_since("Heavy legs", "1 h")]
        told += [problem("Pregnancy, 40 weeks", id="p")] if mother else []
        birth = procedure("Spontaneous vaginal delivery", performedDateTime=earlier("2 h"))
        found = _of_a_man(*full_set(), line, *told, *([birth] if born else []), born="1995-01-01")
        assert found["epidural-weak-legs"].urgency is urgency


class TestMagnesiumThatRuns:
    """NICE NG133, from memory: nobody is told to give more of what may be too much already (law 5)."""

    @pytest.mark.parametrize("given_as", ["order", "none"])
    def test_it_is_not_pushed(self, given_as: str) -> None:
        """It said "magnesium sulfate into a vein" at the bedside beside a level of 4.1 and lost reflexes."""
        line = ordered("Magnesium sulfate", "B05XA05", authoredOn=earlier("3 h"))
        line["dosageInstruction"] = [{"text": "1 g/hour intravenous infusion"}]
        sent = [*full_set(consciousness="voice"), known_since("Eclampsia", "3 h")]
        sent += [line] if given_as == "order" else []
        (one,) = answer_of(patient("2000-01-01"), *sent).reviews
        pushes = "magnesium sulfate into a vein" in one.at_bedside.casefold()
        assert pushes is (given_as == "none")
        assert ("before any more of it" in one.at_bedside) is (given_as == "order")


@pytest.mark.parametrize(
    ("told", "beside", "urgency"),
    [
        ("Wound dehiscence", {}, P),
        ("Wound dehiscence", {"temperature": "38.0 Cel", "pulse": "111 /min"}, U),
        ("Wound dehiscence", {"temperature": "38.0 Cel", "pulse": "110 /min"}, P),
        ("Burst abdomen", {}, U),
        ("Anastomotic dehiscence", {}, None),
    ],
)
def test_a_wound_that_opens(told: str, beside: dict[str, str], urgency: Urgency | None) -> None:
    """Looked at on the day (common practice); one that shows the gut is covered at once."""
    found = _of_a_man(*full_set(**beside), known_since(told, "2 h"))
    asked = [each for each in found.values() if "ound" in each.sentence or "Burst" in each.sentence]
    asked = [each for each in asked if each.key in ("wound-opened", "burst-belly-recorded")]
    assert max((each.urgency for each in asked), default=None) is urgency


@pytest.mark.parametrize(
    ("systolic", "beside", "urgency"),
    [("100", K.COLLAPSE, P), ("99", K.COLLAPSE, U), ("99", K.FALL, None)],
)
def test_a_faint_in_aortic_stenosis(systolic: str, beside: K, urgency: Urgency | None) -> None:
    """A faint is of the valve until seen (common practice); below 100 mmHg within the hour (ours)."""
    told = (
        condition(K.SEVERE_AORTIC_STENOSIS, text="Severe aortic stenosis", began=9000),
        condition(beside, text="Beside it", began=5),
    )
    found = crises(rounds((1, {MIND: CALM, SBP: systolic}), conditions=told))
    asked = found.get("syncope-in-aortic-stenosis")
    assert (asked.urgency if asked is not None else None) is urgency


@pytest.mark.parametrize(
    ("heat", "mind", "more", "is_asked"),
    [
        ("38.0", CONFUSED, (), True),
        ("37.9", CONFUSED, (), False),
        ("38.0", CALM, (), False),
        ("38.0", CONFUSED, (K.INFECTION,), False),
    ],
)
def test_a_fit_with_fever(heat: str, mind: Consciousness, more: tuple[K, ...], is_asked: bool) -> None:
    """Aciclovir while encephalitis is looked for (Solomon 2012, from memory); 38.0 °C is ours."""
    told = [condition(K.SEIZURE, text="Seizure", began=3)]
    told += [condition(each, text="Pneumonia", began=3) for each in more]
    found = crises(rounds((1, {MIND: mind, T: heat}), conditions=tuple(told)))
    assert ("brain-inflamed" in found) is is_asked


@pytest.mark.parametrize(("acids", "is_asked"), [("40", True), ("39", False)])
def test_moderate_cholestasis_of_pregnancy(acids: str, is_asked: bool) -> None:
    """40 to 99 µmol/L (RCOG Green-top Guideline 43, from memory)."""
    sent = observation("b", "14628-2", at=AT, valueQuantity=quantity(acids, "umol/L"))
    told = problem("Pregnancy, 36 weeks")
    found = found_in(*full_set(), sent, told, born="1995-01-01")
    assert ("cholestasis-of-pregnancy" in found) is is_asked


@pytest.mark.parametrize(
    ("pulse", "systolic", "urgency"), [("110", "101", P), ("111", "101", U), ("111", "100", E)]
)
def test_a_blow_in_pregnancy(pulse: str, systolic: str, urgency: Urgency) -> None:
    """The child is traced for 4 hours (from memory); pulse and pressure are ours."""
    signs = full_set(pulse=f"{pulse} /min", systolic_pressure=f"{systolic} mm[Hg]")
    told = [problem("Pregnancy, 30 weeks", id="p"), known_since("Road traffic collision", "3 h")]
    found = found_in(*signs, *told, born="1995-01-01")
    assert found["blow-in-pregnancy"].urgency is urgency


@pytest.mark.parametrize(
    ("words", "is_asked"), [("Postpartum haemorrhage", True), ("Secondary postpartum haemorrhage", False)]
)
def test_bleeding_after_a_birth_is_met_at_the_bedside(words: str, is_asked: bool) -> None:
    """Tone, trauma, tissue, thrombin (RCOG Green-top Guideline 52, from memory)."""
    birth = procedure("Spontaneous vaginal delivery", performedDateTime=earlier("1 h"))
    sent = (*full_set(), known_since(words, "50 min"), birth)
    (one,) = answer_of(patient("1995-01-01", gender="female"), *sent).reviews
    assert ("Rub up a contraction" in one.at_bedside) is is_asked


def test_what_is_done_at_the_bedside_is_not_worth_having_once_more() -> None:
    """An ECG stood under "Until then" and under "Worth having now" (ours)."""
    signs = full_set(pulse="34 /min", systolic_pressure="102 mm[Hg]")
    with_block, without = (
        answer_of(patient(), *signs, *told).reviews[0]
        for told in ((known_since("Complete heart block", "2 h"),), ())
    )
    assert "12-lead ECG" in with_block.at_bedside
    assert "12-lead ECG" not in with_block.investigations
    assert "12-lead ECG" in without.investigations


@pytest.mark.parametrize(
    ("values", "says"),
    [
        (("400", "1900", "1300"), "down from 1900"),
        (("10", "200", "260"), "up from 10"),
        (("1900", "400", "1300"), "up from 400"),
    ],
)
def test_a_troponin_comes_from_the_later_extreme(values: tuple[str, ...], says: str) -> None:
    """400, 1900, 1300 was told as "up from 400" a day after the peak (ours)."""
    results = [
        observation(f"t{back}", TROPONIN, at=earlier(f"{back} h"), valueQuantity=quantity(value, "ng/L"))
        for back, value in zip((20, 16, 2), values, strict=True)
    ]
    assert says in _of_a_man(*full_set(), *results)["troponin"].sentence


def test_a_ceiling_that_names_what_is_given() -> None:
    """The words "Ceiling of care NIV on ward" made the whole plan "not read as a decision"."""
    plan = {**observation("p", "x", system="urn:x", at=AT), "code": {"text": "Treatment escalation plan"}}
    words = "Ceiling of care NIV on ward. Not for intubation."
    (one,) = answer_of(patient(), *full_set(), {**plan, "valueString": words}).reviews
    (told,) = one.ceiling
    assert "Ceiling of care NIV on ward; Not for intubation" in told


@pytest.mark.parametrize(("mind", "says"), [("alert", "lowered slowly"), ("voice", "inside the skull")])
def test_a_high_pressure_of_a_dull_child_is_not_lowered_first(mind: str, says: str) -> None:
    """Beside a falling mind and pulse it keeps the brain fed (common practice)."""
    high = full_set(systolic_pressure="150 mm[Hg]", consciousness=mind)
    found = _of_a_man(*high, known_since("Headache", "2 h"), born="2015-01-01")["high-pressure-of-a-child"]
    assert says in found.sentence
