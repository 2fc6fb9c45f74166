"""Each trigger at both ends of its printed limit, and when a value no longer speaks for now."""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, bedside, chart, condition, order, reading
from tests.medicines.triggered import K, R, S, T, met_in, situation_in
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.medicines.assess import assess_medicines
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.care import Stay
from weatherglass.model.record.medicines import OrderStatus
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

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
    met = met_in(trigger, {signal: [(1, value)]})
    assert (met.grade if met is not None else None) == grade


@pytest.mark.parametrize(
    ("signal", "value", "hours"),
    [(S.SYSTOLIC_PRESSURE, 80, 25), (S.GLUCOSE, "2.0", 25), (S.POTASSIUM, "7.0", 169), (S.LACTATE, "9", 25)],
)
def test_what_is_old_does_not_speak_for_now(signal: Signal, value: Any, hours: float) -> None:
    """A vital sign or gas of yesterday and a result of last week set nothing off."""
    assert situation_in(chart({signal: [(hours, value)]})).met == {}


def test_old_result_is_said_to_be_old() -> None:
    """A potassium of three days ago still counts, and a repeat is asked for."""
    met = met_in(T.HYPERKALAEMIA, {S.POTASSIUM: [(72, "6.1")]})
    assert met is not None
    assert met.cautions == ("The result is 3 days old: repeat it before deciding.",)


class TestPressure:
    def test_more_than_40_below_the_own_normal(self) -> None:
        """NICE 2016: more than 40 below normal is low, whatever the number."""
        week = [(h, 160) for h in (20, 40, 60, 80)]
        assert met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 120)]}) is None
        met = met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 119)]})
        assert met is not None
        assert "usually 160" in met.short

    def test_a_first_fall_asks_for_a_second_reading(self) -> None:
        """Ours: as where the pressure calls by itself, a fall above 100 is certain when a second one is."""
        week = [(h, 160) for h in (20, 40, 60, 80)]
        first = met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 119)]})
        again = met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (3, 118), (1, 119)]})
        assert first is not None
        assert again is not None
        assert "repeat the pressure" in first.doubt
        assert (again.doubt, again.since) == ("", ago(3))
        low = met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 98)]})
        assert low is not None
        assert not low.doubt

    def test_low_as_usual_is_no_trigger(self) -> None:
        """A pressure of 96 that is hers every day holds nothing; 88 does."""
        week = [(h, 97) for h in (20, 40, 60, 80)]
        assert met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 96)]}) is None
        assert met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [*week, (1, 88)]}) is not None
        recorded = (condition(K.LOW_PRESSURE_IS_USUAL),)
        assert met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [(1, 96)]}, conditions=recorded) is None

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
        met = met_in(T.HYPOTENSION, values, codes=codes)
        assert (met is not None) is is_hit

    def test_since(self) -> None:
        """The run of low values began with the first of them."""
        met = met_in(T.HYPOTENSION, {S.SYSTOLIC_PRESSURE: [(9, 98), (6, 120), (4, 99), (1, 96)]})
        assert met is not None
        assert met.since == ago(4)

    def test_slow_pulse_with_low_pressure(self) -> None:
        """From memory: below 50 counts with a low pressure, and alone only from 40."""
        assert met_in(T.BRADYCARDIA, {S.PULSE: [(1, 49)]}) is None
        low = {S.PULSE: [(1, 49)], S.SYSTOLIC_PRESSURE: [(1, 95)]}
        assert met_in(T.BRADYCARDIA, low) is not None
        assert met_in(T.BRADYCARDIA, {**low, S.PULSE: [(1, 50)]}) is None

    def test_children(self) -> None:
        """The limits are those of adults: a child's pressure of 96 and pulse of 40 hold nothing."""
        record = chart(
            {S.SYSTOLIC_PRESSURE: [(1, 96)], S.PULSE: [(1, 40)], S.RESPIRATION_RATE: [(1, 11)]},
            born=date(2016, 1, 1),
        )
        assert situation_in(record).met.keys() == {Trigger.UNDER_12, Trigger.UNDER_16}


class TestBreathingAndConsciousness:
    def test_slow_breathing_with_retention(self) -> None:
        """BTS/ICS 2016: 11 or less counts with a PaCO2 above 6.0 or a pH below 7.35."""
        slow = {S.RESPIRATION_RATE: [(1, 11)]}
        assert met_in(T.REDUCED_CONSCIOUSNESS, slow) is None
        assert met_in(T.REDUCED_CONSCIOUSNESS, {**slow, S.PCO2_ARTERIAL: [(2, "6.0")]}) is None
        assert met_in(T.REDUCED_CONSCIOUSNESS, {**slow, S.PCO2_ARTERIAL: [(2, "6.1")]}) is not None
        assert met_in(T.REDUCED_CONSCIOUSNESS, {**slow, S.PH_ARTERIAL: [(2, "7.34")]}) is not None
        assert met_in(T.REDUCED_CONSCIOUSNESS, {**slow, S.PCO2_ARTERIAL: [(9, "8.0")]}) is None
        assert (
            met_in(T.REDUCED_CONSCIOUSNESS, {S.RESPIRATION_RATE: [(1, 12)], S.PCO2_ARTERIAL: [(2, 8)]})
            is None
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
        met = met_in(T.REDUCED_CONSCIOUSNESS, {}, codes={CodedSignal.CONSCIOUSNESS: [(1, answer)]})
        assert (met is not None) is is_met

    def test_later_answer_replaces_an_earlier_one(self) -> None:
        """Alert again after a coma scale of 9: no trigger."""
        codes = {CodedSignal.CONSCIOUSNESS: [(1, Consciousness.ALERT)]}
        assert met_in(T.REDUCED_CONSCIOUSNESS, {S.GCS_TOTAL: [(3, 9)]}, codes=codes) is None
        earlier = {CodedSignal.CONSCIOUSNESS: [(3, Consciousness.PAIN)]}
        assert met_in(T.REDUCED_CONSCIOUSNESS, {S.GCS_TOTAL: [(1, 15)]}, codes=earlier) is None


class TestPotassium:
    def test_haemolysed(self) -> None:
        """A haemolysed 6.6 is doubtful: no circumstance of a high potassium holds."""
        before = reading(S.POTASSIUM, 20, "4.2")
        newest = reading(S.POTASSIUM, 1, "6.6", remarks=[Remark.HAEMOLYSED])
        found = situation_in(chart({S.POTASSIUM: (before, newest)}))
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
        found = situation_in(chart({S.POTASSIUM: (before, newest)}))
        assert found.met[T.HYPERKALAEMIA].doubt == ""
        assert found.met[T.HYPERKALAEMIA].measures[0].at == ago(6)

    def test_very_many_platelets(self) -> None:
        """General Practice Notebook 2018: platelets above 700 raise the potassium of a clotted sample."""
        met = met_in(T.HYPERKALAEMIA, {S.POTASSIUM: [(1, "6.1")], S.PLATELETS: [(2, 900)]})
        assert met is not None
        assert "platelets" in met.doubt
        gas = met_in(T.HYPERKALAEMIA, {S.POTASSIUM_GAS: [(1, "6.1")], S.PLATELETS: [(2, 900)]})
        assert gas is not None
        assert gas.doubt == ""

    def test_two_values_at_one_time(self) -> None:
        """Values that lie on both sides of the limit are doubtful."""
        torn = reading(S.POTASSIUM, 1, "5.6", spread=("5.0", "6.2"), remarks=[Remark.CONFLICT])
        met = met_in(T.HYPERKALAEMIA, {S.POTASSIUM: (torn,)})
        assert met is not None
        assert "two different values" in met.doubt

    def test_reported_as_a_limit(self) -> None:
        """'Above 8.0' is above 8.0, and 'below 1.1' is below 4.0."""
        inr = reading(S.INR, 1, "8.0", spread=("8.0", None))
        assert met_in(T.INR_ABOVE_8, {S.INR: (inr,)}) is not None
        glucose = reading(S.GLUCOSE, 1, "1.1", spread=(None, "1.1"))
        met = met_in(T.HYPOGLYCAEMIA, {S.GLUCOSE: (glucose,)})
        assert met is not None
        assert met.short == "glucose below 1.1 mmol/L"
        assert met.doubt == ""

    def test_newest_counts(self) -> None:
        """A high potassium that has come down is no trigger any more."""
        assert met_in(T.HYPERKALAEMIA, {S.POTASSIUM: [(8, "6.4"), (1, "5.2")]}) is None


class TestOtherResults:
    def test_low_glucose_counts_for_a_day(self) -> None:
        """It may come back for 24 to 36 hours: corrected is not over."""
        met = met_in(T.HYPOGLYCAEMIA, {S.GLUCOSE: [(10, "2.9"), (8, "3.4"), (1, "7.0")]})
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
        assert (met_in(T.METABOLIC_ACIDOSIS, numbers) is not None) is is_met
        record = chart(numbers, orders=[order("Metformin 1 g", "metformin", MedicineClass.METFORMIN)])
        found = [
            one
            for one in assess_medicines(bedside(record))
            if isinstance(one, MedicineFinding) and any(r.rule == "acidosis-metformin" for r in one.reasons)
        ]
        assert bool(found) is is_met
        assert all(one.action == "hold" for one in found)
        assert all(one.urgency is Urgency.URGENT for one in found)

    def test_lactate_with_acidosis(self) -> None:
        """Above 2 counts with an arterial pH below 7.35 of the same hour."""
        lactate = {S.LACTATE: [(2, "2.1")]}
        assert met_in(T.LACTATE_OR_ACIDOSIS, lactate) is None
        assert met_in(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_ARTERIAL: [(2, "7.34")]}) is not None
        assert met_in(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_ARTERIAL: [(2, "7.35")]}) is None
        assert met_in(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_ARTERIAL: [(5, "7.20")]}) is None
        assert met_in(T.LACTATE_OR_ACIDOSIS, {**lactate, S.PH_VENOUS: [(2, "7.20")]}) is None

    def test_fall_of_sodium(self) -> None:
        """More than 10 within 24 hours counts above 125 as well."""
        assert met_in(T.LOW_SODIUM, {S.SODIUM: [(20, 140), (1, 130)]}) is None
        assert met_in(T.LOW_SODIUM, {S.SODIUM: [(20, 141), (1, 130)]}) is not None
        assert met_in(T.LOW_SODIUM, {S.SODIUM: [(26, 141), (1, 130)]}) is None

    def test_platelets_halved(self) -> None:
        """Less than half of the highest of two weeks, and only while heparin is given."""
        heparin = order("Enoxaparin", MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, starts=120)
        counts = {S.PLATELETS: [(150, 220), (1, 109)]}
        assert met_in(T.PLATELETS_HALVED_ON_HEPARIN, counts) is None
        assert met_in(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,)) is not None
        half = met_in(T.PLATELETS_HALVED_ON_HEPARIN, {S.PLATELETS: [(150, 220), (1, 110)]}, orders=(heparin,))
        assert half is not None
        assert half.grade == 0
        worse = met_in(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,))
        assert worse is not None
        assert worse.grade == 1
        assert (
            met_in(
                T.PLATELETS_HALVED_ON_HEPARIN,
                counts,
                orders=(order("Enoxaparin", MedicineClass.HEPARIN.value, starts=25),),
            )
            is not None
        )
        # Of the first day: British Society for Haematology 2012, from memory.
        assert (
            met_in(
                T.PLATELETS_HALVED_ON_HEPARIN,
                counts,
                orders=(order("Enoxaparin", MedicineClass.HEPARIN.value, starts=24.9),),
            )
            is None
        )
        stopped = order("Enoxaparin", MedicineClass.HEPARIN.value, status=OrderStatus.STOPPED)
        assert met_in(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(stopped,)) is None

    @pytest.mark.parametrize(("days", "count", "is_met"), [
        (4, 154, True), (4, 155, False), (3.9, 154, False), (3.9, 109, True),
    ])  # fmt: skip
    def test_platelets_fallen_by_a_third(self, days: float, count: int, is_met: bool) -> None:
        """BSH, second edition, abstract: a fall of 30 % or more between days 4 and 14."""
        began = days * 24 + 1
        heparin = order("Enoxaparin", MedicineClass.HEPARIN.value, MedicineClass.LMWH.value, starts=began)
        counts = {S.PLATELETS: [(began + 30, 220), (1, count)]}
        assert bool(met_in(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,))) is is_met

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
        found = met_in(T.PLATELETS_HALVED_ON_HEPARIN, counts, orders=(heparin,), stays=stays)
        assert bool(found) is is_met


@pytest.mark.parametrize(
    ("signal", "value", "trigger", "acute"),
    [
        (S.PLATELETS, 99, T.PLATELETS_BELOW_100, False),
        (S.PLATELETS, 149, T.PLATELETS_BELOW_150, False),
        (S.POTASSIUM, "6.0", T.HYPERKALAEMIA, True),
    ],
)
def test_a_moderate_count_makes_nobody_acutely_ill(
    signal: Signal, value: Any, trigger: Trigger, *, acute: bool
) -> None:
    """Ours, in the row of the trigger: platelets of 99 made a late dose of anything vital urgent."""
    met = situation_in(chart({signal: [(1, value)]})).met
    assert trigger in met
    assert (T.ANY in met) is acute
