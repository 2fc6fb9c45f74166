"""Everything about one person's kidneys at one moment, each part worked out once."""

from datetime import datetime
from decimal import Decimal

from weatherglass.facts.kidneys.course import Episode, LateRecognition, last_episode, recognised_late
from weatherglass.facts.kidneys.estimates import Estimate, clearance, estimated_baseline, filtration_rate
from weatherglass.facts.kidneys.injury import NO_INJURY, AkiNow, Injury, find_injury, speaks_for
from weatherglass.facts.kidneys.staging import KidneyStage, stage_kdigo, stage_nhs
from weatherglass.facts.kidneys.therapy import Therapy
from weatherglass.facts.kidneys.urine import UrineChart, UrineStage, stage_urine
from weatherglass.facts.kidneys.windows import ReferenceMethod, usable, worst_last
from weatherglass.facts.series.runs import last_run
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline as baseline
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.model.findings import Missing
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.times.known_times import earliest


class KidneyChart:
    """One person's kidneys at one moment.

    Attributes:
        record: The record as it stood at `as_of`.
        choices: What the site has chosen.
    """

    def __init__(self, record: Record, as_of: datetime, choices: LocalChoices, *, pregnant: bool) -> None:
        """Take a record that has already been cut off at `as_of`."""
        self.record = record
        self.as_of = as_of
        self.choices = choices
        self._pregnant = pregnant
        self._rates: dict[Measurement, Estimate | Missing] = {}

    def age_at(self, moment: datetime) -> int | None:
        """Return the age in completed years where the person lives."""
        return self.record.subject.age_at(moment.astimezone(self.record.zone))

    def _is_adult_at(self, moment: datetime) -> bool:
        age = self.age_at(moment)
        return age is None or age >= nhs.ADULT_AGE.years

    # Therapy and creatinine

    @cached_property
    def therapy(self) -> Therapy:
        """Renal replacement therapy on record."""
        return Therapy(self.record)

    @cached_property
    def results(self) -> tuple[Measurement, ...]:
        """Every creatinine that can be compared and was not taken on therapy, oldest first."""
        found = worst_last(usable(self.record.series(Signal.CREATININE).items), self.record.zone)
        if not self.therapy.sessions:
            return found
        return tuple(one for one in found if not self.therapy.on(one.at))

    @cached_property
    def newest(self) -> Measurement | None:
        """The newest creatinine, whether it can be compared or not."""
        latest = self.record.series(Signal.CREATININE).latest
        # Of one date nobody may know which came last: then the order of the results says it.
        return self.results[-1] if latest in self.results[-2:] else latest

    @cached_property
    def kdigo(self) -> tuple[KidneyStage, ...]:
        """Every creatinine off therapy with its KDIGO stage, oldest first."""
        baseline = None
        if self._may_estimate:
            baseline = estimated_baseline(age=self.age_at(self.as_of), sex=self.record.subject.sex)
        return stage_kdigo(
            self.results, zone=self.record.zone, estimated=baseline, child_rate=self._child_rate
        )

    @property
    def _may_estimate(self) -> bool:
        return (
            self.choices.use_estimated_baseline
            and not self._pregnant
            and not self.record.told_of(ConditionKind.CHRONIC_KIDNEY_DISEASE, ConditionKind.DIALYSIS)
        )

    def _child_rate(self, result: Measurement) -> Decimal | None:
        age = self.age_at(result.at)
        if age is None or age >= kdigo.ADULT_AGE.years:
            return None
        rate = self.rate_of(result)
        return rate.value if isinstance(rate, Estimate) else None

    @cached_property
    def nhs(self) -> tuple[KidneyStage, ...]:
        """Every creatinine off therapy with its AKI warning stage, oldest first.

        Results of the first 28 days of life are left out.
        """
        subject, zone = self.record.subject, self.record.zone
        results = self.results
        youngest = subject.age_in_days_at(results[0].at.astimezone(zone)) if results else None
        if youngest is not None and youngest < nhs.MINIMUM_AGE.days:
            results = tuple(r for r in results if not self.is_newborn_at(r.at))
        by_calendar = self.choices.nhs_calendar_days
        if results and self._is_adult_at(results[0].at):
            return stage_nhs(results, zone=zone, by_calendar=by_calendar)  # And an adult ever after.
        return stage_nhs(results, is_adult=self._is_adult_at, zone=zone, by_calendar=by_calendar)

    def is_newborn_at(self, moment: datetime) -> bool:
        """Tell whether the person was younger than 29 days."""
        days = self.record.subject.age_in_days_at(moment.astimezone(self.record.zone))
        return days is not None and days < nhs.MINIMUM_AGE.days

    # Urine

    @cached_property
    def urine(self) -> UrineChart:
        """Charted urine."""
        return UrineChart(self.record.series(Signal.URINE_VOLUME), self.record.series(Signal.URINE_RATE))

    @cached_property
    def weight(self) -> Measurement | None:
        """The newest recorded weight that is a number."""
        weights = self.record.series(Signal.WEIGHT).items
        return next((w for w in reversed(weights) if w.is_exact and w.value > 0), None)

    @cached_property
    def urine_stages(self) -> tuple[UrineStage, ...]:
        """Every charted entry with its KDIGO stage by urine, oldest first."""
        least = ours.LEAST_ADULT_WEIGHT.value if self._is_adult_at(self.as_of) else None
        return stage_urine(self.urine, self.weight, least_weight=least)

    # Together

    @cached_property
    def injury(self) -> Injury:
        """The stage by KDIGO at the moment of the review."""
        return find_injury(
            self.kdigo,
            self.urine_stages,
            self.therapy,
            self.as_of,
            creatinine_stands=self.choices.laboratory_counts_for,
            urine_stands=self.choices.look_back,
        )

    def speaks_for_now(self, result: Measurement) -> bool:
        """Tell whether a creatinine still speaks for the moment of the review, as the site has chosen."""
        return speaks_for(result, self.as_of, self.choices.laboratory_counts_for)

    @cached_property
    def warning(self) -> KidneyStage | None:
        """The newest result with its AKI warning stage, None when it is too old to speak of now."""
        newest = self.nhs[-1] if self.nhs else None
        return newest if newest is not None and self.speaks_for_now(newest.result) else None

    @cached_property
    def disease_stage(self) -> int:
        """The stage of acute kidney disease, of 7 to 90 days; 0 when none, or nothing recent shows it."""
        episode = self.episode
        if episode is None or not self.speaks_for_now(episode.newest):
            return 0
        return episode.disease_stage

    @cached_property
    def now(self) -> AkiNow:
        """Acute kidney injury as it stands: what every question about it reads."""
        if self.therapy.is_long_term_at(self.as_of):
            return NO_INJURY
        found = (self.injury.stage, self.warning.stage if self.warning is not None else None)
        stage = max((one for one in (*found, self.disease_stage) if one), default=0)
        if not stage:
            return NO_INJURY
        is_disease = stage > max(each or 0 for each in found)
        since, stage_since = self.injured_since(1), self.injured_since(stage)
        # A date alone stands at its noon, and may belong before what has a time.
        first = earliest((since, stage_since))
        return AkiNow(stage, first, stage_since, is_disease)

    def injured_since(self, stage: int) -> datetime | None:
        """Return since when the injury has been at this stage or above, by whatever shows it."""
        histories = (self.injury.history, tuple((one.result.at, one.stage or 0) for one in self.nhs))
        runs = [last_run([at for at, _ in past], [value >= stage for _, value in past]) for past in histories]
        began = [run.since for run in runs if run is not None and run.is_present]
        if self.episode is not None and self.disease_stage >= stage:
            began.append(self.episode.began)
        return min(began, default=None)

    @cached_property
    def episode(self) -> Episode | None:
        """The last injury by creatinine within 90 days, present or past."""
        return last_episode(self.kdigo)

    @cached_property
    def late_recognition(self) -> LateRecognition | None:
        """An injury that only its recovery shows."""
        if self.episode is not None and self.episode.recovering_since is not None:
            return None  # The fall belongs to an injury that was seen.
        found = recognised_late(self.kdigo, self.therapy)
        grafts = self.record.done(ProcedureKind.TRANSPLANT) if found is not None else ()
        if found is not None and any(found.newest.at - one.at <= ours.NEW_GRAFT.length for one in grafts):
            return None  # It is the graft that works, not an injury that heals.
        return found

    # Function

    def rate_of(self, result: Measurement) -> Estimate | Missing:
        """Estimate the filtration rate from one result."""
        known = self._rates.get(result)
        if known is None:
            known = self._rates[result] = self._rate_of(result)
        return known

    def _rate_of(self, result: Measurement) -> Estimate | Missing:
        heights = self.record.series(Signal.HEIGHT)
        return filtration_rate(
            result,
            age=self.age_at(result.at),
            sex=self.record.subject.sex,
            height=heights.last_by(result.at) or (heights.items[0] if heights.items else None),
            equation=self.choices.egfr_equation,
        )

    def clearance_of(self, result: Measurement) -> Estimate | None:
        """Estimate creatinine clearance from one result and the newest weight."""
        return clearance(result, age=self.age_at(result.at), sex=self.record.subject.sex, weight=self.weight)

    @cached_property
    def unsteady_because(self) -> tuple[str, ...]:
        """Why no estimate of kidney function can be relied on; empty when nothing speaks against it."""
        reasons = []
        if self.now.is_disease:
            reasons.append("acute kidney disease")
        elif self.now.stage:
            reasons.append("criteria of acute kidney injury are met")
        elif any(one.stage for one in (*self.kdigo[-1:], *self.nhs[-1:])):
            reasons.append("criteria of acute kidney injury were met")  # And nothing newer is known.
        elif self.episode is not None and self.episode.recovering_since is not None:
            reasons.append("creatinine is still changing after acute kidney injury")
        if self.therapy.on(self.as_of):
            reasons.append("renal replacement therapy is recorded")
        if self._pregnant:
            reasons.append("pregnancy")
        return tuple(reasons)

    @cached_property
    def is_chronic(self) -> bool:
        """Whether chronic disease is recorded, or the rate was below 60 for three months before this week."""
        if self.record.known_of(ConditionKind.CHRONIC_KIDNEY_DISEASE):
            return True
        newest = self.nhs[-1] if self.nhs else None
        if newest is None:
            return False
        this_week = newest.result.at - kdigo.RATIO_WINDOW.length
        earlier = sorted((one for one in self.results if one.at < this_week), key=lambda one: one.at)
        if not earlier or earlier[-1].at - earlier[0].at < baseline.CHRONIC_FOR.length:
            return False  # No rate has to be worked out where the results do not reach so far.
        medians = [
            r
            for r in (newest.reference, newest.other)
            if r is not None and r.method is ReferenceMethod.MEDIAN_YEAR
        ]
        if not medians or not self._is_low(replace(medians[0].results[-1], value=medians[0].value)):
            return False
        first = next((one.at for one in earlier if self._is_low(one)), None)
        last = next((one.at for one in reversed(earlier) if self._is_low(one)), None)
        return first is not None and last is not None and last - first >= baseline.CHRONIC_FOR.length

    def _is_low(self, result: Measurement) -> bool:
        rate = self.rate_of(result)
        return isinstance(rate, Estimate) and baseline.CHRONIC_BELOW.is_met_by(rate.value)
