"""Bleeding, sepsis, antidotes and problems as triggers, and what is doubtful of any."""

from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, reading, reason, rounds
from tests.medicines.triggered import K, R, S, T, met_in, situation_in
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.medicines.assess import assess_medicines
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.medicines import Administration, Route
from weatherglass.model.record.values import Remark, Series
from weatherglass.model.signals import Bleeding, CodedSignal, Consciousness, OxygenDelivery, Sample, Signal
from weatherglass.model.sources import Origin


class TestBleeding:
    def test_fall_of_haemoglobin(self) -> None:
        """Schulman and Kearon 2005: 20 g/L; ours: within 48 hours, or from the last known of 7 days."""
        assert met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 109)]}) is None
        assert met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 108)]}) is not None
        assert met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(60, 128), (1, 100)]}) is not None
        assert met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(60, 128), (30, 101), (1, 100)]}) is not None
        assert met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(110, 128), (50, 101), (1, 100)]}) is None
        assert met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(170, 128), (1, 100)]}) is None

    def test_recorded(self) -> None:
        """Bleeding on the problem list counts for a week; seen at the bedside for two days."""
        assert met_in(T.BLEEDING, {}, conditions=(condition(K.BLEEDING, began=24),)) is not None
        assert met_in(T.BLEEDING, {}, conditions=(condition(K.BLEEDING, began=200),)) is None
        assert met_in(T.BLEEDING, {}, codes={CodedSignal.BLEEDING: [(1, Bleeding.PRESENT)]}) is not None
        assert met_in(T.BLEEDING, {}, codes={CodedSignal.BLEEDING: [(1, Bleeding.ABSENT)]}) is None

    def test_unconfirmed(self) -> None:
        """A problem that nobody has confirmed is in doubt; beside a measured fall there is none."""
        unsure = (condition(K.BLEEDING, began=5, confirmed=False),)
        alone = met_in(T.BLEEDING, {}, conditions=unsure)
        assert alone is not None
        assert alone.doubt
        beside = met_in(T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 108)]}, conditions=unsure)
        assert beside is not None
        assert (beside.doubt, beside.grade) == ("", 1)

    def test_grades(self) -> None:
        """One sign, two signs, and a shock index of 1.0 with both."""
        fall = {S.HAEMOGLOBIN: [(30, 128), (1, 104)]}
        seen = {CodedSignal.BLEEDING: [(1, Bleeding.PRESENT)]}
        shock = {S.PULSE: [(1, 112)], S.SYSTOLIC_PRESSURE: [(1, 110)]}
        grades = [
            met.grade
            for met in (
                met_in(T.BLEEDING, fall),
                met_in(T.BLEEDING, fall, codes=seen),
                met_in(T.BLEEDING, {**fall, **shock}, codes=seen),
            )
            if met is not None
        ]
        assert grades == [0, 1, 2]


_ILL: dict[Any, Any] = {S.RESPIRATION_RATE: 22, S.PULSE: 100, S.TEMPERATURE: "39.2"}


class TestSepsis:
    def test_recorded(self) -> None:
        """Sepsis on the problem list counts for a week, whatever the score, when it is confirmed."""
        found = situation_in(chart({}, conditions=(condition(K.SEPSIS, K.INFECTION, began=20),)))
        assert found.met[T.SEPSIS].short == "sepsis is recorded"
        assert timing.SEPSIS_LISTED_FOR.source in found.met[T.SEPSIS].sources
        assert timing.SEPSIS_SCORE.source not in found.met[T.SEPSIS].sources
        assert R.SEPSIS in found.applies
        for hours, counts in ((168, True), (168.1, False)):
            old = chart({}, conditions=(condition(K.SEPSIS, K.INFECTION, began=hours),))
            assert (T.SEPSIS in situation_in(old).met) is counts
        unsure = chart({}, conditions=(condition(K.SEPSIS, K.INFECTION, began=20, confirmed=False),))
        assert T.SEPSIS not in situation_in(unsure).met

    def test_needs_infection(self) -> None:
        """NEWS2 5 with infection; without it only from 7, and then it is no sepsis."""
        assert T.SEPSIS not in situation_in(rounds((1, {**_ILL, S.PULSE: 100}))).met
        found = situation_in(rounds((1, _ILL), conditions=(condition(K.INFECTION),)))
        assert "suspected infection with NEWS2 5" in found.met[T.SEPSIS].short
        assert R.SEPSIS in found.applies
        ill = situation_in(rounds((1, {**_ILL, S.RESPIRATION_RATE: 25, S.PULSE: 112})))
        assert "acute serious illness" in ill.met[T.SEPSIS].short
        assert R.SEPSIS not in ill.applies

    def test_lactate_raises_the_risk(self) -> None:
        """NICE NG51, from memory: a lactate above 2 in suspected infection, whatever the score."""
        mild = {S.RESPIRATION_RATE: 21}
        infected = (condition(K.INFECTION),)
        assert T.SEPSIS not in situation_in(rounds((1, mild), conditions=infected)).met
        record = rounds((1, mild), conditions=infected)
        lactate = reading(S.LACTATE, 1, "2.1")
        numbers = {**record.numbers, S.LACTATE: Series((lactate,))}
        found = situation_in(replace(record, numbers=numbers))
        assert "lactate 2.1 mmol/L" in found.met[T.SEPSIS].short
        assert R.SEPSIS in found.applies

    @pytest.mark.parametrize(("saturation", "is_met"), [(92, False), (91, True)])
    def test_a_single_three_is_moderate_risk(self, saturation: int, *, is_met: bool) -> None:
        """Ours: the chart acts on the risk that the finding tells, by a sign as by the total."""
        record = rounds((1, {S.SPO2: saturation}), conditions=(condition(K.INFECTION),))
        met = situation_in(record).met.get(T.SEPSIS)
        assert (met is not None) == is_met
        assert met is None or (met.grade, "NEWS2 3" in met.short) == (0, True)

    def test_a_lactate_is_urgent_from_moderate_by_the_score(self) -> None:
        """From memory: by itself the feature makes no emergency, and no urgent hold; from NEWS2 5 it does."""
        grades = []
        for signs in ({S.RESPIRATION_RATE: 21}, _ILL):
            record = rounds((1, signs), conditions=(condition(K.INFECTION),))
            numbers = {**record.numbers, S.LACTATE: Series((reading(S.LACTATE, 1, "2.1"),))}
            grades.append(situation_in(replace(record, numbers=numbers)).met[T.SEPSIS].grade)
        assert grades == [0, 1]

    @pytest.mark.parametrize(("count", "is_met"), [("0.5", True), ("0.6", False)])
    def test_neutropenic_sepsis(self, count: str, *, is_met: bool) -> None:
        """NICE CG151: neutrophils 0.5 or below and above 38 C, whatever the score."""
        record = rounds((1, {S.TEMPERATURE: "38.1"}))
        numbers = {**record.numbers, S.NEUTROPHILS: Series((reading(S.NEUTROPHILS, 3, count),))}
        found = situation_in(replace(record, numbers=numbers))
        assert (T.SEPSIS in found.met) == is_met
        assert (R.SEPSIS in found.applies) == is_met
        if is_met:
            assert (found.met[T.SEPSIS].grade, found.met[T.SEPSIS].short) == (1, "neutropenic sepsis")

    @pytest.mark.parametrize(
        ("rate", "pulse", "is_met"), [(25, 90, True), (24, 90, False), (18, 131, True), (18, 130, False)]
    )
    def test_in_pregnancy_by_single_signs(self, rate: int, pulse: int, *, is_met: bool) -> None:
        """NICE NG255 table 1: high risk from a rate of 25 and a pulse above 130; ours: high alone."""
        infected = (condition(K.INFECTION), condition(K.PREGNANCY))
        signs = {S.RESPIRATION_RATE: rate, S.PULSE: pulse}
        met = situation_in(rounds((1, signs), conditions=infected)).met.get(T.SEPSIS)
        assert (met is not None) == is_met
        assert met is None or met.grade == 1

    def test_antibacterial_is_a_sign_of_infection(self) -> None:
        """An antibacterial on the chart makes infection suspected."""
        antibacterial = order("Amoxicillin", MedicineClass.ANTIBACTERIAL.value)
        assert R.SEPSIS in situation_in(rounds((1, _ILL), orders=(antibacterial,))).applies

    def test_incomplete_round(self) -> None:
        """The newest round is not whole: the last whole one still counts."""
        record = rounds(
            (3, _ILL),
            (1, {S.RESPIRATION_RATE: None, S.TEMPERATURE: None}),
            conditions=(condition(K.INFECTION),),
        )
        assert T.SEPSIS in situation_in(record).met

    def test_oxygen_scale(self) -> None:
        """91 is too low on scale 1; where scale 2 is decided, 83 is."""
        target = Directive(
            origin=Origin("ServiceRequest/o2"), kind=DirectiveKind.SPO2_SCALE, at=ago(50), spo2_scale=2
        )
        on_air = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.AIR}
        assert R.HYPOXIA in situation_in(rounds((1, {S.SPO2: 91, **on_air}))).applies
        assert R.HYPOXIA not in situation_in(rounds((1, {S.SPO2: 92, **on_air}))).applies
        assert (
            R.HYPOXIA not in situation_in(rounds((1, {S.SPO2: 88, **on_air}), directives=(target,))).applies
        )
        assert R.HYPOXIA in situation_in(rounds((1, {S.SPO2: 83, **on_air}), directives=(target,))).applies


def _naloxone(hours: float, **rest: Any) -> Administration:
    rest = {"ingredients": ("naloxone",), "route": Route.INTRAVENOUS, **rest}
    return administered("Naloxone", hours, **rest)


class TestNaloxone:
    """NHS Greater Glasgow and Clyde: watched for at least 6 hours after the last dose."""

    @pytest.mark.parametrize(
        ("dose", "short"),
        [
            pytest.param(_naloxone(0.5), "naloxone given", id="half-an-hour-ago"),
            pytest.param(_naloxone(6), "naloxone given", id="6-hours-ago"),
            pytest.param(_naloxone(6.1), None, id="longer-ago"),
            pytest.param(_naloxone(9, ended=ago(5)), "naloxone given", id="infusion-ended-5-hours-ago"),
            pytest.param(_naloxone(9, running=True), "naloxone running", id="infusion-running"),
            pytest.param(_naloxone(1, route=Route.NASAL), "naloxone given", id="into-the-nose"),
            pytest.param(_naloxone(1, route=Route.UNKNOWN), "naloxone given", id="route-not-recorded"),
            pytest.param(_naloxone(1, route=Route.ORAL), None, id="swallowed"),
            pytest.param(_naloxone(1, ingredients=("oxycodone", "naloxone")), None, id="with-oxycodone"),
            pytest.param(
                _naloxone(1, ingredients=("buprenorphine", "naloxone")), None, id="with-buprenorphine"
            ),
        ],
    )
    def test_when_it_counts(self, dose: Administration, short: str | None) -> None:
        """Both ends of the time, every way in, and products that hold naloxone for another reason."""
        met = met_in(T.OPIOID_REVERSED, {}, administrations=(dose,))
        assert (met.short if met is not None else None) == short

    def test_since_the_first_dose_and_at_the_last(self) -> None:
        """Every dose of the 6 hours is evidence."""
        met = met_in(T.OPIOID_REVERSED, {}, administrations=(_naloxone(3), _naloxone(1), _naloxone(7)))
        assert met is not None
        assert met.since == ago(3)
        assert met.origins == ("MedicationAdministration/Naloxone-3", "MedicationAdministration/Naloxone-1")

    def test_breathing_well_again_the_opioid_is_still_reviewed(self) -> None:
        """The safety of now is the antidote's: morphine is held although breathing is normal."""
        record = chart(
            {S.RESPIRATION_RATE: [(1, 6), (0.2, 14)]},
            orders=(order("Morphine", MedicineClass.OPIOID.value),),
            administrations=(_naloxone(0.8),),
        )
        (found,) = (f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding))
        assert (found.action, found.urgency) == ("hold", Urgency.URGENT)
        assert "naloxone given" in found.sentence


def test_a_head_injury_that_somebody_came_with_is_one_for_the_chart_too() -> None:
    """NICE NG232: the finding reads the reason of the stay, and so does the chart."""
    found = situation_in(chart({}, reasons=(reason(K.HEAD_INJURY, hours=5, inpatient=True),)))
    assert found.met[T.HEAD_INJURY].origins == (Origin("Encounter/e"),)


def test_a_problem_that_somebody_came_with_switches_rules_as_on_the_list() -> None:
    """Ours: heart failure is heart failure wherever it is written; a request is no reason of a stay."""
    came = chart({}, reasons=(reason(K.HEART_FAILURE, hours=200, inpatient=True),))
    assert R.HEART_FAILURE in situation_in(came).applies
    assert R.HEART_FAILURE not in situation_in(chart({}, reasons=(reason(K.HEART_FAILURE, hours=2),))).applies


def test_end_of_life_plan_counts_as_palliative() -> None:
    """A plan for the end of life is a circumstance of its own."""
    plan = Directive(origin=Origin("CarePlan/1"), kind=DirectiveKind.END_OF_LIFE, at=ago(20))
    assert R.PALLIATIVE in situation_in(chart({}, directives=(plan,))).applies


@pytest.mark.parametrize(
    ("glucose", "sodium", "is_dry"), [("30", "145", True), ("29.9", "160", False), ("30", "144", False)]
)
def test_a_hyperosmolar_state_is_fluid_depletion(glucose: str, sodium: str, is_dry: bool) -> None:
    """JBDS 2022: fluid depletion is part of it; osmolality 320 or more with glucose 30 or more."""
    found = situation_in(chart({S.GLUCOSE: [(2, glucose)], S.SODIUM: [(1, sodium)]}))
    assert (R.HYPOVOLAEMIA in found.applies) is is_dry
    if is_dry:
        assert found.applies[R.HYPOVOLAEMIA].since == ago(1)


def test_inactive_problems() -> None:
    """A stroke of the past is still a reason for aspirin; past vomiting is no fluid loss."""
    found = situation_in(
        chart(
            {},
            conditions=(
                condition(K.STROKE, began=40000, active=False),
                condition(K.VOMITING_OR_DIARRHOEA, began=20, active=False),
            ),
        )
    )
    assert R.SECONDARY_PREVENTION in found.applies
    assert R.HYPOVOLAEMIA not in found.applies


def test_steroid_for_weeks() -> None:
    """Steroid card 2020: four weeks or more; fludrocortisone at once."""
    short = order("Prednisolone", MedicineClass.GLUCOCORTICOID.value, starts=27 * 24)
    long = order("Prednisolone", MedicineClass.GLUCOCORTICOID.value, starts=28 * 24)
    mineral = order("Fludrocortisone", MedicineClass.MINERALOCORTICOID.value, starts=2)
    assert R.LONG_TERM_STEROID not in situation_in(chart({}, orders=(short,))).applies
    assert R.LONG_TERM_STEROID in situation_in(chart({}, orders=(long,))).applies
    assert R.LONG_TERM_STEROID in situation_in(chart({}, orders=(mineral,))).applies


class TestAnyTrigger:
    """Ours: long-standing kidney disease alone makes nobody acutely ill; a doubtful value neither."""

    @pytest.mark.parametrize(
        ("numbers", "acute"),
        [
            pytest.param({S.EGFR: [(1, 40)]}, False, id="stable-kidney-disease"),
            pytest.param(
                {S.POTASSIUM: (reading(S.POTASSIUM, 1, "6.2", remarks=[Remark.HAEMOLYSED]),)},
                False,
                id="doubtful",
            ),
            pytest.param({S.EGFR: [(1, 40)], S.GLUCOSE: [(1, "3.0")]}, True, id="and-hypoglycaemia"),
        ],
    )
    def test_what_counts(self, numbers: dict[Signal, Any], acute: bool) -> None:
        assert (T.ANY in situation_in(chart(numbers)).met) == acute

    def test_kidney_injury_leads_among_equals(self) -> None:
        """The injury is named as what is the matter, and the illness began with the first of them."""
        record = chart({S.CREATININE: [(96, 80), (5, 130)], S.GLUCOSE: [(9, "3.0")]})
        met = situation_in(record).met[T.ANY]
        assert "acute kidney injury" in met.short
        assert met.since == ago(9)


def test_no_answer_is_as_bad_as_it_gets() -> None:
    """Ours: responds only to pain or not at all is the second of two degrees."""
    met = situation_in(chart({}, codes={CodedSignal.CONSCIOUSNESS: [(1, Consciousness.PAIN)]})).met[
        T.REDUCED_CONSCIOUSNESS
    ]
    assert met.grade == 1


def test_one_preliminary_value_makes_a_hit_provisional() -> None:
    """Breathing and coma scale together: one of them being preliminary is said."""
    slow = (reading(S.RESPIRATION_RATE, 1, "7", remarks=[Remark.PROVISIONAL]),)
    met = met_in(T.REDUCED_CONSCIOUSNESS, {S.RESPIRATION_RATE: slow, S.GCS_TOTAL: [(1, 9)]})
    assert met is not None
    assert met.is_provisional


def test_a_fall_in_pressure_shows_both_numbers() -> None:
    """NICE 2016: more than 40 below normal; the pressure and the usual one are measures."""
    week = [(h, 160) for h in (20, 40, 60, 80)]
    met = met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 115)]})
    assert met is not None
    assert [m.value for m in met.measures] == [115, 160]


@pytest.mark.parametrize(
    ("vessel", "pco2", "rest", "doubt"),
    [
        (Sample.NOT_STATED, "6.3", {}, True),
        (Sample.NOT_STATED, "8.7", {}, True),
        (Sample.NOT_STATED, "8.8", {}, False),
        (Sample.ARTERIAL, "6.3", {}, False),
        (Sample.NOT_STATED, "6.3", {"conditions": (condition(K.COPD),)}, False),
        (Sample.NOT_STATED, "6.3", {"orders": (order("Morphine", "opioid"),)}, False),
        (Sample.NOT_STATED, "6.3", {"orders": (order("Ramipril", "ace-inhibitor"),)}, True),
    ],
)
def test_acid_blood_of_an_unnamed_vessel(
    vessel: Sample, pco2: str, rest: dict[str, Any], *, doubt: bool
) -> None:
    """Kelly 2014: above 8.7 kPa even of a vein; ours: who is at risk or sedated is taken to keep it."""
    numbers = {
        S.PH_ARTERIAL: (reading(S.PH_ARTERIAL, 2, "7.30", sample=vessel),),
        S.PCO2_ARTERIAL: (reading(S.PCO2_ARTERIAL, 2, pco2, sample=vessel),),
    }
    met = met_in(T.REDUCED_CONSCIOUSNESS, numbers, **rest)
    assert met is not None
    assert bool(met.doubt) == doubt


def test_drowsiness_is_not_hidden_by_a_gas_in_doubt() -> None:
    """Who answers only to voice is taken to keep carbon dioxide: nothing is in doubt."""
    numbers = {
        S.PH_ARTERIAL: (reading(S.PH_ARTERIAL, 2, "7.30", sample=Sample.NOT_STATED),),
        S.PCO2_ARTERIAL: (reading(S.PCO2_ARTERIAL, 2, "6.3", sample=Sample.NOT_STATED),),
    }
    codes = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.VOICE)]}
    met = met_in(T.REDUCED_CONSCIOUSNESS, numbers, codes=codes)
    assert met is not None
    assert not met.doubt


def test_a_carbon_dioxide_of_another_sample() -> None:
    """Ours: results within 5 minutes are one sample."""
    for apart, is_met in ((5 / 60, True), (6 / 60, False)):
        numbers = {S.PH_ARTERIAL: [(2, "7.30")], S.PCO2_ARTERIAL: [(2 + apart, "7.5")]}
        assert (met_in(T.REDUCED_CONSCIOUSNESS, numbers) is not None) == is_met


def test_bleeding_of_now_with_recorded_bleeding_of_before() -> None:
    """It began with the first sign, and is told with the time of the newest."""
    met = met_in(
        T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 104)]}, conditions=(condition(K.MELAENA, began=20),)
    )
    assert met is not None
    assert met.said.endswith("(07:00 on 12 March)")
    assert met.since == ago(20)
    undated = met_in(T.BLEEDING, {}, conditions=(condition(K.MELAENA),))
    assert undated is not None
    assert undated.since is None


class TestIntervals:
    """A value known only as an interval is doubtful where it lies across a limit, and nowhere else."""

    @pytest.mark.parametrize(
        ("low", "high", "doubt"),
        [
            pytest.param("4.0", "5.4", None, id="all-of-it-inside"),
            pytest.param("5.0", "5.5", True, id="across"),
            pytest.param("5.6", "5.9", False, id="all-of-it-beyond"),
            pytest.param("5.2", None, True, id="open-upwards-from-inside"),
            pytest.param("5.5", None, False, id="open-upwards-from-the-limit"),
        ],
    )
    def test_potassium(self, low: str, high: str | None, doubt: bool | None) -> None:
        """UKKA 2023: mild from 5.5."""
        unsure = (reading(S.POTASSIUM, 1, high or low, spread=(low, high)),)
        met = met_in(T.HYPERKALAEMIA, {S.POTASSIUM: unsure})
        assert (bool(met.doubt) if met is not None else None) == doubt


def test_a_preliminary_lactate_with_a_final_ph() -> None:
    """One of two values being preliminary makes what they say together provisional."""
    early = (reading(S.LACTATE, 1, "2.6", remarks=[Remark.PROVISIONAL]),)
    met = met_in(T.LACTATE_OR_ACIDOSIS, {S.LACTATE: early, S.PH_ARTERIAL: [(1, "7.30")]})
    assert met is not None
    assert met.is_provisional
