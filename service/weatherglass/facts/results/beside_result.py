"""What stands beside a result: what makes it doubtful, explains it, or makes it worse than its number."""

from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.thinned import antithrombotics
from weatherglass.facts.blood.transfusion import Transfusion, transfusions
from weatherglass.facts.medicines.given_in_turn import given_in_turn, is_too_early
from weatherglass.facts.metabolic.calcium import NOT_ADJUSTED
from weatherglass.facts.metabolic.ketoacidosis import DIABETES
from weatherglass.facts.metabolic.sodium_and_brain import ShownSodium, shown_sodium
from weatherglass.facts.results.result_levels import GradedSeries, doubt_about_glucose, doubts_about_potassium
from weatherglass.facts.rounds.pressure_course import Kept
from weatherglass.facts.series.runs import present_run
from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.limits import context_choices as context
from weatherglass.knowledge.limits import critical_results as limits
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES
from weatherglass.knowledge.metabolic import liver, potassium_shift
from weatherglass.model.numbers.quantities import as_sent
from weatherglass.model.once import cached_property
from weatherglass.model.record.care import OPERATIONS, Done, ProcedureKind
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.problems import ConditionKind, Recorded
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import SODIUM_OF_EITHER, Signal
from weatherglass.model.sources import Source
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.times.dates_alone import is_date_alone

_ANTICOAGULANTS = frozenset(each.value for each in context.ANTICOAGULANTS)
#: Medicines that tell of diabetes, or that can bring ketoacidosis without it.
_FOR_DIABETES = (MedicineClass.INSULIN, MedicineClass.SULFONYLUREA, MedicineClass.SGLT2_INHIBITOR)
#: Ours: another result taken this near is shown beside it.
_NEAR = timedelta(hours=4)
_WEEK = timedelta(days=7)
_THREE = 3


class BesideResult:
    """The newest result of a graded series, in this patient.

    Attributes:
        graded: The series with its bands.
    """

    def __init__(self, bedside: Bedside, graded: GradedSeries) -> None:
        """Take a series of the patient."""
        self.bedside = bedside
        self.graded = graded
        self.result = graded.newest

    @property
    def signal(self) -> Signal:
        """What was measured."""
        return self.graded.bands[0].signal

    @property
    def key(self) -> str:
        """Analyte and side."""
        return self.graded.key

    @property
    def is_sodium(self) -> bool:
        """Whether it is a sodium, of either specimen."""
        return self.signal in SODIUM_OF_EITHER

    @property
    def is_low_potassium(self) -> bool:
        """Whether it is a low potassium, of either specimen."""
        return self.key in ("potassium-low", "potassium-gas-low")

    @property
    def is_low_in_ketoacidosis(self) -> bool:
        """Whether it is a low potassium that insulin will lower further."""
        return self.is_low_potassium and self.bedside.ketoacidosis.goes_on

    @property
    def is_low_glucose(self) -> bool:
        """Whether it is a low glucose, which by itself may make a patient confused or drowsy."""
        return self.key == "glucose-low"

    @cached_property
    def is_mildly_low(self) -> bool:
        """Whether a low glucose is one that the well may have, in who is awake and takes nothing for it."""
        record = self.bedside.record
        return (
            self.is_low_glucose
            and self.graded.band is not None
            and is_for_diabetes(self.graded.band)
            and limits.MILDLY_LOW.is_met_by(self.result.value)
            and not self.bedside.has_diabetes
            and self.not_alert_since is None
            and self.insulin_before is None
            and not record.has(*limits.LOWERS_GLUCOSE)
        )

    @cached_property
    def antidote_answers(self) -> Administration | None:
        """The first acetylcysteine given for a high paracetamol, in somebody alert; None without one."""
        if self.signal is not Signal.PARACETAMOL_LEVEL or self.bedside.altered_mind is not None:
            return None
        since = self.result.at - liver.ANTIDOTE_BEFORE.length
        given = (one for one in self.bedside.record.administrations if one.at >= since)
        return next((one for one in given if liver.ACETYLCYSTEINE in one.medicine.ingredients), None)

    @cached_property
    def doubts(self) -> tuple[str, ...]:
        """Why it may not be what it seems, in few words each."""
        doubts: list[str] = []
        if self.key == "potassium-high":
            doubts.extend(doubts_about_potassium(self.bedside.record, self.result))
        if self.key == "glucose-high" and (doubt := doubt_about_glucose(self.bedside.record, self.result)):
            doubts.append(doubt)
        if self.result.method == NOT_ADJUSTED and not self.calcium_may_have_fallen:
            doubts.append("no albumin to adjust it by")
        if self.is_too_early:
            doubts.append("measured too soon after a dose")
        if not self.graded.is_certain:
            conflict = Remark.CONFLICT in self.result.remarks
            doubts.append("two values are recorded at one time" if conflict else "only a limit is reported")
        return tuple(doubts)

    @cached_property
    def is_too_early(self) -> bool:
        """Whether it is a level that was measured while a dose still spread."""
        level = next((each for each in LEVEL_RULES if each.signal is self.signal), None)
        if level is None or level.too_early is None:
            return False
        doses = given_in_turn(self.bedside.record.administrations, level.key)
        return is_too_early(level, self.result.at, doses)

    @cached_property
    def is_past(self) -> bool:
        """Whether a low glucose is too old to be said as if it were now."""
        age = self.bedside.as_of - self.result.at
        return self.is_low_glucose and self.graded.is_current and age > limits.GLUCOSE_IS_PAST.length

    @cached_property
    def brain(self) -> ShownSodium | None:
        """What the brain shows that makes a sodium worse than its number, None where it does not."""
        return shown_sodium(self.bedside, self.result) if self.is_sodium else None

    @cached_property
    def not_alert_since(self) -> datetime | None:
        """Since when the patient has not been alert, where a result of that time may be why."""
        flow = self.bedside.perfusion
        if self.is_sodium:
            return self.brain.sign.at if self.graded.is_current and self.brain is not None else None
        if self.key == "lithium-level-high" and self.graded.is_current:
            return self.bedside.not_alert_since
        if not self.is_low_glucose or not self.graded.is_current or flow.alertness_at is None:
            return None
        if flow.alert_kept is Kept.YES or flow.alertness_at < self.result.at - _NEAR:
            return None
        return self.bedside.not_alert_since or flow.alertness_at

    @property
    def may_dull(self) -> bool:
        """Whether a low glucose may be why the patient is not alert."""
        return self.is_low_glucose and self.not_alert_since is not None

    @cached_property
    def calcium_sign(self) -> Recorded | None:
        """What is written down that a low calcium brings, and that makes it an emergency at any number."""
        is_low = self.key in ("calcium-low", "calcium-ionised-low") and self.graded.is_current
        return next(iter(self.bedside.record.told_of(*_OF_LOW_CALCIUM)), None) if is_low else None

    @property
    def calcium_may_have_fallen(self) -> bool:
        """Whether a low total calcium is believed with no albumin: its signs, or the thyroid operated on."""
        if self.key != "calcium-low":
            return False
        earliest = self.result.at - limits.CALCIUM_AFTER_THYROID.length
        done = self.bedside.record.done(ProcedureKind.THYROID_SURGERY)
        return self.calcium_sign is not None or any(earliest <= one.until <= self.result.at for one in done)

    @cached_property
    def insulin_before(self) -> Administration | None:
        """The last quick insulin of the hours before a glucose fell, which explains a low one."""
        run = present_run(self.graded.times, [bool(level) for level in self.graded.levels])
        began = run.since if run is not None else self.result.at
        earliest = began - limits.INSULIN_EXPLAINS_FOR.length
        given = self.bedside.record.administrations
        near = (one for one in reversed(given) if earliest <= one.at <= self.result.at)
        return next((one for one in near if potassium_shift.is_insulin(one.medicine)), None)

    @cached_property
    def red_cells(self) -> Transfusion | None:
        """Red cells begun since a low haemoglobin, that run or have ended a short while ago."""
        if self.key != "haemoglobin-low":
            return None
        longest = limits.RED_CELLS_ANSWER_FOR.length
        return next(
            (
                one
                for one in transfusions(self.bedside.record)
                if one.is_of_red_cells
                and self.result.at <= one.began
                and (one.runs or self.bedside.as_of - one.until <= longest)
            ),
            None,
        )

    @cached_property
    def vitamin_k(self) -> Administration | None:
        """The last vitamin K given since a high INR, for as long as it is awaited; None without one."""
        if self.key != "inr-high":
            return None
        since = max(self.result.at, self.bedside.as_of - limits.VITAMIN_K_ANSWERS_FOR.length)
        given = [one for one in self.bedside.record.administrations if one.at >= since]
        return next((one for one in reversed(given) if "phytomenadione" in one.medicine.ingredients), None)

    @cached_property
    def of_an_operation(self) -> Done | None:
        """The operation whose lactate, short of shock, this is, where the newest round is calm."""
        if self.key != "lactate-high" or self.graded.band is None or self.graded.band.urgency != "prompt":
            return None
        newest = self.bedside.news2_now[-1:]
        if not newest or newest[0].highest_single >= _THREE:
            return None
        is_calm = limits.CALM.is_met_by(Decimal(newest[0].lowest))
        if not is_calm or self.bedside.bleeding is not None or self.bedside.infection is not None:
            return None
        longest = limits.LACTATE_AFTER_SURGERY.length
        done = self.bedside.record.done(*OPERATIONS)
        return next((one for one in done if timedelta(0) <= self.result.at - one.until <= longest), None)

    @property
    def is_after_a_fit(self) -> bool:
        """Whether it is a lactate of the hours after a seizure that is over, which raises it by itself."""
        record = self.bedside.record
        if self.key != "lactate-high" or record.told_of(ConditionKind.SEIZURES_GOING_ON):
            return False
        fits = [at for _, at, _, _ in record.dated_events(ConditionKind.SEIZURE) if not is_date_alone(at)]
        longest = limits.LACTATE_AFTER_A_FIT_FOR.length
        return any(timedelta(0) <= self.result.at - at <= longest for at in fits)

    @property
    def may_be_diabetic(self) -> bool:
        """Whether ketones are read as in diabetes: known, treated, or a high glucose now."""
        if self.bedside.record.has(*DIABETES) or self.bedside.on_chart(_FOR_DIABETES):
            return True
        glucose = self.bedside.graded.get("glucose-high")
        return glucose is not None and glucose.band is not None and glucose.is_current

    @cached_property
    def not_acid(self) -> str:
        """What shows near high ketones that the blood is not acid: hunger, and no ketoacidosis."""
        if self.key != "ketones-high":
            return ""
        samples = (*self.bedside.venous_gases[-1:], *self.bedside.arterial_gases[-1:])
        near = [one for one in samples if abs(one.ph.at - self.result.at) <= _NEAR]
        if near:
            is_acid = any(one.is_acid or one.metabolic for one in near)
            return "" if is_acid else max(near, key=lambda one: one.ph.at).acid_words
        base = self.near(Signal.BICARBONATE)
        if base is None or not base.is_exact or limits.BICARBONATE_LOW.is_met_by(base.value):
            return ""
        return f"HCO3 {as_sent(base.value)}"

    @property
    def is_as_known(self) -> bool:
        """Whether a high creatinine is what it was in known chronic disease."""
        if not self.bedside.kidney_disease_is_known:
            return False
        newest = self.bedside.kidneys.kdigo[-1] if self.bedside.kidneys.kdigo else None
        if newest is None or newest.reference is None:
            return False
        return not limits.CREATININE_UP.is_met_by(self.result.value - newest.reference.value)

    @property
    def muscle_heals(self) -> bool:
        """Whether a creatine kinase has come down far from its highest, and the kidneys are no worse."""
        if self.key != "creatine-kinase-high":
            return False
        highest = max(
            (one for one in self.graded.results if self.result.at - one.at <= _WEEK),
            key=lambda one: one.value,
        )
        creatinine = self.bedside.record.series(Signal.CREATININE)
        kidneys = [one for one in creatinine.within(highest.at - _NEAR, self.bedside.as_of) if one.is_exact]
        is_far_down = self.result.value <= limits.MUSCLE_HEALS.value * highest.value
        return is_far_down and len(kidneys) > 1 and kidneys[-1].value <= kidneys[0].value

    @property
    def kidneys_recover(self) -> bool:
        """Whether it is a creatinine that has come down so far that no stage of injury is left."""
        has_fallen = self.bedside.kidneys.late_recognition is not None and not self.bedside.aki_now.stage
        return self.key == "creatinine-high" and has_fallen

    @property
    def potassium_is_needed(self) -> Source | None:
        """Why a low potassium counts more: for the heart, or with a low magnesium on what lengthens QT."""
        if not self.is_low_potassium:
            return None
        if self.heart_needs_potassium:
            return limits.POTASSIUM_AND_HEART
        other = self.bedside.graded.get("magnesium-low")
        is_low = other is not None and other.band is not None and other.is_current
        lengthens = is_low and self.bedside.on_chart({MedicineClass.QT_PROLONGING})
        return limits.LOW_TOGETHER_ON_QT if lengthens else None

    @cached_property
    def is_as_for_long(self) -> bool:
        """Whether platelets or neutrophils were as low weeks ago, nothing bleeds and no fever is there."""
        if self.key not in ("platelets-low", "neutrophils-low"):
            return False
        before = [
            one.value
            for one in self.bedside.record.series(self.signal).within(
                self.bedside.as_of - limits.RESULT_OF_OLD_FROM.length,
                self.bedside.as_of - limits.RESULT_OF_OLD_UNTIL.length,
            )
            if one.is_exact
        ]
        is_lower = not before or before[-1] > self.result.value * limits.AS_FOR_LONG.value
        if is_lower or self.bedside.bleeding is not None or self.bedside.neutropenic_sepsis is not None:
            return False
        explained = self.bedside.record.told_of(*limits.CELLS_LOWERED, ConditionKind.MINOR_BLEEDING)
        return not explained and self.bedside.signs_of_infection is None

    @cached_property
    def is_of_known_immunity(self) -> bool:
        """Whether few platelets are of known immune thrombocytopenia, with no bleeding and no fever."""
        if self.key != "platelets-low" or self.bedside.bleeding is not None:
            return False
        record, since = self.bedside.record, self.bedside.as_of - limits.IMMUNE_FROM.length
        known = any(
            one.at is None or one.at <= since for one in record.told_of(ConditionKind.IMMUNE_THROMBOCYTOPENIA)
        )
        thinned = antithrombotics(self.bedside)
        told = record.told_of(ConditionKind.MINOR_BLEEDING, ConditionKind.HEAD_INJURY)
        return known and not thinned and not told and self.bedside.signs_of_infection is None

    @cached_property
    def slow_pulse(self) -> Measurement | None:
        """The newest pulse beside a potassium of 6.0 or more, where it is slow."""
        band = self.graded.band
        is_high = self.key in ("potassium-high", "potassium-gas-high") and self.graded.is_current
        if not is_high or band is None or band.urgency not in ("urgent", "emergency"):
            return None
        pulse = self.bedside.record.series(Signal.PULSE).recent(self.bedside.as_of, _NEAR)
        is_slow = pulse is not None and pulse.is_exact and limits.POTASSIUM_SLOW_PULSE.is_met_by(pulse.value)
        return pulse if is_slow else None

    @property
    def heart_needs_potassium(self) -> bool:
        """Whether the heart, fast atrial fibrillation or digoxin makes a low potassium count more."""
        record = self.bedside.record
        level = record.series(Signal.DIGOXIN_LEVEL).recent(self.result.at, limits.DIGOXIN_ACTS_FOR.length)
        if record.told_of(*limits.HEART_NEEDS_POTASSIUM) or level is not None:
            return True
        pulse = record.series(Signal.PULSE).recent(self.bedside.as_of, self.bedside.choices.look_back)
        if pulse is not None and limits.VERY_FAST_PULSE.is_met_by(pulse.value):
            return True
        is_fast = pulse is not None and limits.FAST_PULSE.is_met_by(pulse.value)
        return is_fast and bool(record.told_of(ConditionKind.ATRIAL_FIBRILLATION))

    @property
    def muscle_breaks_down(self) -> bool:
        """Whether the newest creatine kinase is beyond its limit."""
        found = self.bedside.graded.get("creatine-kinase-high")
        return found is not None and found.band is not None and found.is_current

    @property
    def liver_fails(self) -> bool:
        """Whether liver tests of the last day explain a long INR that no anticoagulant does."""
        as_of, within = self.bedside.as_of, self.bedside.choices.gas_counts_for
        tests = [self.bedside.record.series(signal).recent(as_of, within) for signal in _OF_LIVER]
        is_injured = any(one is not None and limits.LIVER_INJURY.is_met_by(one.value) for one in tests)
        return is_injured and not self._is_anticoagulated

    @property
    def _is_anticoagulated(self) -> bool:
        """Whether an anticoagulant is or was on record."""
        record = self.bedside.record
        orders = (one.medicine for one in record.orders)
        doses = (one.medicine for one in record.administrations)
        return any(not _ANTICOAGULANTS.isdisjoint(one.classes) for one in (*orders, *doses))

    def near(self, signal: Signal) -> Measurement | None:
        """Return the newest value of another signal, where it was taken near this result."""
        found = self.bedside.record.series(signal).within(self.result.at - _NEAR, self.result.at + _NEAR)
        return found[-1] if found else None


_OF_LIVER = (Signal.ALT, Signal.AST)
_OF_LOW_CALCIUM = (ConditionKind.LOW_CALCIUM_SIGNS, ConditionKind.SEIZURES_GOING_ON, ConditionKind.SEIZURE)


def is_for_diabetes(band: CriticalBand) -> bool:
    """Tell whether a band is the hospital limit for people with diabetes."""
    return band.source.key == cited.HYPOGLYCAEMIA.key
