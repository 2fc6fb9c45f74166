"""The record as it stands at one moment, with what several questions share.

Rounds of observations, the score timeline and the kidney stages are each derived
once, when first asked for, and read by every assessment that needs them.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cached_property

from weatherglass.facts.allergy_check import SUSPECTED, Meeting, Strength, meetings
from weatherglass.facts.anaphylaxis import Anaphylaxis, met_as_suspects, recent_anaphylaxis
from weatherglass.facts.doses import Dose, largest_doses
from weatherglass.facts.drug_chart import DrugChart, Line, drug_chart
from weatherglass.facts.fluid_balance import FluidBalance, fluid_balance
from weatherglass.facts.infection.infection import (
    RiskFeatures,
    SuspectedInfection,
    antibacterial_doses,
    risk_features,
    suspected_infection,
)
from weatherglass.facts.infection.signs_of_infection import SignsOfInfection, signs_of_infection
from weatherglass.facts.kidneys.chart import KidneyChart
from weatherglass.facts.kidneys.function_now import FunctionNow, function_now
from weatherglass.facts.kidneys.injury import AkiNow
from weatherglass.facts.kidneys.staging import KidneyStage
from weatherglass.facts.kidneys.urine import UrineChart
from weatherglass.facts.meeting_pairs import MetPair, against, pairs_on_chart
from weatherglass.facts.named_lines import NamedLine, is_taken, named
from weatherglass.facts.pregnancy import is_pregnant_or_recently
from weatherglass.facts.presence import Presence, discharged_at, open_stays, presence
from weatherglass.facts.results.blood_loss import BloodLoss, blood_loss
from weatherglass.facts.results.ketoacidosis import (
    DIABETES,
    TREATS_DIABETES,
    KetoacidosisCourse,
    ketoacidosis_course,
)
from weatherglass.facts.results.latest_results import latest_results
from weatherglass.facts.results.neutropenia import NeutropenicSepsis, neutropenic_sepsis
from weatherglass.facts.results.potassium_shift import PotassiumShift, potassium_shift
from weatherglass.facts.results.result_levels import GradedSeries, graded_results
from weatherglass.facts.results.unjudged import is_inside, newest_unjudged
from weatherglass.facts.rounds.alertness import Alertness, alertness
from weatherglass.facts.rounds.breathing import asthma_is_acute, unroused_since
from weatherglass.facts.rounds.gas_samples import ARTERIAL, VENOUS, GasSample, gas_samples, recent_sample
from weatherglass.facts.rounds.oxygen_course import OxygenPoint, oxygen_course
from weatherglass.facts.rounds.oxygen_excess import OxygenExcess, oxygen_excess
from weatherglass.facts.rounds.pressure_course import (
    Perfusion,
    PressureStep,
    is_low_as_usual,
    perfusion,
    pressure_course,
)
from weatherglass.facts.rounds.scoring import (
    RowResult,
    SetResult,
    measure_of,
    missing_row,
    number_row,
    score_set,
)
from weatherglass.facts.rounds.sign_limits import Limits, child_limits, signs_in_use
from weatherglass.facts.rounds.signs_of_life import AbsentRate, absent_rate
from weatherglass.facts.rounds.timeline import (
    ComaScale,
    ObservationSet,
    coma_scale_of,
    observation_sets,
    oxygen_of,
)
from weatherglass.facts.seizures import Seizure, recent_seizures
from weatherglass.facts.series.runs import Run, state_of
from weatherglass.facts.series.slow_decline import SlowDecline, slow_decline
from weatherglass.facts.series.steady import (
    STEADY_SOURCES,
    STEADY_SOURCES_IN_CHILDREN,
    STEADY_SOURCES_IN_PREGNANCY,
    SteadyCourse,
    costs_points,
    harms_in_pregnancy,
    steady_course,
)
from weatherglass.facts.series.usual_range import UsualRange, usual_range
from weatherglass.facts.treatment_limits import Allowed, Treatment, allowed
from weatherglass.facts.ventilation import Ventilation, ventilation
from weatherglass.facts.whereabouts import Whereabouts, whereabouts
from weatherglass.knowledge.limits import blood_gas, single_signs, trend_limits
from weatherglass.knowledge.limits.child_trends import size_in_a_child
from weatherglass.knowledge.limits.context_choices import GONE_AFTER
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass, acts_locally
from weatherglass.knowledge.medicines.pairs import Pair
from weatherglass.knowledge.scores import news2_2017, shock_index
from weatherglass.model.findings import Measure, MissingReason, State, Urgency
from weatherglass.model.latest import LatestResults
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record import (
    Administration,
    Condition,
    ConditionKind,
    Directive,
    DirectiveKind,
    Measurement,
    MedicineOrder,
    Omission,
    OrderStatus,
    Record,
    Series,
)
from weatherglass.model.signals import BaselineConfusion, CodedSignal, OxygenDelivery, Signal
from weatherglass.model.sources import Origin, Source
from weatherglass.model.words.clock_words import Clock

#: The vital signs that have a range usual for the patient.
VITAL_SIGNS = (
    Signal.RESPIRATION_RATE,
    Signal.SPO2,
    Signal.SYSTOLIC_PRESSURE,
    Signal.PULSE,
    Signal.TEMPERATURE,
)

_SCALE_2_TARGET = (
    news2_2017.SCALE_2_LOWEST_TARGET.value,
    news2_2017.SCALE_2_HIGHEST_TARGET.value,
)
_SCALE_1_ROWS = news2_2017.PARAMETERS
_SCALE_2_ROWS = tuple(
    news2_2017.SPO2_SCALE_2_ON_AIR_ROW if row.key == "spo2-scale-1" else row for row in news2_2017.PARAMETERS
)


def _bars(pair: Pair) -> bool:
    """Tell whether a pair forbids one of its medicines whatever else is the case."""
    return pair.urgency == "urgent" and not (pair.only_when or pair.silent_when or pair.calm_when)


class Bedside:
    """One patient at one moment.

    Attributes:
        record: The record as it stood at `as_of`; nothing later is visible.
        as_of: The moment of the review.
        choices: What the site has chosen.
    """

    def __init__(self, record: Record, as_of: datetime, choices: LocalChoices) -> None:
        """Take a record that has already been cut off at `as_of`."""
        self.record = record
        self.as_of = as_of
        self.choices = choices

    # The person

    @cached_property
    def age(self) -> int | None:
        """Age in completed years, None when the birth date is not recorded."""
        return self.record.subject.age_at(self.local(self.as_of))

    @cached_property
    def clock(self) -> Clock:
        """How moments are said."""
        return Clock(self.record.zone, self.as_of)

    def local(self, moment: datetime) -> datetime:
        """Return a moment in the record's own zone, where birthdays are counted."""
        return self.clock.local(moment)

    @cached_property
    def is_pregnant_or_recently(self) -> bool:
        """Whether pregnancy, or its end within the published window, is recorded."""
        return is_pregnant_or_recently(self.record, self.as_of)

    @cached_property
    def confusion_is_usual(self) -> bool:
        """Whether long-standing confusion is recorded."""
        last = self.record.coded(CodedSignal.BASELINE_CONFUSION).latest
        if last is not None:
            return last.value is BaselineConfusion.LONG_STANDING
        return self.record.has(ConditionKind.CHRONIC_CONFUSION)

    @cached_property
    def admitted_at(self) -> datetime | None:
        """Start of the present stay as an inpatient, None when it is not recorded."""
        present = open_stays(self.record.stays, self.as_of)
        return min((s.starts for s in present if s.inpatient and s.starts is not None), default=None)

    @cached_property
    def in_hospital(self) -> Presence:
        """Whether the patient is in hospital at this moment, as far as the stays tell."""
        return presence(self.record, self.as_of)

    @cached_property
    def where(self) -> Whereabouts:
        """Where the patient lies: intensive care, theatre, emergency department, a ward, or no hospital."""
        return whereabouts(self.record, self.as_of)

    @cached_property
    def ventilation(self) -> Ventilation | None:
        """The ventilation through a tube that is going on, with what sedates for it; None where none is."""
        return ventilation(self.record, self.as_of, self.where, self.drug_chart.lines)

    @property
    def is_sedated(self) -> bool:
        """Whether the patient is ventilated and sedated on purpose: then no answer is no sign."""
        return self.ventilation is not None and self.ventilation.is_sedated

    @property
    def own_doctor(self) -> str:
        """The role of whoever is at the bedside already, in intensive care or theatre; empty elsewhere."""
        if self.where is Whereabouts.INTENSIVE_CARE:
            return self.choices.roles.intensive_care
        return self.choices.roles.anaesthetist if self.where is Whereabouts.THEATRE else ""

    @cached_property
    def discharged_at(self) -> datetime | None:
        """When the last stay in hospital ended; None while one is open or where none is recorded."""
        return discharged_at(self.record, self.as_of)

    @property
    def has_died(self) -> bool:
        """Whether a death is recorded, at or before this moment or without a date."""
        return self.record.subject.has_died_by(self.as_of)

    @property
    def died_at(self) -> datetime | None:
        """When the patient died, None where no death or no time of it is recorded."""
        return self.record.subject.died_at if self.has_died else None

    def directives(self, kind: DirectiveKind) -> tuple[Directive, ...]:
        """Return the decisions of a kind that are in force, newest first."""
        found = [
            d for d in self.record.directives if d.kind is kind and (d.ends is None or d.ends >= self.as_of)
        ]
        found.sort(key=lambda d: (d.at is not None, d.at or self.as_of, d.origin), reverse=True)
        return tuple(found)

    def allowed(self, treatment: Treatment) -> Allowed:
        """Say what the recorded ceilings leave of a treatment that a finding would suggest."""
        limiting = (*self.directives(DirectiveKind.CEILING), *self.directives(DirectiveKind.END_OF_LIFE))
        return allowed(limiting, treatment)

    def state_of(self, run: Run | None) -> State | None:
        """Say what a run makes a finding at this moment; None when it is past and gone."""
        return state_of(
            run,
            self.as_of,
            new_within=self.choices.new_within,
            settled_within=self.choices.settled_within,
        )

    # Rounds and the score

    @cached_property
    def sets(self) -> tuple[ObservationSet, ...]:
        """Every round of observations, oldest first."""
        return observation_sets(
            self.record,
            window=self.choices.observation_set_window,
            carry=self.choices.carry_forward,
        )

    def round_at(self, moment: datetime) -> ObservationSet | None:
        """Return the round that a moment belongs to, None where there is none."""
        place = bisect_right(self._starts, moment) - 1
        found = self.sets[place] if place >= 0 else None
        return found if found is not None and moment <= found.end else None

    @cached_property
    def _starts(self) -> list[datetime]:
        return [one.start for one in self.sets]

    @cached_property
    def watched_since(self) -> datetime | None:
        """Since when the rounds are those of the present illness; None where there is no round.

        The admission says it; without one, rounds more than two days apart are of two illnesses.
        """
        if not self.sets:
            return None
        if self.admitted_at is not None:
            return self.admitted_at
        place = len(self.sets) - 1
        while place and self.sets[place].start - self.sets[place - 1].end <= GONE_AFTER.length:
            place -= 1
        return self.sets[place].start

    @cached_property
    def scale_2_decision(self) -> Directive | None:
        """The recorded, attributable decision to use SpO2 scale 2, if there is one in force.

        A diagnosis alone is never such a decision.
        """
        said = (*self.directives(DirectiveKind.SPO2_SCALE), *self.directives(DirectiveKind.OXYGEN_TARGET))
        if not said:
            return None
        # The newest decision counts: a later target of 94-98 takes scale 2 back.
        newest = max(said, key=lambda d: (d.at is not None, d.at or self.as_of, d.origin))
        if newest.kind is DirectiveKind.SPO2_SCALE:
            return newest if newest.spo2_scale == 2 else None
        return newest if (newest.target_low, newest.target_high) == _SCALE_2_TARGET else None

    @cached_property
    def news2(self) -> tuple[SetResult, ...]:
        """Every round scored by NEWS2, oldest first; rounds without any of its rows left out.

        A round is scored on scale 2 from the time the decision was recorded.
        """
        decision = self.scale_2_decision
        if decision is None:
            return self.news2_scale_1
        since = decision.at
        scored = [
            self.on_scale_2(one) if since is None or one.end >= since else self._on_scale_1(one)
            for one in self.sets
        ]
        return tuple(result for result in scored if not result.is_empty)

    @cached_property
    def news2_scale_1(self) -> tuple[SetResult, ...]:
        """Every round on SpO2 scale 1; shown beside scale 2 where that is in use."""
        scored = [self._on_scale_1(one) for one in self.sets]
        return tuple(result for result in scored if not result.is_empty)

    @property
    def may_use_news2(self) -> bool:
        """Whether NEWS2 is meant for this person, by age and pregnancy."""
        is_child = self.age is not None and self.age < news2_2017.MINIMUM_AGE.years
        return not is_child and not self.is_pregnant_or_recently

    def steady(self, signal: Signal) -> SteadyCourse | None:
        """Return the steady trend of a vital sign, where NEWS2, pregnancy or age tells how large it is."""
        readings = self.record.series(signal).items
        if not readings or self.as_of - readings[-1].at > self.choices.look_back:
            return None
        if self.may_use_news2:
            size = costs_points(signal)
        elif self.is_pregnant_or_recently:
            size = harms_in_pregnancy(signal)
        else:
            months = self.record.subject.age_in_months_at(self.local(self.as_of))
            child = size_in_a_child(signal, months) if months is not None else None
            if child is None:
                return None
            size = child
        return steady_course(readings, size, settled_within=self.choices.settled_within)

    @cached_property
    def slow_decline(self) -> SlowDecline | None:
        """The signs that have gone the harmful way together over days; None in children and pregnancy."""
        return slow_decline(self.record, self.as_of) if self.may_use_news2 else None

    @cached_property
    def steady_urgency(self) -> Urgency:
        """How urgent a steady trend is: less beside a score that has said it already."""
        newest = self.news2[-1] if self.news2 and self.may_use_news2 else None
        has_said = newest is not None and news2_2017.URGENT_RESPONSE.is_met_by(Decimal(newest.lowest))
        return Urgency.ROUTINE if has_said else Urgency.PROMPT

    @property
    def steady_rule(self) -> str:
        """What makes a steady trend large enough, in words."""
        size = "has a size of its own in a child"
        if self.may_use_news2:
            size = "has cost points in NEWS2"
        elif self.is_pregnant_or_recently:
            size = "has a size of its own in pregnancy"
        return f"a steady trend that {size}"

    @property
    def steady_sources(self) -> tuple[Source, ...]:
        """What a steady trend rests on."""
        if self.may_use_news2:
            return STEADY_SOURCES
        return STEADY_SOURCES_IN_PREGNANCY if self.is_pregnant_or_recently else STEADY_SOURCES_IN_CHILDREN

    def _on_scale_1(self, one: ObservationSet) -> SetResult:
        return score_set(news2_2017.NEWS2, one, _SCALE_1_ROWS, confusion_is_usual=self.confusion_is_usual)

    def on_scale_2(self, one: ObservationSet) -> SetResult:
        """Score a round on SpO2 scale 2, whatever was decided."""
        return score_set(
            news2_2017.NEWS2,
            one,
            _SCALE_2_ROWS,
            special={"spo2-scale-2": spo2_on_scale_2},
            confusion_is_usual=self.confusion_is_usual,
        )

    # Single signs

    @cached_property
    def signs(self) -> Limits:
        """The limits of the signs that call by themselves, by key, the site's own among them."""
        months = self.record.subject.age_in_months_at(self.local(self.as_of))
        own = signs_in_use(self.choices)
        return own if self.has_adult_limits or months is None else {**own, **child_limits(months)}

    @property
    def has_adult_limits(self) -> bool:
        """Whether adult limits of rate and pressure hold: at an unknown age, and in pregnancy at any age."""
        is_adult = self.age is None or self.age >= single_signs.ADULT_FROM.years
        return is_adult or self.is_pregnant_or_recently

    @cached_property
    def alertness(self) -> tuple[Alertness, ...]:
        """Every round in which alertness was observed, oldest first."""
        return tuple(
            alertness(
                self.sets,
                confusion_is_usual=self.confusion_is_usual,
                before=trend_limits.GCS_WINDOW.length,
                tube_since=self.ventilation.since if self.ventilation is not None else None,
            )
        )

    @cached_property
    def coma_scales(self) -> tuple[ComaScale, ...]:
        """The coma scale of every round in which it was observed, oldest first."""
        found = [(one, coma_scale_of(one)) for one in self.sets]
        return tuple(scale for one, scale in found if scale is not None and scale.measured.at >= one.start)

    def series(self, signal: Signal) -> Series[Measurement]:
        """Return the values of a signal; of the coma scale the totals, added up where need be."""
        if signal is Signal.GCS_TOTAL:
            return self._coma_totals
        return self.record.series(signal)

    @cached_property
    def _coma_totals(self) -> Series[Measurement]:
        return Series([scale.measured for scale in self.coma_scales])

    @cached_property
    def saturation_floor(self) -> Decimal | None:
        """The lowest saturation that a prescribed target allows, None without one."""
        if self.scale_2_decision is not None:
            return news2_2017.SCALE_2_LOWEST_TARGET.value
        return self.oxygen_target.target_low if self.oxygen_target is not None else None

    @cached_property
    def absent_rate(self) -> AbsentRate | None:
        """A breathing rate or a pulse of 0 that is the newest one, if there is any."""
        return absent_rate(
            self.record,
            self.sets,
            window=self.choices.observation_set_window,
            not_before=self.as_of - self.choices.look_back,
        )

    @property
    def is_peri_arrest(self) -> bool:
        """Whether no breathing or no pulse is recorded now: nothing else is asked beside it."""
        return self.absent_rate is not None

    # Results

    @cached_property
    def graded(self) -> dict[str, GradedSeries]:
        """Every result series against its limits, by analyte and side ("potassium-high")."""
        return graded_results(self.record, self.as_of, self.choices)

    @cached_property
    def latest_results(self) -> LatestResults:
        """The newest results that a ward doctor reads first, and what was sent and not read."""
        return latest_results(self.record, self.as_of, self.choices)

    @cached_property
    def unjudged(self) -> tuple[Measure, ...]:
        """The newest results of the last day that no rule judges, and not their own range either."""
        gases = (*self.arterial_gases, *self.venous_gases)
        found = newest_unjudged(self.record, self.as_of, gases)
        beyond = {each.bands[0].signal for each in self.graded.values() if each.band is not None}
        return tuple(
            measure_of(signal, one) for signal, one in found if signal not in beyond and not is_inside(one)
        )

    @cached_property
    def arterial_gases(self) -> tuple[GasSample, ...]:
        """Every arterial or capillary sample, and every one whose vessel is not stated, oldest first."""
        return gas_samples(self.record, ARTERIAL)

    @cached_property
    def venous_gases(self) -> tuple[GasSample, ...]:
        """Every venous sample, oldest first."""
        return gas_samples(self.record, VENOUS)

    @cached_property
    def bicarbonate_of_gas(self) -> Measurement | None:
        """The bicarbonate that the newest blood gas is told as far off by, None where it is not."""
        both = sorted((*self.arterial_gases[-1:], *self.venous_gases[-1:]), key=lambda s: s.ph.at)
        newest = recent_sample(both, self.as_of, self.choices.gas_counts_for)
        if newest is None:
            return None
        is_hidden = not newest.is_acid and not newest.is_venous and newest.is_below_expected
        is_told = newest.metabolic > 1 or is_hidden or newest.is_severely_alkaline
        return newest.bicarbonate if is_told else None

    @cached_property
    def keeps_carbon_dioxide(self) -> GasSample | None:
        """The newest sample, if it counts and shows carbon dioxide kept in somebody without asthma."""
        newest = recent_sample(self.arterial_gases, self.as_of, self.choices.gas_counts_for)
        if newest is None:
            return None
        is_kept = newest.respiratory and newest.is_surely_high
        has_asthma = self.asthma_is_acute or self.asthma_may_be_acute
        return newest if is_kept and not has_asthma else None

    @cached_property
    def asthma_is_acute(self) -> bool:
        """Whether an attack of asthma is recorded, and no chronic obstructive disease."""
        return asthma_is_acute(self.record, self.as_of)

    @cached_property
    def asthma_may_be_acute(self) -> bool:
        """Whether asthma is recorded, without an attack, in somebody who now breathes fast."""
        if not self.record.has(ConditionKind.ASTHMA) or self.record.has(ConditionKind.COPD):
            return False
        newest = self.record.series(Signal.RESPIRATION_RATE).recent(self.as_of, self.choices.look_back)
        return newest is not None and blood_gas.ASTHMA_BREATHING.is_met_by(newest.value)

    @cached_property
    def is_in_shock(self) -> bool:
        """Whether the newest systolic pressure of a day is low, and not as usual."""
        newest = self.pressure[-1] if self.pressure else None
        if newest is None or self.as_of - newest.reading.at > self.choices.look_back:
            return False
        return newest.is_low and not self.pressure_is_low_as_usual

    @cached_property
    def unroused_since(self) -> datetime | None:
        """Since when nothing but pain, or nothing at all, rouses the patient; None where that is not so."""
        return None if self.ventilation is not None else unroused_since(self.sets, self.as_of)

    @cached_property
    def blood_loss(self) -> BloodLoss:
        """What bears on possible bleeding."""
        is_child = self.age is not None and self.age < shock_index.MINIMUM_AGE.years
        return blood_loss(self.record, self.as_of, self.sets, is_child=is_child)

    @cached_property
    def has_diabetes(self) -> bool:
        """Whether diabetes, or a treatment of it, is on record."""
        return self.record.has(*DIABETES) or bool(self.on_chart(TREATS_DIABETES))

    @cached_property
    def ketoacidosis(self) -> KetoacidosisCourse:
        """How the parts of ketoacidosis stand now, and since when they were all there."""
        return ketoacidosis_course(
            self.record, self.as_of, self.choices.gas_counts_for, is_known=self.has_diabetes
        )

    @cached_property
    def potassium_shift(self) -> PotassiumShift | None:
        """The high potassium that a dose of the last hours has moved; in ketoacidosis it is meant to fall."""
        return None if self.ketoacidosis.goes_on else potassium_shift(self.record, self.as_of)

    @property
    def inr_now(self) -> Measurement | None:
        """The newest INR that still counts."""
        newest = self.record.series(Signal.INR).recent(self.as_of, self.choices.laboratory_counts_for)
        return newest if newest is not None and newest.spread is None else None

    @cached_property
    def infection(self) -> SuspectedInfection | None:
        """Why infection is suspected, None where it is not."""
        found = suspected_infection(self.record, self.as_of)
        if found is None or not found.orders:
            return found
        clashing = {o for met in self.pairs_met if _bars(met.pair) for o in against(met)}
        found = replace(found, clashing=frozenset(clashing))
        if not (self.record.allergies or self.anaphylaxis):
            return found
        refused = frozenset(o for o, met in self.allergies_met.items() if met.strength is not Strength.NOTE)
        suspected = frozenset(o for o, met in self.allergies_met.items() if met.group == SUSPECTED)
        return replace(found, refused=refused, suspected=suspected)

    @cached_property
    def pairs_met(self) -> tuple[MetPair, ...]:
        """Every named pair of medicines of which both are on the chart."""
        return tuple(pairs_on_chart(self.named_lines))

    @cached_property
    def signs_of_infection(self) -> SignsOfInfection | None:
        """What speaks of infection by itself, None where it is not enough to ask aloud."""
        return signs_of_infection(self.record, self.as_of)

    @cached_property
    def antibacterial_doses(self) -> tuple[Administration, ...]:
        """Antibacterial doses given that reach the blood, oldest first."""
        return antibacterial_doses(self.record)

    @cached_property
    def neutropenic_sepsis(self) -> NeutropenicSepsis | None:
        """What says that this is neutropenic sepsis, None where nothing does."""
        counts_for = self.choices.laboratory_counts_for
        return neutropenic_sepsis(self.record, self.infection, self.as_of, counts_for=counts_for)

    @cached_property
    def risk_features(self) -> RiskFeatures:
        """What raises the risk of sepsis whatever the score."""
        return risk_features(self.record, self.as_of)

    # The patient's own normal, and oxygen

    @cached_property
    def usual(self) -> dict[Signal, UsualRange]:
        """What is usual for this patient, for each vital sign with enough readings."""
        found = {s: usual_range(self.record.series(s).items, self.as_of) for s in VITAL_SIGNS}
        return {signal: usual for signal, usual in found.items() if usual is not None}

    @cached_property
    def pressure(self) -> tuple[PressureStep, ...]:
        """Every systolic pressure against the own normal of its time, oldest first."""
        return pressure_course(self.record.series(Signal.SYSTOLIC_PRESSURE).items)

    @cached_property
    def pressure_is_low_as_usual(self) -> bool:
        """Whether the newest systolic pressure is low and no lower than it has long been."""
        if not self.pressure or not self.may_use_news2:
            return False
        usual = self.usual.get(Signal.SYSTOLIC_PRESSURE)
        return is_low_as_usual(self.record, self.pressure[-1], usual)

    @cached_property
    def perfusion(self) -> Perfusion:
        """What shows whether blood gets where it should."""
        return perfusion(
            self.record,
            self.sets,
            self.kidneys.urine,
            self.kidneys.weight,
            self.as_of,
            counts_for=self.choices.gas_counts_for,
            confusion_is_usual=self.confusion_is_usual,
        )

    @cached_property
    def oxygen_course(self) -> tuple[OxygenPoint, ...]:
        """What was breathed, round by round, where that is known."""
        return oxygen_course(self.sets)

    @cached_property
    def oxygen_target(self) -> Directive | None:
        """The newest prescribed saturation target in force, if there is one."""
        return next(
            (
                d
                for d in self.directives(DirectiveKind.OXYGEN_TARGET)
                if d.target_low is not None and d.target_high is not None
            ),
            None,
        )

    @cached_property
    def oxygen_excess(self) -> OxygenExcess | None:
        """What is given above the range of saturation now; children have no published range."""
        is_child = self.age is not None and self.age < news2_2017.MINIMUM_AGE.years
        if self.oxygen_target is None and is_child:
            return None
        at_risk = self.record.has(ConditionKind.COPD, ConditionKind.HYPERCAPNIA)
        # The machine breathes: oxygen takes no drive away.
        keeps = self.keeps_carbon_dioxide is not None and self.ventilation is None
        return oxygen_excess(
            self.sets,
            self.oxygen_course,
            self.oxygen_target,
            keeps=(at_risk or keeps) and not self.is_in_shock,
            as_of=self.as_of,
            look_back=self.choices.look_back,
        )

    @cached_property
    def has_acidosis_of_oxygen(self) -> bool:
        """Whether respiratory acidosis stands beside too much oxygen: then the two are said as one."""
        gas, excess = self.keeps_carbon_dioxide, self.oxygen_excess
        if gas is None or excess is None or self.ventilation is not None:
            return False
        return gas.is_acid and excess.is_narrow

    # The drug chart

    @cached_property
    def drug_chart(self) -> DrugChart:
        """Every medicine in use, reported, on hold, not signed yet, or ended and still acting."""
        return drug_chart(self.record, self.as_of)

    @cached_property
    def allergies_met(self) -> Mapping[Origin, Meeting]:
        """Which lines of the drug chart meet a recorded allergy, and how."""
        lines = self.drug_chart.lines
        recorded = meetings(self.record.allergies, lines)
        if self.anaphylaxis is None:
            return recorded
        return {**recorded, **met_as_suspects(self.anaphylaxis, lines)}

    @cached_property
    def anaphylaxis(self) -> Anaphylaxis | None:
        """The anaphylaxis that was recorded in the last day, if there was one."""
        return recent_anaphylaxis(self.record, self.as_of)

    @cached_property
    def seizures(self) -> tuple[Seizure, ...]:
        """The seizures that were recorded in the last day."""
        return tuple(recent_seizures(self.record, self.as_of))

    @cached_property
    def problems(self) -> Mapping[ConditionKind, tuple[Condition, ...]]:
        """What is recorded and confirmed, active or not, by what it is."""
        found: dict[ConditionKind, list[Condition]] = {}
        for condition in self.record.conditions:
            if condition.confirmed:
                for kind in condition.kinds:
                    found.setdefault(kind, []).append(condition)
        return {kind: tuple(conditions) for kind, conditions in found.items()}

    @cached_property
    def kidney_function(self) -> FunctionNow:
        """The filtration rate, clearance or dialysis that doses follow while there is no injury."""
        return function_now(self.kidneys, self.record, self.as_of, self.age)

    @cached_property
    def named_lines(self) -> tuple[NamedLine, ...]:
        """What is taken, reported as taken or about to be signed, with the words that name it."""
        return tuple(self.named(line) for line in self.drug_chart.lines if is_taken(line))

    @cached_property
    def omitted(self) -> Mapping[Origin, Omission]:
        """The newest dose of the last day that is recorded as not given, by its order."""
        earliest = self.as_of - timedelta(days=1)
        by_content: dict[str, Origin] = {
            name: line.order for line in self.drug_chart.lines for name in line.medicine.ingredients
        }
        found: dict[Origin, Omission] = {}
        for one in self.record.omissions:
            named = [by_content[name] for name in one.medicine.ingredients if name in by_content]
            order = one.order if one.order is not None else next(iter(named), None)
            if order is not None and one.at >= earliest:
                found[order] = one
        return found

    def named(self, line: Line) -> NamedLine:
        """Return a line of the chart with the words that name it."""
        known = self._named.get(line.order)
        if known is None or known.line is not line:
            known = self._named[line.order] = named(line)
        return known

    @cached_property
    def _named(self) -> dict[Origin, NamedLine]:
        return {}

    @cached_property
    def largest_doses(self) -> Mapping[tuple[str, str], tuple[Dose, ...]]:
        """The two largest single doses of each ingredient among all orders, in force or ended."""
        chart = self.drug_chart
        in_force = (line.charted for line in chart.lines if line.charted is not None)
        return largest_doses((*in_force, *chart.ended))

    def on_chart(self, classes: Iterable[MedicineClass]) -> tuple[MedicineOrder, ...]:
        """Return the active orders of these classes that reach the blood, home medicines too."""
        wanted = frozenset(each.value for each in classes)
        return tuple(
            order
            for order in self.record.orders
            if order.status is OrderStatus.ACTIVE
            and order.in_force_at(self.as_of)
            and any(not acts_locally(key, order.route) for key in order.medicine.classes & wanted)
        )

    # The kidneys

    @cached_property
    def kidneys(self) -> KidneyChart:
        """Creatinine, urine and replacement therapy, with the stages they come to."""
        return KidneyChart(self.record, self.as_of, self.choices, pregnant=self.is_pregnant_or_recently)

    @property
    def kdigo(self) -> tuple[KidneyStage, ...]:
        """Every creatinine off therapy with its KDIGO stage, oldest first."""
        return self.kidneys.kdigo

    @property
    def nhs(self) -> tuple[KidneyStage, ...]:
        """Every creatinine off therapy with its AKI warning stage, oldest first."""
        return self.kidneys.nhs

    @property
    def urine_chart(self) -> UrineChart:
        """Charted urine."""
        return self.kidneys.urine

    @cached_property
    def fluid_balance(self) -> FluidBalance:
        """What went in and out, urine an hour, the change of weight, and gaps of the chart."""
        kidneys = self.kidneys
        return fluid_balance(self.record, self.as_of, kidneys.urine, kidneys.weight, self.admitted_at)

    @property
    def aki_now(self) -> AkiNow:
        """Acute kidney injury as it stands, by whatever shows it, and since when."""
        return self.kidneys.now

    @property
    def aki_stage(self) -> int:
        """The stage of acute kidney injury now; 0 when none."""
        return self.kidneys.now.stage


def spo2_on_scale_2(observed: ObservationSet) -> RowResult:
    """Score saturation on scale 2, where air and oxygen have different rows.

    When it is not known whether oxygen is given, the row still counts where both
    tables agree; otherwise it is open.
    """
    measured = observed.number(Signal.SPO2)
    on_air = number_row(news2_2017.SPO2_SCALE_2_ON_AIR_ROW, measured)
    on_oxygen = number_row(news2_2017.SPO2_SCALE_2_ON_OXYGEN_ROW, measured)
    oxygen = oxygen_of(observed)
    if oxygen is not None:
        return on_air if oxygen.value is OxygenDelivery.AIR else on_oxygen
    if measured is None:
        return missing_row(news2_2017.SPO2_SCALE_2_ON_OXYGEN_ROW, MissingReason.NOT_RECORDED)
    if on_air.points is not None and on_air.points == on_oxygen.points:
        return on_air
    return RowResult(
        None,
        min(on_air.lowest, on_oxygen.lowest),
        max(on_air.highest, on_oxygen.highest),
        (measured.origin,),
        MissingReason.UNKNOWN_OXYGEN,
    )
