"""Oxygen, blood gases and blood pressure at one moment, against the patient's own normal."""

from weatherglass.facts.breathing.breathing import Retention, asthma_is_acute, retention
from weatherglass.facts.breathing.gas_samples import (
    ARTERIAL,
    VENOUS,
    Acid,
    GasSample,
    gas_samples,
    recent_sample,
)
from weatherglass.facts.breathing.hypoxaemia import Hypoxaemia, LowOxygen, hypoxaemia, low_oxygen
from weatherglass.facts.breathing.oxygen_course import OxygenPoint, oxygen_course
from weatherglass.facts.breathing.oxygen_need import OxygenNeed, oxygen_need
from weatherglass.facts.breathing.saturation import OxygenExcess, SaturationCourse, saturation_course
from weatherglass.facts.patient.rounds_now import Rounds
from weatherglass.facts.rounds.dysreflexia import Dysreflexia, dysreflexia
from weatherglass.facts.rounds.pressure_course import (
    Kept,
    Perfusion,
    PressureStep,
    Shock,
    is_low_as_usual,
    is_surely_low,
    perfusion,
    pressure_course,
)
from weatherglass.facts.rounds.signs.sign_grades import lowest_of
from weatherglass.facts.rounds.signs.sign_limits import sign_met
from weatherglass.facts.series.limits_met import reaches
from weatherglass.facts.series.runs import first_of_run
from weatherglass.facts.series.usual_range import UsualRange, usual_range
from weatherglass.knowledge.breathing import blood_gas
from weatherglass.knowledge.emergencies.acute_problems import COUNTS_FOR as ACUTE_COUNTS_FOR
from weatherglass.knowledge.emergencies.crises import CRISES
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES_BY_TRIGGER
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal

#: Critical illness by its name, besides shock; sepsis and injury, which are often slight, are left out.
_CRITICAL = (
    ConditionKind.CARDIAC_ARREST,
    ConditionKind.DROWNING,
    ConditionKind.ANAPHYLAXIS,
    ConditionKind.SEIZURES_GOING_ON,
    ConditionKind.CARBON_MONOXIDE,
)
#: What a pulse oximeter takes for oxygen, or for its lack; by co-oximetry, from where it is asked about.
_MISLEADING = (ConditionKind.CARBON_MONOXIDE, ConditionKind.METHAEMOGLOBIN)
_MISLEADS = tuple(sign for one in CRISES if not one.named.isdisjoint(_MISLEADING) for sign in one.signs)
#: The vital signs that have a range usual for the patient.
VITAL_SIGNS = (
    Signal.RESPIRATION_RATE,
    Signal.SPO2,
    Signal.SYSTOLIC_PRESSURE,
    Signal.PULSE,
    Signal.TEMPERATURE,
)

#: What slows breathing, by the rules that hold it.
_SEDATING = frozenset(
    each.value for rule in RULES_BY_TRIGGER[Trigger.REDUCED_CONSCIOUSNESS] for each in rule.classes
)


class BreathAndBlood(Rounds):
    """What is breathed, what the gases show, and whether blood gets where it should."""

    @cached_property
    def usual(self) -> dict[Signal, UsualRange]:
        """What is usual for this patient, for each vital sign with enough readings."""
        found = {s: usual_range(self.record.series(s).items, self.as_of) for s in VITAL_SIGNS}
        return {signal: usual for signal, usual in found.items() if usual is not None}

    @cached_property
    def pressure(self) -> tuple[PressureStep, ...]:
        """Every systolic pressure against the own normal of its time, oldest first."""
        return pressure_course(self.record.series(Signal.SYSTOLIC_PRESSURE).items)

    @property
    def pressure_now(self) -> PressureStep | None:
        """The newest systolic pressure, None where it is older than the look-back."""
        newest = self.pressure[-1] if self.pressure else None
        is_old = newest is None or self.as_of - newest.reading.at > self.choices.look_back
        return None if is_old else newest

    @cached_property
    def dysreflexia(self) -> Dysreflexia | None:
        """A high pressure that an injury of the spinal cord explains; None where there is none now."""
        return dysreflexia(self.record, self.pressure) if self.pressure_now is not None else None

    @cached_property
    def pressure_is_low_as_usual(self) -> bool:
        """Whether the newest systolic pressure is low and no lower than it has long been."""
        return bool(self.pressure) and self.was_low_as_usual(self.pressure[-1])

    def was_low_as_usual(self, step: PressureStep) -> bool:
        """Tell whether a systolic pressure is low and no lower than what is usual now."""
        usual = self.usual.get(Signal.SYSTOLIC_PRESSURE)
        was_ill = self.own_pressures_are_of_an_illness
        return self.may_use_news2 and is_low_as_usual(self.record, step, usual, was_ill=was_ill)

    @cached_property
    def own_pressures_are_of_an_illness(self) -> bool:
        """Whether all own pressures are of a stay in which something lowered them, or the score was high."""
        usual, since = self.usual.get(Signal.SYSTOLIC_PRESSURE), self.watched_since
        if usual is None or since is None or usual.first.at < since or self.pressure_of_an_old_cord:
            return False
        return self.pressure_may_be_lowered(since) or self.scored_high(usual.first.at, usual.last.at)

    @property
    def low_pressure_is_tolerated(self) -> bool:
        """Whether a low pressure is tolerated: flow is kept, or an old cord injury or a heart explains it."""
        if not self.pressure_is_low_as_usual:
            return False
        flow = self.perfusion
        own = self.pressure_of_an_old_cord or self.pressure_of_a_failing_heart
        explained = own is not None and flow.alert_kept is Kept.YES
        return flow.is_kept or (explained and not flow.is_failing)

    @cached_property
    def has_unsure_low_pressure(self) -> bool:
        """Whether the newest systolic pressure is known as an interval alone, and may be low and unusual."""
        newest = self.record.series(Signal.SYSTOLIC_PRESSURE).recent(self.as_of, self.choices.look_back)
        if newest is None or newest.is_exact or not self.has_adult_limits:
            return False
        if sign_met(self.signs["systolic-low"], newest) is None:
            return False
        worst = PressureStep(replace(newest, value=lowest_of(newest), spread=None), None, False, True)
        return not self.was_low_as_usual(worst)

    @cached_property
    def shock(self) -> Shock | None:
        """A low systolic pressure of a day; one that is low as usual only where blood flow fails."""
        items = self.record.series(Signal.SYSTOLIC_PRESSURE).items
        telling = [one for one in items if one.is_exact or self._is_surely_low(one)]
        first = first_of_run(telling, self._is_surely_low)
        if first is None or self.as_of - telling[-1].at > self.choices.look_back:
            return None
        is_usual = telling[-1].is_exact and self.pressure_is_low_as_usual
        return None if is_usual and not self._blood_flow_fails else Shock(telling[-1], first.at)

    def _is_surely_low(self, pressure: Measurement) -> bool:
        """Tell whether a pressure is surely low, at the patient's age."""
        if self.has_adult_limits:
            return is_surely_low(pressure)
        return sign_met(self.signs["systolic-low"], pressure) is not None

    @property
    def _blood_flow_fails(self) -> bool:
        """Whether a sign of blood flow is not kept; drowsiness that carbon dioxide may explain is none."""
        flow = self.perfusion
        is_drowsy = flow.alert_kept is Kept.NO and not self.may_keep_carbon_dioxide
        return is_drowsy or flow.urine_kept is Kept.NO or flow.lactate_is_raised

    @cached_property
    def needs_oxygen_first(self) -> bool:
        """Whether shock, coma or another critical illness of the last day asks for oxygen first.

        Who is not roused by voice, and in no disease that keeps carbon dioxide, keeps it for want of breath.
        """
        is_in_coma = self.unroused_since is not None and not self.is_at_risk_of_keeping
        return is_in_coma or self.shock is not None or self._was_written(*_CRITICAL)

    def _was_written(self, *kinds: ConditionKind) -> bool:
        """Tell whether any of these was written down in the last day, or without a date."""
        return any(
            one.at is None or self.as_of - one.at <= ACUTE_COUNTS_FOR.length
            for one in self.record.told_of(*kinds)
        )

    @cached_property
    def perfusion(self) -> Perfusion:
        """What shows whether blood gets where it should."""
        return perfusion(
            self.record,
            self.alertness,
            self.kidneys.urine,
            self.kidneys.weight,
            self.as_of,
            counts_for=self.choices.gas_counts_for,
        )

    # Gases

    @cached_property
    def arterial_gases(self) -> tuple[GasSample, ...]:
        """Every arterial or capillary sample, and every one whose vessel is not stated, oldest first."""
        return gas_samples(self.record, ARTERIAL)

    @cached_property
    def venous_gases(self) -> tuple[GasSample, ...]:
        """Every venous sample, oldest first."""
        return gas_samples(self.record, VENOUS)

    @cached_property
    def gases(self) -> tuple[GasSample, ...]:
        """Every sample of whatever vessel, oldest first."""
        return tuple(sorted((*self.arterial_gases, *self.venous_gases), key=lambda one: one.ph.at))

    @property
    def newest_gas(self) -> GasSample | None:
        """The newest of them, while it counts."""
        return recent_sample(self.gases, self.as_of, self.choices.gas_counts_for)

    @cached_property
    def bicarbonate_of_gas(self) -> Measurement | None:
        """The bicarbonate that the newest blood gas is told as far off by, None where it is not."""
        newest = self.newest_gas
        if newest is None:
            return None
        is_hidden = not newest.is_acid and not newest.is_venous and newest.is_below_expected
        is_told = newest.metabolic > Acid.LOW or is_hidden or newest.is_severely_alkaline
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

    @property
    def _keeps_by_gas(self) -> bool:
        """Whether the newest gas asks for less oxygen: not in shock, nor where a machine breathes."""
        is_kept = self.keeps_carbon_dioxide is not None and self.ventilation is None
        return is_kept and not self.needs_oxygen_first

    @cached_property
    def is_known_to_keep(self) -> bool:
        """Whether carbon dioxide is known to be kept, from before or by the newest gas.

        Obstructive disease that lives on oxygen at home counts as known: its range is the same (BTS 2017).
        """
        known = self.record.known_of
        lives_on_oxygen = known(ConditionKind.COPD) and known(ConditionKind.HOME_OXYGEN)
        return bool(known(ConditionKind.HYPERCAPNIA) or lives_on_oxygen) or self._keeps_by_gas

    @property
    def may_keep_carbon_dioxide(self) -> bool:
        """Whether the newest gas shows carbon dioxide kept, or a risk of it is recorded."""
        return self.is_at_risk_of_keeping or self.keeps_carbon_dioxide is not None

    @property
    def is_at_risk_of_keeping(self) -> bool:
        """Whether a disease is recorded in which carbon dioxide may be kept."""
        return self.record.has(ConditionKind.COPD, ConditionKind.HYPERCAPNIA)

    @cached_property
    def retention(self) -> Retention | None:
        """Respiratory acidosis in the newest gas that is not venous; None where there is none."""
        return retention(
            self.arterial_gases,
            self.as_of,
            self.choices.gas_counts_for,
            is_likely=self.is_likely_to_keep,
        )

    @cached_property
    def has_sedatives(self) -> bool:
        """Whether anything on the chart, or only just ended, slows breathing."""
        return any(not _SEDATING.isdisjoint(line.classes) for line in self.drug_chart.exposed)

    @property
    def is_likely_to_keep(self) -> bool:
        """Whether acid blood of an unnamed vessel is taken as arterial blood that keeps carbon dioxide."""
        if self.is_at_risk_of_keeping:
            return True
        on_oxygen = self.oxygen_now is not None and self.oxygen_now.is_oxygen
        return on_oxygen or self.has_sedatives or self.perfusion.alert_kept is Kept.NO

    @cached_property
    def asthma_is_acute(self) -> bool:
        """Whether an attack of asthma is recorded, and no chronic obstructive disease."""
        return asthma_is_acute(self.record, self.as_of)

    @cached_property
    def asthma_may_be_acute(self) -> bool:
        """Whether asthma is recorded, without an attack, in somebody who now breathes fast."""
        if not self.record.has(ConditionKind.ASTHMA) or self.record.known_of(ConditionKind.COPD):
            return False
        newest = self.record.series(Signal.RESPIRATION_RATE).recent(self.as_of, self.choices.look_back)
        return newest is not None and blood_gas.ASTHMA_BREATHING.is_met_by(newest.value)

    # Oxygen

    @cached_property
    def oxygen_course(self) -> tuple[OxygenPoint, ...]:
        """What was breathed, round by round, where that is known."""
        return oxygen_course(self.sets)

    @cached_property
    def oxygen_now(self) -> OxygenPoint | None:
        """What is breathed now, None where nothing tells it or it was too long ago."""
        newest = self.oxygen_course[-1] if self.oxygen_course else None
        is_old = newest is None or self.as_of - newest.at > self.choices.look_back
        return None if is_old else newest

    @cached_property
    def oxygen_need(self) -> OxygenNeed | None:
        """What is breathed now against the least of the day before, None where nothing fresh tells it."""
        return oxygen_need(self.oxygen_course, self.as_of, self.choices.look_back)

    @cached_property
    def saturation(self) -> SaturationCourse | None:
        """Every saturation against its range; children have no published one."""
        if self.oxygen_target is None and self.is_child:
            return None
        keeps = self.is_at_risk_of_keeping and not self.needs_oxygen_first
        return saturation_course(
            self.sets, self.oxygen_course, self.oxygen_target, keeps=keeps or self._keeps_by_gas
        )

    @cached_property
    def hypoxaemia(self) -> Hypoxaemia | None:
        """A low pO2 in the newest sample that is not venous; None where it is not low."""
        return hypoxaemia(self.record, self.as_of, self.oxygen_target, counts_for=self.choices.gas_counts_for)

    @cached_property
    def low_oxygen(self) -> LowOxygen | None:
        """Too little oxygen in the blood now, by the saturation or by a gas; None where nothing says so."""
        return low_oxygen(self, self.hypoxaemia, keeps=self.is_known_to_keep)

    @cached_property
    def saturation_misleads(self) -> bool:
        """Whether carbon monoxide or methaemoglobin of the last day makes a pulse oximeter read wrongly."""
        return self._was_written(*_MISLEADING) or any(
            self.newest_beyond(signal, reaches(cutoff), ACUTE_COUNTS_FOR.length)
            for signal, cutoff in _MISLEADS
        )

    @cached_property
    def oxygen_excess(self) -> OxygenExcess | None:
        """What is given above the range of saturation now."""
        if self.saturation is None or self.saturation_misleads:
            return None
        return self.saturation.excess(self.as_of, self.choices.look_back)

    @cached_property
    def has_acidosis_of_oxygen(self) -> bool:
        """Whether respiratory acidosis stands beside too much oxygen: then the two are said as one."""
        gas, excess = self.keeps_carbon_dioxide, self.oxygen_excess
        if gas is None or excess is None or self.ventilation is not None:
            return False
        return gas.is_acid and excess.is_narrow
