"""What results and problems come to at one moment: bleeding, infection, ketoacidosis, beyond which limits."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from weatherglass.facts.blood.blood_loss import BloodLoss, blood_loss
from weatherglass.facts.blood.haemoglobin_fall import HaemoglobinFall
from weatherglass.facts.infection.infection import (
    RiskFeatures,
    SuspectedInfection,
    antibacterial_doses,
    infection_of_before,
    risk_features,
    suspected_infection,
)
from weatherglass.facts.infection.neutropenia import NeutropenicSepsis, Unwell, neutropenic_sepsis
from weatherglass.facts.infection.signs_of_infection import SignsOfInfection, signs_of_infection
from weatherglass.facts.medicines.allergy_check import SUSPECTED, Strength
from weatherglass.facts.medicines.meeting_pairs import against
from weatherglass.facts.metabolic.anion_gap import AnionGap, anion_gap
from weatherglass.facts.metabolic.ketoacidosis import Ending, KetoacidosisCourse, ketoacidosis_course
from weatherglass.facts.metabolic.osmolality import Osmolality, osmolality_at
from weatherglass.facts.metabolic.potassium_shift import PotassiumShift, potassium_shift
from weatherglass.facts.metabolic.sodium_change import SodiumChange, sodium_change
from weatherglass.facts.metabolic.unexplained_gap import UnexplainedGap, unexplained_gap
from weatherglass.facts.patient.breath_and_blood import BreathAndBlood
from weatherglass.facts.results.latest_results import latest_results
from weatherglass.facts.results.result_levels import GradedSeries, counts_for, graded_results
from weatherglass.facts.results.unjudged import is_inside, newest_unjudged, sent_and_unread, signs_unread
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.runs import run_at_level
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits.out_of_range import USUAL_RANGES
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.pairs import Pair
from weatherglass.knowledge.scores import news2_2017, shock_index
from weatherglass.knowledge.sepsis.neutropenic_sepsis import UNWELL
from weatherglass.knowledge.sepsis.sepsis_strata import STARVATION_PULSE
from weatherglass.model.findings import Measure
from weatherglass.model.latest import LatestResults
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement, SentValue
from weatherglass.model.signals import SODIUM_OF_EITHER, Signal
from weatherglass.model.words.lists import inside_a_sentence


def _bars(pair: Pair) -> bool:
    """Tell whether a pair forbids one of its medicines whatever else is the case."""
    return pair.urgency != "routine" and not (pair.only_when or pair.silent_when or pair.calm_when)


class Illness(BreathAndBlood):
    """What the patient may be ill with."""

    @cached_property
    def graded(self) -> dict[str, GradedSeries]:
        """Every result series against its limits, by analyte and side ("potassium-high")."""
        return graded_results(self.record, self.as_of, self.choices)

    @cached_property
    def latest_results(self) -> LatestResults:
        """The newest results that a ward doctor reads first, and what was sent and not read."""
        return latest_results(self.record, self.as_of, self.choices, self.sent_unread)

    @cached_property
    def sent_unread(self) -> tuple[SentValue, ...]:
        """What of the last day could not be used, but for a total of NEWS2 that our own reaches."""
        sent = sent_and_unread(self.record, self.as_of)
        return tuple(one for one in sent if not self._is_reached_here(one))

    def _is_reached_here(self, one: SentValue) -> bool:
        if one.suspected != Signal.REPORTED_NEWS2 or not one.shown.isdecimal():
            return False
        near = self.choices.observation_set_window
        own = (each.lowest for each in self.news2 if abs(each.at - one.at) <= near)
        return self.is_below(news2_2017.MINIMUM_AGE) or max(own, default=-1) >= int(one.shown)

    @cached_property
    def signs_unread(self) -> Mapping[str, datetime | None]:
        """When each sign of the last day was sent that could not be read; None where nobody knows."""
        return signs_unread(self.sent_unread, self.record, self.as_of)

    @cached_property
    def unjudged(self) -> tuple[Measure, ...]:
        """The newest results of the last day that no rule judges, and not their own range either."""
        found = newest_unjudged(self.record, self.as_of, self.gases)
        beyond = {each.bands[0].signal for each in self.graded.values() if each.band is not None}
        return tuple(
            measure_of(signal, one)
            for signal, one in found
            if signal not in beyond and not is_inside(one) and not self._is_usual(signal, one)
        )

    def _is_usual(self, signal: Signal, one: Measurement) -> bool:
        """Tell whether a result that came without a range is surely what is usual in adults."""
        usual = USUAL_RANGES.get(signal)
        is_adult = not (self.is_child or self.may_be_a_child or self.is_pregnant_or_recently)
        has_range = one.reference_low is not None or one.reference_high is not None
        return (
            usual is not None
            and is_adult
            and not has_range
            and one.is_exact
            and usual.low <= one.value <= usual.high
        )

    @property
    def inr_now(self) -> Measurement | None:
        """The newest INR that still counts."""
        newest = self.record.series(Signal.INR).recent(self.as_of, self.choices.laboratory_counts_for)
        return newest if newest is not None and newest.is_exact else None

    @cached_property
    def blood_loss(self) -> BloodLoss:
        """What bears on possible bleeding."""
        months = self.age_in_months if self.is_below(shock_index.MINIMUM_AGE) else None
        is_mother = self.is_pregnant_or_recently
        return blood_loss(self.record, self.as_of, self.sets, child_months=months, is_mother=is_mother)

    @cached_property
    def pressure_of_a_child_is_usual(self) -> bool:
        """Whether the newest systolic pressure of a child is no lower than its own of a day or more.

        Not where pulse, capillary refill, urine, alertness or lactate say that blood flow fails.
        """
        usual = self.usual.get(Signal.SYSTOLIC_PRESSURE)
        newest = self.record.series(Signal.SYSTOLIC_PRESSURE).latest
        if usual is None or newest is None or usual.spans < ours.LONG_STANDING_FOR.length:
            return False
        child = self.blood_loss.child
        shown = {signal for signal, _ in child.signs} if child is not None else set[Signal]()
        is_alone = shown <= {Signal.SYSTOLIC_PRESSURE}
        return is_alone and not self.perfusion.is_failing and newest.value >= usual.low

    @property
    def haemoglobin_fall(self) -> HaemoglobinFall | None:
        """The fall of haemoglobin by the published amount, where its newest result still counts."""
        fall = self.blood_loss.fall
        if fall is None or not fall.level:
            return None
        return fall if self.as_of - fall.newest.at <= self.choices.laboratory_counts_for else None

    @cached_property
    def ketoacidosis(self) -> KetoacidosisCourse:
        """How the parts of ketoacidosis stand now, and since when they were all there."""
        return ketoacidosis_course(
            self.record, self.as_of, self.choices.gas_counts_for, is_known=self.has_diabetes
        )

    @cached_property
    def osmolality(self) -> Osmolality | None:
        """The newest osmolality that still counts; None where sodium or glucose is not known."""
        return osmolality_at(self.record, self.as_of, self.choices.gas_counts_for)

    @cached_property
    def sodium_changes(self) -> dict[Signal, SodiumChange]:
        """Every rapid change of sodium that still stands, of either specimen."""
        found = {
            signal: sodium_change(self.record, signal, self.as_of, counts_for(signal, self.choices))
            for signal in SODIUM_OF_EITHER
        }
        return {signal: change for signal, change in found.items() if change is not None}

    @cached_property
    def potassium_shift(self) -> PotassiumShift | None:
        """The high potassium that a dose of the last hours has moved; in ketoacidosis it is meant to fall."""
        shift = potassium_shift(self.record, self.as_of)
        return shift if shift is not None and not self.ketoacidosis.goes_on else None

    @cached_property
    def unexplained_gap(self) -> UnexplainedGap | None:
        """An anion gap of an adult that neither lactate nor ketones explain; None where there is none."""
        newest = self.newest_gas
        if newest is None or self.is_child or self.ketoacidosis.goes_on:
            return None
        return unexplained_gap(
            self.record,
            self.gases,
            kidneys_fail=self.kidneys_fail,
            is_sugar=self.ketoacidosis.now.is_sugar,
        )

    @property
    def kidneys_fail(self) -> bool:
        """Whether the creatinine is one that brings acid, and an anion gap, of its own."""
        creatinine = self.graded.get("creatinine-high")
        return creatinine is not None and creatinine.is_current and creatinine.band is not None

    @cached_property
    def chloride_after_ketones(self) -> AnionGap | None:
        """The gap of the newest gas where ketones of ketoacidosis are over and chloride keeps it acid."""
        course = self.ketoacidosis
        if course.ending is not Ending.NOT_OVER or course.ketones_over_since is None:
            return None
        newest = self.newest_gas
        if newest is None or not newest.metabolic or newest.is_severe:
            return None
        gap = anion_gap(self.record, newest)
        return gap if gap is not None and gap.is_of_chloride else None

    # Infection

    @property
    def no_infection_since(self) -> str:
        """What an infection that is over adds to there being none: ' since Pneumonia (12 February)'."""
        past = infection_of_before(self.record, self.as_of)
        if past is None or past.at is None:
            return ""
        return f" since {inside_a_sentence(past.text)} ({self.clock.day(past.at)})"

    @cached_property
    def infection(self) -> SuspectedInfection | None:
        """Why infection is suspected, None where it is not."""
        found = suspected_infection(self.record, self.as_of, self.antibacterial_doses)
        if found is None or not found.orders:
            return found
        clashing = {o for met in self.pairs_met if _bars(met.pair) for o in against(met)}
        found = replace(found, clashing=frozenset(clashing))
        if not (self.record.allergies or self.anaphylaxis):
            return found
        met = self.allergies_met
        return replace(
            found,
            refused=frozenset(order for order, one in met.items() if one.strength is Strength.AVOID),
            questioned=frozenset(order for order, one in met.items() if one.strength is Strength.ASK),
            suspected=frozenset(order for order, one in met.items() if one.group == SUSPECTED),
        )

    @cached_property
    def signs_of_infection(self) -> SignsOfInfection | None:
        """What speaks of infection by itself, None where it is not enough to ask aloud."""
        return signs_of_infection(self.record, self.as_of, is_starved=self.is_cold_by_starvation)

    @cached_property
    def is_cold_by_starvation(self) -> bool:
        """Whether anorexia nervosa with a slow pulse explains a low temperature and few white cells."""
        pulse = self.record.series(Signal.PULSE).recent(self.as_of, self.choices.look_back)
        is_slow = pulse is not None and STARVATION_PULSE.is_met_by(pulse.value)
        return is_slow and self.record.has(ConditionKind.EATING_DISORDER)

    @cached_property
    def antibacterial_doses(self) -> tuple[Administration, ...]:
        """Antibacterial doses given that reach the blood, oldest first."""
        return antibacterial_doses(self.record)

    @cached_property
    def neutropenic_sepsis(self) -> NeutropenicSepsis | None:
        """What says that this is neutropenic sepsis, None where nothing does."""
        counts_for = self.choices.laboratory_counts_for
        return neutropenic_sepsis(
            self.record, self.infection, self.as_of, counts_for=counts_for, unwell=self._unwell
        )

    @cached_property
    def pulse_is_held_down(self) -> bool:
        """Whether a beta-blocker or a pacemaker keeps the pulse from rising."""
        return bool(self.on_chart((MedicineClass.BETA_BLOCKER,))) or self.record.has(ConditionKind.PACEMAKER)

    @property
    def _unwell(self) -> Unwell | None:
        """The newest score where it is as of sepsis; in a child whom it is not for, signs of shock."""
        results = self.news2_known
        if not results:
            child = self.blood_loss.child
            return Unwell(child.words, child.since) if child is not None and child.is_shock else None
        levels = [int(UNWELL.is_met_by(Decimal(one.lowest))) for one in results]
        run = run_at_level([one.observed.end for one in results], levels)
        return (
            Unwell(f"NEWS2 {results[-1].total_words}", run.since) if levels[-1] and run is not None else None
        )

    @cached_property
    def risk_features(self) -> RiskFeatures:
        """What raises the risk of sepsis whatever the score."""
        return risk_features(self.record, self.as_of)
