"""Each trigger at both ends of its printed limit, and when a value no longer speaks for now."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, reading, reason, rounds
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import timing
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.medicines.assess import assess_medicines
from weatherglass.medicines.judging.situation import Situation, situation_of
from weatherglass.medicines.triggers.met import MetTrigger
from weatherglass.model.findings import Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Directive, DirectiveKind, Procedure, ProcedureKind, Stay
from weatherglass.model.record.medicines import Administration, OrderStatus, Route
from weatherglass.model.record.problems import Condition, ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark, Series
from weatherglass.model.signals import Bleeding, CodedSignal, Consciousness, OxygenDelivery, Sample, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex

S, T, R, K = Signal, Trigger, Circumstance, ConditionKind


def _situation(record: Record) -> Situation:
    return situation_of(bedside(record))


def _met(trigger: Trigger, numbers: dict[Signal, Any], **rest: Any) -> MetTrigger | None:
    return _situation(chart(numbers, **rest)).met.get(trigger)


_LIMITS = [
    # UK Kidney Association 2023: mild 5.5 to 5.9, moderate 6.0 to 6.4, severe from 6.5.
    (T.HYPERKALAEMIA, S.POTASSIUM, "5.4", None),
    (T.HYPERKALAEMIA, S.POTASSIUM, "5.5", 0),
    (T.HYPERKALAEMIA, S.POTASSIUM, "5.9", 0),
    (T.HYPERKALAEMIA, S.POTASSIUM, "6.0", 1),
    (T.HYPERKALAEMIA, S.POTASSIUM, "6.4", 1),
    (T.HYPERKALAEMIA, S.POTASSIUM, "6.5", 2),
    (T.HYPERKALAEMIA, S.POTASSIUM_GAS, "6.1", 1),
    # Ours: 100 or less; NICE 2016 high risk: 90 or less.
    (T.HYPOTENSION, S.SYSTOLIC_PRESSURE, 101, None),
    (T.HYPOTENSION, S.SYSTOLIC_PRESSURE, 100, 0),
    (T.HYPOTENSION, S.SYSTOLIC_PRESSURE, 91, 0),
    (T.HYPOTENSION, S.SYSTOLIC_PRESSURE, 90, 1),
    # RCP NEWS2 2017, Chart 1: pulse 40 or less, breathing 8 or less.
    (T.BRADYCARDIA, S.PULSE, 41, None),
    (T.BRADYCARDIA, S.PULSE, 40, 1),
    # STOPP 2015, restated: below 50.
    (T.SLOW_PULSE, S.PULSE, 50, None),
    (T.SLOW_PULSE, S.PULSE, 49, 0),
    (T.SLOW_PULSE, S.PULSE, 41, 0),
    (T.SLOW_PULSE, S.PULSE, 40, None),
    (T.REDUCED_CONSCIOUSNESS, S.RESPIRATION_RATE, 9, None),
    (T.REDUCED_CONSCIOUSNESS, S.RESPIRATION_RATE, 8, 1),
    # From memory: GCS 12 or less; 8 or less is very low.
    (T.REDUCED_CONSCIOUSNESS, S.GCS_TOTAL, 13, None),
    (T.REDUCED_CONSCIOUSNESS, S.GCS_TOTAL, 12, 0),
    (T.REDUCED_CONSCIOUSNESS, S.GCS_TOTAL, 8, 1),
    # Nursing guideline on opioid-induced sedation, 2011: sedation before slow breathing.
    (T.DROWSINESS, S.GCS_TOTAL, 15, None),
    (T.DROWSINESS, S.GCS_TOTAL, 14, 0),
    (T.DROWSINESS, S.GCS_TOTAL, 13, 0),
    (T.DROWSINESS, S.GCS_TOTAL, 12, None),
    # BSH 2011: above 8.0, 5.0 to 8.0; ours: above 4.0.
    (T.INR_ABOVE_8, S.INR, "8.0", None),
    (T.INR_ABOVE_8, S.INR, "8.1", 0),
    (T.INR_5_TO_8, S.INR, "8.0", 0),
    (T.INR_5_TO_8, S.INR, "5.0", 0),
    (T.INR_5_TO_8, S.INR, "4.9", None),
    (T.INR_ABOVE_TARGET, S.INR, "4.9", 0),
    (T.INR_ABOVE_TARGET, S.INR, "4.1", 0),
    (T.INR_ABOVE_TARGET, S.INR, "4.0", None),
    # Joint British Diabetes Societies: below 4.0.
    (T.HYPOGLYCAEMIA, S.GLUCOSE, "4.0", None),
    (T.HYPOGLYCAEMIA, S.GLUCOSE, "3.9", 0),
    # From memory: below 3.0 is clinically significant.
    (T.HYPOGLYCAEMIA, S.GLUCOSE, "3.0", 0),
    (T.HYPOGLYCAEMIA, S.GLUCOSE, "2.9", 1),
    # Surviving Sepsis Campaign 2018: 4 or more.
    (T.LACTATE_OR_ACIDOSIS, S.LACTATE, "3.9", None),
    (T.LACTATE_OR_ACIDOSIS, S.LACTATE, "4.0", 1),
    # NHS England, My Type 1 Diabetes: above 1.5; JBDS ketoacidosis: 3.0 or more.
    (T.RAISED_KETONES, S.KETONES, "1.5", None),
    (T.RAISED_KETONES, S.KETONES, "1.6", 0),
    (T.RAISED_KETONES, S.KETONES, "2.9", 0),
    (T.RAISED_KETONES, S.KETONES, "3.0", 1),
    # From memory: platelets below 50, sodium below 125, potassium below 3.0, magnesium below 0.7.
    (T.LOW_PLATELETS, S.PLATELETS, 50, None),
    (T.LOW_PLATELETS, S.PLATELETS, 49, 0),
    (T.LOW_SODIUM, S.SODIUM, 125, None),
    (T.LOW_SODIUM, S.SODIUM, 124, 0),
    (T.LOW_POTASSIUM, S.POTASSIUM, "3.0", None),
    (T.LOW_POTASSIUM, S.POTASSIUM, "2.9", 0),
    (T.LOW_MAGNESIUM, S.MAGNESIUM, "0.7", None),
    (T.LOW_MAGNESIUM, S.MAGNESIUM, "0.69", 0),
    # NICE NG28: metformin below 45.
    (T.LOW_EGFR, S.EGFR, 45, None),
    (T.LOW_EGFR, S.EGFR, 44, 0),
]


@pytest.mark.parametrize(("trigger", "signal", "value", "grade"), _LIMITS)
def test_limit(trigger: Trigger, signal: Signal, value: Any, grade: int | None) -> None:
    """A trigger is met at its printed number and not before it."""
    met = _met(trigger, {signal: [(1, value)]})
    assert (met.grade if met is not None else None) == grade


@pytest.mark.parametrize(
    ("signal", "value", "hours"),
    [(S.SYSTOLIC_PRESSURE, 80, 25), (S.GLUCOSE, "2.0", 25), (S.POTASSIUM, "7.0", 169), (S.LACTATE, "9", 25)],
)
def test_what_is_old_does_not_speak_for_now(signal: Signal, value: Any, hours: float) -> None:
    """A vital sign or gas of yesterday and a result of last week set nothing off."""
    assert _situation(chart({signal: [(hours, value)]})).met == {}


def test_old_result_is_said_to_be_old() -> None:
    """A potassium of three days ago still counts, and a repeat is asked for."""
    met = _met(T.HYPERKALAEMIA, {S.POTASSIUM: [(72, "6.1")]})
    assert met is not None
    assert met.cautions == ("The result is 3 days old: repeat it before deciding.",)


class TestPressure:
    def test_more_than_40_below_the_own_normal(self) -> None:
        """NICE 2016: more than 40 below normal is low, whatever the number."""
        week = [(h, 160) for h in (20, 40, 60, 80)]
        assert _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 120)]}) is None
        met = _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 119)]})
        assert met is not None
        assert "usually 160" in met.short

    def test_a_first_fall_asks_for_a_second_reading(self) -> None:
        """Ours: as where the pressure calls by itself, a fall above 100 is certain when a second one is."""
        week = [(h, 160) for h in (20, 40, 60, 80)]
        first = _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 119)]})
        again = _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (3, 118), (1, 119)]})
        assert first is not None
        assert again is not None
        assert "repeat the pressure" in first.doubt
        assert (again.doubt, again.since) == ("", ago(3))
        low = _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 98)]})
        assert low is not None
        assert not low.doubt

    def test_low_as_usual_is_no_trigger(self) -> None:
        """A pressure of 96 that is hers every day holds nothing; 88 does."""
        week = [(h, 97) for h in (20, 40, 60, 80)]
        assert _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 96)]}) is None
        assert _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 88)]}) is not None
        recorded = (condition(K.LOW_PRESSURE_IS_USUAL),)
        assert _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [(1, 96)]}, conditions=recorded) is None

    @pytest.mark.parametrize(
        ("urine", "alert", "rest", "is_hit"),
        [
            pytest.param("360", Consciousness.ALERT, {}, False, id="tolerated"),
            pytest.param("359", Consciousness.ALERT, {}, True, id="too-little-urine"),
            pytest.param("360", Consciousness.VOICE, {}, True, id="drowsy"),
            pytest.param("360", None, {}, True, id="alertness-not-recorded"),
            pytest.param("360", Consciousness.ALERT, {S.LACTATE: [(1, "2.1")]}, True, id="lactate"),
            pytest.param("360", Consciousness.ALERT, {S.LACTATE: [(1, "1.9")]}, False, id="lactate-in-range"),
        ],
    )
    def test_88_that_is_usual_and_tolerated_is_none(
        self, urine: str, alert: Consciousness | None, rest: dict[Signal, Any], is_hit: bool
    ) -> None:
        """Ours: urine of 0.5 mL/kg/h over 12 hours, alert, no raised lactate, as the finding weighs it."""
        values: dict[Signal, Any] = {
            S.SYSTOLIC_PRESSURE: [(h, 89) for h in (80, 60, 40, 20, 1)],
            S.WEIGHT: [(50, 60)],
            S.URINE_VOLUME: (reading(S.URINE_VOLUME, 1, urine, began=13),),
            **rest,
        }
        codes = {CodedSignal.CONSCIOUSNESS: [(1, alert)]} if alert is not None else {}
        met = _met(T.HYPOTENSION, values, codes=codes)
        assert (met is not None) is is_hit

    def test_since(self) -> None:
        """The run of low values began with the first of them."""
        met = _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [(9, 98), (6, 120), (4, 99), (1, 96)]})
        assert met is not None
        assert met.since == ago(4)

    def test_slow_pulse_with_low_pressure(self) -> None:
        """From memory: below 50 counts with a low pressure, and alone only from 40."""
        assert _met(T.BRADYCARDIA, {S.PULSE: [(1, 49)]}) is None
        low = {S.PULSE: [(1, 49)], S.SYSTOLIC_PRESSURE: [(1, 95)]}
        assert _met(T.BRADYCARDIA, low) is not None
        assert _met(T.BRADYCARDIA, {**low, S.PULSE: [(1, 50)]}) is None

    def test_children(self) -> None:
        """The limits are those of adults: a child's pressure of 96 and pulse of 40 hold nothing."""
        record = chart(
            {S.SYSTOLIC_PRESSURE: [(1, 96)], S.PULSE: [(1, 40)], S.RESPIRATION_RATE: [(1, 11)]},
            born=date(2016, 1, 1),
        )
        assert _situation(record).met.keys() == {Trigger.UNDER_12, Trigger.UNDER_16}


class TestBreathingAndConsciousness:
    def test_slow_breathing_with_retention(self) -> None:
        """BTS/ICS 2016: 11 or less counts with a PaCO2 above 6.0 or a pH below 7.35."""
        slow = {S.RESPIRATION_RATE: [(1, 11)]}
        assert _met(T.REDUCED_CONSCIOUSNESS, slow) is None
        assert _met(T.REDUCED_CONSCIOUSNESS, {**slow, S.PCO2_ARTERIAL: [(2, "6.0")]}) is None
        assert _met(T.REDUCED_CONSCIOUSNESS, {**slow, S.PCO2_ARTERIAL: [(2, "6.1")]}) is not None
        assert _met(T.REDUCED_CONSCIOUSNESS, {**slow, S.PH_ARTERIAL: [(2, "7.34")]}) is not None
        assert _met(T.REDUCED_CONSCIOUSNESS, {**slow, S.PCO2_ARTERIAL: [(9, "8.0")]}) is None
        assert (
            _met(T.REDUCED_CONSCIOUSNESS, {S.RESPIRATION_RATE: [(1, 12)], S.PCO2_ARTERIAL: [(2, 8)]}) is None
        )

    @pytest.mark.parametrize(
        ("answer", "is_met"),
        [
            (Consciousness.ALERT, False),
            (Consciousness.NEW_CONFUSION, False),
            (Consciousness.VOICE, False),
            (Consciousness.PAIN, True),
            (Consciousness.UNRESPONSIVE, True),
        ],
    )
    def test_answer(self, answer: Consciousness, *, is_met: bool) -> None:
        """P and U count; V alone does not."""
        met = _met(T.REDUCED_CONSCIOUSNESS, {}, codes={CodedSignal.CONSCIOUSNESS: [(1, answer)]})
        assert (met is not None) is is_met

    def test_later_answer_replaces_an_earlier_one(self) -> None:
        """Alert again after a coma scale of 9: no trigger."""
        codes = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.ALERT)]}
        assert _met(T.REDUCED_CONSCIOUSNESS, {S.GCS_TOTAL: [(3, 9)]}, codes=codes) is None
        earlier = {CodedSignal.CONSCIOUSNESS: [(3, Consciousness.PAIN)]}
        assert _met(T.REDUCED_CONSCIOUSNESS, {S.GCS_TOTAL: [(1, 15)]}, codes=earlier) is None


class TestPotassium:
    def test_haemolysed(self) -> None:
        """A haemolysed 6.6 is doubtful: no circumstance of a high potassium holds."""
        before = reading(S.POTASSIUM, 20, "4.2")
        newest = reading(S.POTASSIUM, 1, "6.6", remarks=[Remark.HAEMOLYSED])
        found = _situation(chart({S.POTASSIUM: (before, newest)}))
        met = found.met[T.HYPERKALAEMIA]
        assert met.doubt == "the sample is haemolysed"
        assert met.if_confirmed == (R.POTASSIUM_AT_LEAST_6, R.POTASSIUM_AT_LEAST_6_5)
        assert R.HAEMOLYSED_SAMPLE in found.applies
        assert R.POTASSIUM_AT_LEAST_6 not in found.applies
        assert T.ANY not in found.met
        assert any("potassium 4.2 mmol/L" in caution for caution in met.cautions)

    def test_high_beyond_doubt_before(self) -> None:
        """A haemolysed sample after a high one takes nothing back."""
        before = reading(S.POTASSIUM, 6, "6.3")
        newest = reading(S.POTASSIUM, 1, "6.6", remarks=[Remark.HAEMOLYSED])
        found = _situation(chart({S.POTASSIUM: (before, newest)}))
        assert found.met[T.HYPERKALAEMIA].doubt == ""
        assert found.met[T.HYPERKALAEMIA].measures[0].at == ago(6)

    def test_very_many_platelets(self) -> None:
        """General Practice Notebook 2018: platelets above 700 raise the potassium of a clotted sample."""
        met = _met(T.HYPERKALAEMIA, {S.POTASSIUM: [(1, "6.1")], S.PLATELETS: [(2, 900)]})
        assert met is not None
        assert "platelets" in met.doubt
        gas = _met(T.HYPERKALAEMIA, {S.POTASSIUM_GAS: [(1, "6.1")], S.PLATELETS: [(2, 900)]})
        assert gas is not None
        assert gas.doubt == ""

    def test_two_values_at_one_time(self) -> None:
        """Values that lie on both sides of the limit are doubtful."""
        torn = reading(S.POTASSIUM, 1, "5.6", spread=("5.0", "6.2"), remarks=[Remark.CONFLICT])
        met = _met(T.HYPERKALAEMIA, {S.POTASSIUM: (torn,)})
        assert met is not None
        assert "two different values" in met.doubt

    def test_reported_as_a_limit(self) -> None:
        """'Above 8.0' is above 8.0, and 'below 1.1' is below 4.0."""
        inr = reading(S.INR, 1, "8.0", spread=("8.0", None))
        assert _met(T.INR_ABOVE_8, {S.INR: (inr,)}) is not None
        glucose = reading(S.GLUCOSE, 1, "1.1", spread=(None, "1.1"))
        met = _met(T.HYPOGLYCAEMIA, {S.GLUCOSE: (glucose,)})
        assert met is not None
        assert met.short == "glucose below 1.1 mmol/L"
        assert met.doubt == ""

    def test_newest_counts(self) -> None:
        """A high potassium that has come down is no trigger any more."""
        assert _met(T.HYPERKALAEMIA, {S.POTASSIUM: [(8, "6.4"), (1, "5.2")]}) is None


class TestOtherResults:
    def test_low_glucose_counts_for_a_day(self) -> None:
        """It may come back for 24 to 36 hours: corrected is not over."""
        met = _met(T.HYPOGLYCAEMIA, {S.GLUCOSE: [(10, "2.9"), (8, "3.4"), (1, "7.0")]})
        assert met is not None
        assert met.measures[0].at == ago(8)
        assert met.cautions == ("2 low glucose values in 24 hours.",)

    @pytest.mark.parametrize(
        ("numbers", "is_met"),
        [
            ({S.PH_VENOUS: [(2, "7.29")]}, True),
            ({S.PH_VENOUS: [(2, "7.30")]}, False),
            ({S.PH_ARTERIAL: [(2, "7.20")]}, True),
            ({S.BICARBONATE: [(2, "14.9")]}, True),
            ({S.BICARBONATE: [(2, "15.0")]}, False),
            # Carbon dioxide explains it: no metabolic acidosis. With a low bicarbonate it is both.
            ({S.PH_ARTERIAL: [(2, "7.20")], S.PCO2_ARTERIAL: [(2, "9.0")]}, False),
            (
                {S.PH_ARTERIAL: [(2, "7.10")], S.PCO2_ARTERIAL: [(2, "7.0")], S.BICARBONATE: [(2, "14")]},
                True,
            ),
            # The consensus of 2024 counts a bicarbonate below 18 with ketones and glucose.
            ({S.KETONES: [(2, "4.0")], S.GLUCOSE: [(2, "20")], S.BICARBONATE: [(2, "17")]}, True),
            ({S.KETONES: [(2, "4.0")], S.GLUCOSE: [(2, "20")]}, False),
            ({S.PH_VENOUS: [(30, "7.10")]}, False),
        ],
    )
    def test_metabolic_acidosis_needs_no_lactate(self, numbers: dict[Signal, Any], *, is_met: bool) -> None:
        """The limits of JBDS for ketoacidosis, of any vessel; metformin: contraindicated (its label, 4.3)."""
        assert (_met(T.METABOLIC_ACIDOSIS, numbers) is not None) is is_met
        record = chart(numbers, orders=[order("Metformin 1 g", "metformin", MedicineClass.METFORMIN)])
        found = [
            one
            for one in assess_medicines(bedside(record))
            if isinstance(one, MedicineFinding) and one.action == "hold"
        ]
        assert bool(found) is is_met
        assert all(one.urgency is Urgency.URGENT for one in found)

    def test_lactate_with_acidosis(self) -> None:
        """Above 2 counts with an arterial pH below 7.35 of the same hour."""
        lactate = {S.LACTATE: [(2, "2.1")]}
        assert _met(T.LACTATE_OR_ACIDOSIS, lactate) is None
        assert _met(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_ARTERIAL: [(2, "7.34")]}) is not None
        assert _met(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_ARTERIAL: [(2, "7.35")]}) is None
        assert _met(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_ARTERIAL: [(5, "7.20")]}) is None
        assert _met(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_VENOUS: [(2, "7.20")]}) is None

    def test_fall_of_sodium(self) -> None:
        """More than 10 within 24 hours counts above 125 as well."""
        assert _met(T.LOW_SODIUM, {S.SODIUM: [(20, 140), (1, 130)]}) is None
        assert _met(T.LOW_SODIUM, {S.SODIUM: [(20, 141), (1, 130)]}) is not None
        assert _met(T.LOW_SODIUM, {S.SODIUM: [(26, 141), (1, 130)]}) is None

    def test_platelets_halved(self) -> None:
        """Less than half of the highest of two weeks, and only while heparin is given."""
        heparin = order("Enoxaparin", MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, starts=120)
        counts = {S.PLATELETS: [(150, 220), (1, 109)]}
        assert _met(T.PLATELETS_HALVED_ON_HEPARIN, counts) is None
        assert _met(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,)) is not None
        half = _met(T.PLATELETS_HALVED_ON_HEPARIN, {S.PLATELETS: [(150, 220), (1, 110)]}, orders=(heparin,))
        assert half is not None
        assert half.grade == 0
        worse = _met(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,))
        assert worse is not None
        assert worse.grade == 1
        assert (
            _met(
                T.PLATELETS_HALVED_ON_HEPARIN,
                counts,
                orders=(order("Enoxaparin", MedicineClass.HEPARIN.value, starts=25),),
            )
            is not None
        )
        # Of the first day: British Society for Haematology 2012, from memory.
        assert (
            _met(
                T.PLATELETS_HALVED_ON_HEPARIN,
                counts,
                orders=(order("Enoxaparin", MedicineClass.HEPARIN.value, starts=24.9),),
            )
            is None
        )
        stopped = order("Enoxaparin", MedicineClass.HEPARIN.value, status=OrderStatus.STOPPED)
        assert _met(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(stopped,)) is None

    @pytest.mark.parametrize(("days", "count", "is_met"), [
        (4, 154, True), (4, 155, False), (3.9, 154, False), (3.9, 109, True),
    ])  # fmt: skip
    def test_platelets_fallen_by_a_third(self, days: float, count: int, is_met: bool) -> None:
        """BSH, second edition, abstract: a fall of 30 % or more between days 4 and 14."""
        began = days * 24 + 1
        heparin = order("Enoxaparin", MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, starts=began)
        counts = {S.PLATELETS: [(began + 30, 220), (1, count)]}
        assert bool(_met(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,))) is is_met

    @pytest.mark.parametrize(("stay_hours", "neutrophils", "is_met"), [
        (96.9, None, False), (97, None, True), (None, None, True), (None, "0.99", False), (None, "1.0", True),
    ])  # fmt: skip
    def test_heparin_is_not_asked_about_without_reason(
        self, stay_hours: float | None, neutrophils: str | None, *, is_met: bool
    ) -> None:
        """Ours: not on day two of a first heparin in a short stay, nor where the marrow fails as a whole."""
        heparin = order("Enoxaparin", MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, starts=50)
        counts: dict[Signal, Any] = {S.PLATELETS: [(60, 220), (1, 109)]}
        if neutrophils is not None:
            counts[S.NEUTROPHILS] = [(1, neutrophils)]
        stays = (
            (Stay(origin=Origin("Encounter/e"), starts=ago(stay_hours)),) if stay_hours is not None else ()
        )
        found = _met(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,), stays=stays)
        assert bool(found) is is_met


class TestKidneys:
    def test_stage_is_unreliable_for_egfr(self) -> None:
        """In stages 2 and 3 the filtration rate counts as below 30, whatever is reported."""
        found = _situation(chart({S.CREATININE: [(96, 80), (1, 170)], S.EGFR: [(1, 38)]}))
        assert found.met[T.AKI].grade == 1
        assert T.LOW_EGFR not in found.met
        assert R.EGFR_BELOW_30 in found.applies
        first = _situation(chart({S.CREATININE: [(96, 80), (1, 130)], S.EGFR: [(1, 50)]}))
        assert R.EGFR_BELOW_30 not in first.applies

    def test_old_injury(self) -> None:
        """A stage of more than a week ago says nothing about now."""
        assert _met(T.AKI, {S.CREATININE: [(300, 80), (190, 200)]}) is None

    def test_rate_is_worked_out_where_none_is_reported(self) -> None:
        """CKD-EPI 2021: 190 umol/L at 75 years, female, is 23.5 mL/min/1.73 m2, by hand."""
        record = chart({S.CREATININE: [(900, 188), (1, 190)]}, sex=Sex.FEMALE, born=date(1950, 6, 1))
        found = _situation(record)
        assert found.met[T.LOW_EGFR].measures[0].key == "egfr"
        assert found.met[T.LOW_EGFR].measures[0].value == Decimal("23.5")
        assert R.EGFR_BELOW_30 in found.applies

    def test_urine_alone(self) -> None:
        """KDIGO 2012: less than 0.5 mL/kg/h over 12 hours is stage 2, whatever the creatinine."""
        urine = [reading(S.URINE_VOLUME, h, 180, began=h + 6) for h in (18, 12, 6, 0)]
        record = chart(
            {S.WEIGHT: [(30, 70)], S.CREATININE: [(96, 80), (1, 82)], S.URINE_VOLUME: tuple(urine)}
        )
        met = _situation(record).met[T.AKI]
        assert met.grade == 1
        assert met.short.startswith("acute kidney injury stage 2 (urine 0.42 mL/kg/h")
        assert {m.key for m in met.measures} == {"urine-rate", "urine-hours"}

    def test_replacement_therapy(self) -> None:
        """KDIGO 2012: replacement therapy begun in an acute illness is stage 3."""
        session = Procedure(
            origin=Origin("Procedure/rrt"),
            text="Haemofiltration",
            kinds=frozenset({ProcedureKind.RENAL_REPLACEMENT}),
            at=ago(20),
            ongoing=True,
        )
        record = chart({S.CREATININE: [(96, 80), (30, 130)]}, procedures=(session,))
        met = _situation(record).met[T.AKI]
        assert met.grade == 2
        assert "renal replacement therapy was started" in met.short

    def test_estimated_baseline(self) -> None:
        """A stage that rests on an estimated baseline says so."""
        record = chart({S.CREATININE: [(1, 250)]}, sex=Sex.MALE)
        choices = LocalChoices(use_estimated_baseline=True)
        met = situation_of(bedside(record, choices=choices)).met[T.AKI]
        assert any("estimated baseline over-calls" in caution for caution in met.cautions)

    def test_reported_rate_that_is_newer(self) -> None:
        """The newer of the reported and the worked-out rate counts; without age or sex only the reported."""
        both = {S.CREATININE: [(900, 188), (20, 190)], S.EGFR: [(1, 41)]}
        met = _situation(chart(both, sex=Sex.FEMALE)).met[T.LOW_EGFR]
        assert "reported by the laboratory" in met.cautions[0]
        nobody = {S.CREATININE: [(900, 188), (1, 190)], S.EGFR: [(20, 41)]}
        assert _situation(chart(nobody)).met[T.LOW_EGFR].measures[0].value == 41
        assert T.LOW_EGFR not in _situation(chart({S.CREATININE: [(900, 188), (1, 190)]})).met

    def test_not_steady_after_an_injury(self) -> None:
        """A low rate while creatinine still falls is said to be unsteady."""
        course = [(400, 150), (120, 400), (72, 300), (1, 190)]
        record = chart({S.CREATININE: course}, sex=Sex.FEMALE)
        met = _situation(record).met.get(T.LOW_EGFR)
        assert met is not None
        assert any("may not be steady" in caution for caution in met.cautions)

    def test_dialysis(self) -> None:
        """On long-term dialysis there is no acute injury, and the rate is below every limit."""
        record = chart(
            {S.CREATININE: [(96, 400), (1, 800)]}, conditions=(condition(K.DIALYSIS, began=90 * 24 * 2),)
        )
        found = _situation(record)
        assert T.AKI not in found.met
        assert found.met[T.LOW_EGFR].short == "long-term dialysis"
        assert R.EGFR_BELOW_30 in found.applies


class TestBleeding:
    def test_fall_of_haemoglobin(self) -> None:
        """Schulman and Kearon 2005: 20 g/L; ours: within 48 hours, or from the last known of 7 days."""
        assert _met(T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 109)]}) is None
        assert _met(T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 108)]}) is not None
        assert _met(T.BLEEDING, {S.HAEMOGLOBIN: [(60, 128), (1, 100)]}) is not None
        assert _met(T.BLEEDING, {S.HAEMOGLOBIN: [(60, 128), (30, 101), (1, 100)]}) is not None
        assert _met(T.BLEEDING, {S.HAEMOGLOBIN: [(110, 128), (50, 101), (1, 100)]}) is None
        assert _met(T.BLEEDING, {S.HAEMOGLOBIN: [(170, 128), (1, 100)]}) is None

    def test_recorded(self) -> None:
        """Bleeding on the problem list counts for a week; seen at the bedside for two days."""
        assert _met(T.BLEEDING, {}, conditions=(condition(K.BLEEDING, began=24),)) is not None
        assert _met(T.BLEEDING, {}, conditions=(condition(K.BLEEDING, began=200),)) is None
        assert _met(T.BLEEDING, {}, codes={CodedSignal.BLEEDING: [(1, Bleeding.PRESENT)]}) is not None
        assert _met(T.BLEEDING, {}, codes={CodedSignal.BLEEDING: [(1, Bleeding.ABSENT)]}) is None

    def test_unconfirmed(self) -> None:
        """A problem that nobody has confirmed is in doubt; beside a measured fall there is none."""
        unsure = (condition(K.BLEEDING, began=5, confirmed=False),)
        alone = _met(T.BLEEDING, {}, conditions=unsure)
        assert alone is not None
        assert alone.doubt
        beside = _met(T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 108)]}, conditions=unsure)
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
                _met(T.BLEEDING, fall),
                _met(T.BLEEDING, fall, codes=seen),
                _met(T.BLEEDING, {**fall, **shock}, codes=seen),
            )
            if met is not None
        ]
        assert grades == [0, 1, 2]


_ILL: dict[Any, Any] = {S.RESPIRATION_RATE: 22, S.PULSE: 100, S.TEMPERATURE: "39.2"}


class TestSepsis:
    def test_recorded(self) -> None:
        """Sepsis on the problem list counts for a week, whatever the score, when it is confirmed."""
        found = _situation(chart({}, conditions=(condition(K.SEPSIS, K.INFECTION, began=20),)))
        assert found.met[T.SEPSIS].short == "sepsis is recorded"
        assert timing.SEPSIS_LISTED_FOR.source in found.met[T.SEPSIS].sources
        assert timing.SEPSIS_SCORE.source not in found.met[T.SEPSIS].sources
        assert R.SEPSIS in found.applies
        for hours, counts in ((168, True), (168.1, False)):
            old = chart({}, conditions=(condition(K.SEPSIS, K.INFECTION, began=hours),))
            assert (T.SEPSIS in _situation(old).met) is counts
        unsure = chart({}, conditions=(condition(K.SEPSIS, K.INFECTION, began=20, confirmed=False),))
        assert T.SEPSIS not in _situation(unsure).met

    def test_needs_infection(self) -> None:
        """NEWS2 5 with infection; without it only from 7, and then it is no sepsis."""
        assert T.SEPSIS not in _situation(rounds((1, {**_ILL, S.PULSE: 100}))).met
        found = _situation(rounds((1, _ILL), conditions=(condition(K.INFECTION),)))
        assert "suspected infection with NEWS2 5" in found.met[T.SEPSIS].short
        assert R.SEPSIS in found.applies
        ill = _situation(rounds((1, {**_ILL, S.RESPIRATION_RATE: 25, S.PULSE: 112})))
        assert "acute serious illness" in ill.met[T.SEPSIS].short
        assert R.SEPSIS not in ill.applies

    def test_lactate_raises_the_risk(self) -> None:
        """NICE NG51, from memory: a lactate above 2 in suspected infection, whatever the score."""
        mild = {S.RESPIRATION_RATE: 21}
        infected = (condition(K.INFECTION),)
        assert T.SEPSIS not in _situation(rounds((1, mild), conditions=infected)).met
        record = rounds((1, mild), conditions=infected)
        lactate = reading(S.LACTATE, 1, "2.1")
        numbers = {**record.numbers, S.LACTATE: Series((lactate,))}
        found = _situation(replace(record, numbers=numbers))
        assert "lactate 2.1 mmol/L" in found.met[T.SEPSIS].short
        assert R.SEPSIS in found.applies

    @pytest.mark.parametrize(("saturation", "is_met"), [(92, False), (91, True)])
    def test_a_single_three_is_moderate_risk(self, saturation: int, *, is_met: bool) -> None:
        """Ours: the chart acts on the risk that the finding tells, by a sign as by the total."""
        record = rounds((1, {S.SPO2: saturation}), conditions=(condition(K.INFECTION),))
        met = _situation(record).met.get(T.SEPSIS)
        assert (met is not None) == is_met
        assert met is None or (met.grade, "NEWS2 3" in met.short) == (0, True)

    def test_a_lactate_is_urgent_from_moderate_by_the_score(self) -> None:
        """From memory: by itself the feature makes no emergency, and no urgent hold; from NEWS2 5 it does."""
        grades = []
        for signs in ({S.RESPIRATION_RATE: 21}, _ILL):
            record = rounds((1, signs), conditions=(condition(K.INFECTION),))
            numbers = {**record.numbers, S.LACTATE: Series((reading(S.LACTATE, 1, "2.1"),))}
            grades.append(_situation(replace(record, numbers=numbers)).met[T.SEPSIS].grade)
        assert grades == [0, 1]

    @pytest.mark.parametrize(("count", "is_met"), [("0.5", True), ("0.6", False)])
    def test_neutropenic_sepsis(self, count: str, *, is_met: bool) -> None:
        """NICE CG151: neutrophils 0.5 or below and above 38 C, whatever the score."""
        record = rounds((1, {S.TEMPERATURE: "38.1"}))
        numbers = {**record.numbers, S.NEUTROPHILS: Series((reading(S.NEUTROPHILS, 3, count),))}
        found = _situation(replace(record, numbers=numbers))
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
        met = _situation(rounds((1, signs), conditions=infected)).met.get(T.SEPSIS)
        assert (met is not None) == is_met
        assert met is None or met.grade == 1

    def test_antibacterial_is_a_sign_of_infection(self) -> None:
        """An antibacterial on the chart makes infection suspected."""
        antibacterial = order("Amoxicillin", MedicineClass.ANTIBACTERIAL.value)
        assert R.SEPSIS in _situation(rounds((1, _ILL), orders=(antibacterial,))).applies

    def test_incomplete_round(self) -> None:
        """The newest round is not whole: the last whole one still counts."""
        record = rounds(
            (3, _ILL),
            (1, {S.RESPIRATION_RATE: None, S.TEMPERATURE: None}),
            conditions=(condition(K.INFECTION),),
        )
        assert T.SEPSIS in _situation(record).met

    def test_oxygen_scale(self) -> None:
        """91 is too low on scale 1; where scale 2 is decided, 83 is."""
        target = Directive(
            origin=Origin("ServiceRequest/o2"), kind=DirectiveKind.SPO2_SCALE, at=ago(50), spo2_scale=2
        )
        on_air = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.AIR}
        assert R.HYPOXIA in _situation(rounds((1, {S.SPO2: 91, **on_air}))).applies
        assert R.HYPOXIA not in _situation(rounds((1, {S.SPO2: 92, **on_air}))).applies
        assert R.HYPOXIA not in _situation(rounds((1, {S.SPO2: 88, **on_air}), directives=(target,))).applies
        assert R.HYPOXIA in _situation(rounds((1, {S.SPO2: 83, **on_air}), directives=(target,))).applies


def _scan(hours: float | None, *, requested: bool) -> Procedure:
    return Procedure(
        origin=Origin(f"ServiceRequest/ct-{hours}-{requested}"),
        text="CT abdomen with contrast",
        kinds=frozenset({ProcedureKind.CONTRAST_IMAGING}),
        at=ago(hours) if hours is not None else None,
        requested=requested,
    )


class TestContrast:
    @pytest.mark.parametrize(
        ("procedures", "said"),
        [
            ((_scan(3, requested=True),), "contrast imaging asked for"),
            ((_scan(200, requested=True),), None),
            ((_scan(30, requested=False),), "contrast was given"),
            ((_scan(50, requested=False),), None),
            # Asked for, done since: given, and after two days over.
            ((_scan(40, requested=True), _scan(30, requested=False)), "contrast was given"),
            ((_scan(60, requested=True), _scan(50, requested=False)), None),
            # Done, and asked for again.
            ((_scan(3, requested=True), _scan(50, requested=False)), "contrast imaging asked for"),
        ],
        ids=["asked", "asked-long-ago", "given", "given-long-ago", "answered", "over", "again"],
    )
    def test_asked_for_and_done(self, procedures: tuple[Procedure, ...], said: str | None) -> None:
        """A request counts until it is done or a week old; contrast given counts for two days."""
        met = _met(T.CONTRAST_PLANNED, {}, procedures=procedures)
        assert (met is not None) is (said is not None)
        if met is not None and said is not None:
            assert met.short.startswith(said)

    def test_ordered_as_a_medicine(self) -> None:
        """A contrast medium on the chart says the same."""
        medium = order("Iohexol", MedicineClass.IODINATED_CONTRAST.value)
        met = _met(T.CONTRAST_PLANNED, {}, orders=(medium,))
        assert met is not None
        assert met.short == "contrast is ordered: Iohexol"

    def test_given_as_a_medicine(self) -> None:
        """A dose of a contrast medium is contrast given."""
        dose = administered("Iohexol", 5, MedicineClass.IODINATED_CONTRAST.value)
        met = _met(T.CONTRAST_PLANNED, {}, administrations=(dose,))
        assert met is not None
        assert met.short == "contrast was given: Iohexol"


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
        met = _met(T.OPIOID_REVERSED, {}, administrations=(dose,))
        assert (met.short if met is not None else None) == short

    def test_since_the_first_dose_and_at_the_last(self) -> None:
        """Every dose of the 6 hours is evidence."""
        met = _met(T.OPIOID_REVERSED, {}, administrations=(_naloxone(3), _naloxone(1), _naloxone(7)))
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


class TestFluidLoss:
    """NICE NG148 (from memory): vomiting, diarrhoea, depletion; ours: for 7 days, or without a date."""

    @pytest.mark.parametrize(
        ("problem", "counts"),
        [
            pytest.param(condition(K.VOMITING_OR_DIARRHOEA, began=167), True, id="within-7-days"),
            pytest.param(condition(K.VOMITING_OR_DIARRHOEA, began=169), False, id="longer-ago"),
            pytest.param(condition(K.DEHYDRATION), True, id="no-date"),
            pytest.param(condition(K.DEHYDRATION, began=5, confirmed=False), False, id="not-confirmed"),
            pytest.param(condition(K.DEHYDRATION, began=5, active=False), False, id="over"),
            pytest.param(condition(K.FLUID_OVERLOAD, began=5), False, id="too-much"),
        ],
    )
    def test_when_it_counts(self, problem: Condition, counts: bool) -> None:
        met = _met(T.FLUID_LOSS, {}, conditions=(problem,))
        assert (met is not None) == counts
        if met is not None:
            assert met.origins == (problem.origin,)
            assert met.measures[0].value == problem.text

    @pytest.mark.parametrize(
        ("came", "counts"),
        [
            pytest.param(reason(K.VOMITING_OR_DIARRHOEA, hours=71, inpatient=True), True, id="within-3-days"),
            pytest.param(reason(K.VOMITING_OR_DIARRHOEA, hours=73, inpatient=True), False, id="longer-ago"),
            pytest.param(reason(K.DEHYDRATION, hours=5, ends=1, inpatient=True), False, id="stay-over"),
            pytest.param(
                reason(K.DEHYDRATION, hours=5, inpatient=True, confirmed=False), False, id="only-asked"
            ),
        ],
    )
    def test_what_somebody_came_with_counts_for_3_days(self, came: Reason, counts: bool) -> None:
        """Ours: the reason of a stay as the problem list, and shorter, because nobody closes it."""
        found = _situation(chart({}, reasons=(came,)))
        assert (T.FLUID_LOSS in found.met) is counts
        assert (R.HYPOVOLAEMIA in found.applies) is counts


def test_a_head_injury_that_somebody_came_with_is_one_for_the_chart_too() -> None:
    """NICE NG232: the finding reads the reason of the stay, and so does the chart."""
    found = _situation(chart({}, reasons=(reason(K.HEAD_INJURY, hours=5, inpatient=True),)))
    assert found.met[T.HEAD_INJURY].origins == (Origin("Encounter/e"),)


def test_a_problem_that_somebody_came_with_switches_rules_as_on_the_list() -> None:
    """Ours: heart failure is heart failure wherever it is written; a request is no reason of a stay."""
    came = chart({}, reasons=(reason(K.HEART_FAILURE, hours=200, inpatient=True),))
    assert R.HEART_FAILURE in _situation(came).applies
    assert R.HEART_FAILURE not in _situation(chart({}, reasons=(reason(K.HEART_FAILURE, hours=2),))).applies


def test_end_of_life_plan_counts_as_palliative() -> None:
    """A plan for the end of life is a circumstance of its own."""
    plan = Directive(origin=Origin("CarePlan/1"), kind=DirectiveKind.END_OF_LIFE, at=ago(20))
    assert R.PALLIATIVE in _situation(chart({}, directives=(plan,))).applies


@pytest.mark.parametrize(
    ("glucose", "sodium", "is_dry"), [("30", "145", True), ("29.9", "160", False), ("30", "144", False)]
)
def test_a_hyperosmolar_state_is_fluid_depletion(glucose: str, sodium: str, is_dry: bool) -> None:
    """JBDS 2022: fluid depletion is part of it; osmolality 320 or more with glucose 30 or more."""
    found = _situation(chart({S.GLUCOSE: [(2, glucose)], S.SODIUM: [(1, sodium)]}))
    assert (R.HYPOVOLAEMIA in found.applies) is is_dry
    if is_dry:
        assert found.applies[R.HYPOVOLAEMIA].since == ago(1)


def test_inactive_problems() -> None:
    """A stroke of the past is still a reason for aspirin; past vomiting is no fluid loss."""
    found = _situation(
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
    assert R.LONG_TERM_STEROID not in _situation(chart({}, orders=(short,))).applies
    assert R.LONG_TERM_STEROID in _situation(chart({}, orders=(long,))).applies
    assert R.LONG_TERM_STEROID in _situation(chart({}, orders=(mineral,))).applies


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
        assert (T.ANY in _situation(chart(numbers)).met) == acute

    def test_kidney_injury_leads_among_equals(self) -> None:
        """The injury is named as what is the matter, and the illness began with the first of them."""
        record = chart({S.CREATININE: [(96, 80), (5, 130)], S.GLUCOSE: [(9, "3.0")]})
        met = _situation(record).met[T.ANY]
        assert "acute kidney injury" in met.short
        assert met.since == ago(9)


def test_no_answer_is_as_bad_as_it_gets() -> None:
    """Ours: responds only to pain or not at all is the second of two degrees."""
    met = _situation(chart({}, codes={CodedSignal.CONSCIOUSNESS: [(1, Consciousness.PAIN)]})).met[
        T.REDUCED_CONSCIOUSNESS
    ]
    assert met.grade == 1


def test_one_preliminary_value_makes_a_hit_provisional() -> None:
    """Breathing and coma scale together: one of them being preliminary is said."""
    slow = (reading(S.RESPIRATION_RATE, 1, "7", remarks=[Remark.PROVISIONAL]),)
    met = _met(T.REDUCED_CONSCIOUSNESS, {S.RESPIRATION_RATE: slow, S.GCS_TOTAL: [(1, 9)]})
    assert met is not None
    assert met.is_provisional


def test_a_fall_in_pressure_shows_both_numbers() -> None:
    """NICE 2016: more than 40 below normal; the pressure and the usual one are measures."""
    week = [(h, 160) for h in (20, 40, 60, 80)]
    met = _met(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 115)]})
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
    met = _met(T.REDUCED_CONSCIOUSNESS, numbers, **rest)
    assert met is not None
    assert bool(met.doubt) == doubt


def test_drowsiness_is_not_hidden_by_a_gas_in_doubt() -> None:
    """Who answers only to voice is taken to keep carbon dioxide: nothing is in doubt."""
    numbers = {
        S.PH_ARTERIAL: (reading(S.PH_ARTERIAL, 2, "7.30", sample=Sample.NOT_STATED),),
        S.PCO2_ARTERIAL: (reading(S.PCO2_ARTERIAL, 2, "6.3", sample=Sample.NOT_STATED),),
    }
    codes = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.VOICE)]}
    met = _met(T.REDUCED_CONSCIOUSNESS, numbers, codes=codes)
    assert met is not None
    assert not met.doubt


def test_a_carbon_dioxide_of_another_sample() -> None:
    """Ours: results within 5 minutes are one sample."""
    for apart, is_met in ((5 / 60, True), (6 / 60, False)):
        numbers = {S.PH_ARTERIAL: [(2, "7.30")], S.PCO2_ARTERIAL: [(2 + apart, "7.5")]}
        assert (_met(T.REDUCED_CONSCIOUSNESS, numbers) is not None) == is_met


def test_bleeding_of_now_with_recorded_bleeding_of_before() -> None:
    """It began with the first sign, and is told with the time of the newest."""
    met = _met(
        T.BLEEDING, {S.HAEMOGLOBIN: [(30, 128), (1, 104)]}, conditions=(condition(K.MELAENA, began=20),)
    )
    assert met is not None
    assert met.said.endswith("(07:00 on 12 March)")
    assert met.since == ago(20)
    undated = _met(T.BLEEDING, {}, conditions=(condition(K.MELAENA),))
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
        met = _met(T.HYPERKALAEMIA, {S.POTASSIUM: unsure})
        assert (bool(met.doubt) if met is not None else None) == doubt


def test_a_preliminary_lactate_with_a_final_ph() -> None:
    """One of two values being preliminary makes what they say together provisional."""
    early = (reading(S.LACTATE, 1, "2.6", remarks=[Remark.PROVISIONAL]),)
    met = _met(T.LACTATE_OR_ACIDOSIS, {S.LACTATE: early, S.PH_ARTERIAL: [(1, "7.30")]})
    assert met is not None
    assert met.is_provisional


def test_an_injury_by_urine_rests_on_the_urine() -> None:
    """KDIGO 2012: 240 mL in 12 hours at 80 kg is 0.25 mL/kg/h; every entry is evidence."""
    volumes = [(hour, 20) for hour in range(11, -1, -1)]
    met = _met(T.AKI, {S.URINE_VOLUME: volumes, S.WEIGHT: [(20, 80)]})
    assert met is not None
    assert len([origin for origin in met.origins if origin.startswith("Observation/urine-volume")]) >= 6
