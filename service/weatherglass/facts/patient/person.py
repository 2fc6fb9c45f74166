"""Who the patient is at one moment: age, pregnancy, stays, death, and the decisions on record."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.pregnancy import is_pregnant_or_recently, may_be_pregnant
from weatherglass.facts.series.runs import Run, state_of
from weatherglass.facts.treatment_limits import Allowed, Treatment, allowed
from weatherglass.facts.whereabouts import (
    Presence,
    Whereabouts,
    discharged_at,
    open_stays,
    presence,
    whereabouts,
)
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import single_signs
from weatherglass.model.findings import State
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.once import cached_property
from weatherglass.model.record.care import OPERATIONS, Directive, DirectiveKind, Done
from weatherglass.model.record.medicines import OrderStatus, Route
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import BaselineConfusion, CodedSignal, Consciousness, Signal
from weatherglass.model.words.clauses import AgeLimit
from weatherglass.model.words.clock_words import Clock

_SCALE_2_TARGET = (
    news2_2017.SCALE_2_LOWEST_TARGET.value,
    news2_2017.SCALE_2_HIGHEST_TARGET.value,
)
#: Ours: what runs under the skin for the comfort of the dying.
_RELIEVE = frozenset({MedicineClass.OPIOID.value, MedicineClass.BENZODIAZEPINE.value})


class Person:
    """The record as it stands at one moment, and whose it is.

    Attributes:
        record: The record as it stood at `as_of`; nothing later is visible.
        choices: What the site has chosen.
    """

    def __init__(self, record: Record, as_of: datetime, choices: LocalChoices) -> None:
        """Take a record that has already been cut off at `as_of`."""
        self.record = record
        self.as_of = as_of
        self.choices = choices

    # Who

    @cached_property
    def age(self) -> int | None:
        """Age in completed years, None when the birth date is not recorded."""
        return self.record.subject.age_at(self.local(self.as_of))

    @property
    def age_in_months(self) -> int | None:
        """Age in completed months where the person lives, None when the birth date is not recorded."""
        return self.record.subject.age_in_months_at(self.local(self.as_of))

    @property
    def age_in_days(self) -> int | None:
        """Age in days where the person lives, None when the birth date is not recorded."""
        return self.record.subject.age_in_days_at(self.local(self.as_of))

    @property
    def days_lived(self) -> int | None:
        """Whole days since the hour of birth; where only its day is recorded the age in days."""
        born_at = self.record.subject.born_at
        return (self.as_of - born_at) // timedelta(days=1) if born_at is not None else self.age_in_days

    def is_below(self, limit: AgeLimit) -> bool:
        """Tell whether the patient is known to be younger; who has no age recorded is taken as an adult."""
        return self.age is not None and self.age < limit.years

    @cached_property
    def may_be_a_child(self) -> bool:
        """Whether only part of the birth date is recorded, and with the rest of it this may be a child."""
        youngest = self.record.subject.youngest_age_at(self.local(self.as_of))
        return not self.is_child and youngest is not None and youngest < single_signs.ADULT_FROM.years

    @property
    def is_child(self) -> bool:
        """Whether limits of adults do not hold by age."""
        return self.is_below(single_signs.ADULT_FROM)

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
    def may_be_pregnant(self) -> bool:
        """Whether no pregnancy is recorded of a woman who may be, and nothing rules one out."""
        return may_be_pregnant(self.record, self.as_of)

    def operated_within(self, length: timedelta) -> Done | None:
        """Return the last operation that ended no longer ago; None where none did."""
        done = reversed(self.record.done(*OPERATIONS))
        return next((one for one in done if self.as_of - one.until <= length), None)

    @cached_property
    def confusion_is_usual(self) -> bool:
        """Whether long-standing confusion is recorded."""
        last = self.record.coded(CodedSignal.BASELINE_CONFUSION).latest
        if last is not None:
            return last.value is BaselineConfusion.LONG_STANDING
        return bool(self.record.known_of(ConditionKind.CHRONIC_CONFUSION))

    @cached_property
    def usual_alertness(self) -> Consciousness:
        """How alert the patient is recorded to be when well."""
        if self.record.known_of(ConditionKind.ROUSED_BY_PAIN_AS_USUAL):
            return Consciousness.PAIN
        by_voice = self.record.known_of(ConditionKind.ROUSED_BY_VOICE_AS_USUAL)
        return Consciousness.VOICE if by_voice else Consciousness.ALERT

    @property
    def may_use_news2(self) -> bool:
        """Whether NEWS2 is meant for this person, by age and pregnancy."""
        return not self.is_below(news2_2017.MINIMUM_AGE) and not self.is_pregnant_or_recently

    @property
    def has_adult_limits(self) -> bool:
        """Whether adult limits of rate and pressure hold: at an unknown age, and in pregnancy at any age."""
        return not self.is_child or self.is_pregnant_or_recently

    @cached_property
    def problems(self) -> Mapping[ConditionKind, tuple[Condition, ...]]:
        """What is recorded and confirmed, active or not, by what it is."""
        found: dict[ConditionKind, list[Condition]] = {}
        for condition in self.record.conditions:
            if condition.confirmed:
                for kind in condition.kinds:
                    found.setdefault(kind, []).append(condition)
        return {kind: tuple(conditions) for kind, conditions in found.items()}

    # Where

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
        return self.record.subject.has_died_by(self.as_of) or self._died_in_a_stay

    @property
    def _died_in_a_stay(self) -> bool:
        """Whether a stay ended with death, and nobody has been measured since."""
        ends = [one.ends for one in self.record.stays if one.ended_in_death and one.ends is not None]
        last = max((at for at in ends if at <= self.as_of), default=None)
        if last is None:
            return False
        newest = (self.record.series(signal).latest for signal in (Signal.PULSE, Signal.RESPIRATION_RATE))
        return all(one is None or one.at <= last for one in newest)

    # What was decided

    def directives(self, kind: DirectiveKind) -> tuple[Directive, ...]:
        """Return the decisions of a kind that are in force, newest first."""
        return self._directives.get(kind, ())

    @cached_property
    def _directives(self) -> Mapping[DirectiveKind, tuple[Directive, ...]]:
        in_force = [
            one
            for one in self.record.directives
            if (one.ends is None or one.ends >= self.as_of)
            and (not one.wants_support or self._has_driver_of_relief)
        ]
        in_force.sort(key=lambda d: (d.at is not None, d.at or self.as_of, d.origin), reverse=True)
        kinds = {one.kind for one in in_force}
        return {kind: tuple(one for one in in_force if one.kind is kind) for kind in kinds}

    @cached_property
    def _has_driver_of_relief(self) -> bool:
        """Whether an opioid or a sedative runs under the skin: undated words of the dying are then of now."""
        return any(
            one.status is OrderStatus.ACTIVE
            and one.in_force_at(self.as_of)
            and one.route is Route.SUBCUTANEOUS
            and one.is_driven
            and not one.medicine.classes.isdisjoint(_RELIEVE)
            for one in self.record.orders
        )

    def allowed(self, treatment: Treatment) -> Allowed:
        """Say what the recorded ceilings leave of a treatment that a finding would suggest."""
        return allowed(self._limiting, treatment)

    @cached_property
    def _limiting(self) -> tuple[Directive, ...]:
        kinds = (DirectiveKind.CEILING, DirectiveKind.END_OF_LIFE, DirectiveKind.ADVANCE_DIRECTIVE)
        return tuple(one for kind in kinds for one in self.directives(kind))

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
    def saturation_floor(self) -> Decimal | None:
        """The lowest saturation that a prescribed target allows, None without one."""
        if self.scale_2_decision is not None:
            return news2_2017.SCALE_2_LOWEST_TARGET.value
        return self.oxygen_target.target_low if self.oxygen_target is not None else None

    # How a finding stands

    def state_since(self, since: datetime | None) -> State | None:
        """Say whether what is there now is new or goes on; None when its beginning is not known."""
        if since is None:
            return None
        return State.NEW if self.as_of - since <= self.choices.new_within else State.CONTINUING

    def state_of(self, run: Run | None) -> State | None:
        """Say what a run makes a finding at this moment; None when it is past and gone."""
        return state_of(
            run,
            self.as_of,
            new_within=self.choices.new_within,
            settled_within=self.choices.settled_within,
        )
