"""The rounds of observations up to one moment: scores, signs that call by themselves, alertness."""

from bisect import bisect_right
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal

from weatherglass.facts.breathing.breathing import unroused_since
from weatherglass.facts.newborn import is_newborn, weeks_when_born_early
from weatherglass.facts.patient.kidneys_now import Kidneys
from weatherglass.facts.rounds.alertness import Alertness, AlteredMind, alertness, altered_mind
from weatherglass.facts.rounds.consciousness import ComaScale, coma_scale_of
from weatherglass.facts.rounds.last_known import last_known
from weatherglass.facts.rounds.scoring import RowResult, SetResult, missing_row, number_row, score_set
from weatherglass.facts.rounds.signs.sign_limits import Limits, child_limits, early_limits, signs_in_use
from weatherglass.facts.rounds.signs.signs_of_life import AbsentRate, absent_rate
from weatherglass.facts.rounds.timeline import ObservationSet, observation_sets, oxygen_of
from weatherglass.facts.series.limits_met import Beyond, beyond, counting, exact
from weatherglass.facts.series.runs import present_run
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
from weatherglass.facts.whereabouts import Presence, in_hospital_since
from weatherglass.knowledge.limits import context_choices as ours
from weatherglass.knowledge.limits.context_choices import GONE_AFTER, STEADY_BESIDE_A_HIGH_SCORE
from weatherglass.knowledge.limits.critical_results import LACTATE
from weatherglass.knowledge.scores import news2_2017
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.signs.child_trends import size_in_a_child
from weatherglass.knowledge.signs.single_signs import COOLED_FOR
from weatherglass.model.findings import MissingReason, Urgency
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement, Series
from weatherglass.model.signals import Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Source

#: What lowers the pressure of who has it: readings of that time alone show nobody's own normal.
_LOWERS_PRESSURE = (
    ConditionKind.SEPSIS,
    ConditionKind.INFECTION,
    ConditionKind.SHOCK,
    ConditionKind.BLEEDING,
)
#: The points of a sign that call by themselves.
_RED = 3
_SCALE_1_ROWS = news2_2017.PARAMETERS

_SCALE_2_ROWS = tuple(
    news2_2017.SPO2_SCALE_2_ON_AIR_ROW if row.key == "spo2-scale-1" else row for row in news2_2017.PARAMETERS
)


class Rounds(Kidneys):
    """What was measured round by round, and what it scores."""

    @cached_property
    def sets(self) -> tuple[ObservationSet, ...]:
        """Every round of observations, oldest first."""
        return observation_sets(
            self.record,
            window=self.choices.observation_set_window,
            carry=self.choices.carry_forward,
            usual=self.usual_alertness,
        )

    def round_at(self, moment: datetime) -> ObservationSet | None:
        """Return the round that a moment belongs to, None where there is none."""
        place = bisect_right(self._starts, moment) - 1
        found = self.sets[place] if place >= 0 else None
        return found if found is not None and moment <= found.last else None

    def is_of_an_earlier_round(self, moment: datetime) -> bool:
        """Tell whether something was measured before the newest round began."""
        return bool(self.sets) and moment < self.sets[-1].start

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
    def signs_are_bygone(self) -> bool:
        """Whether the newest round is of another time: days ago, and before any present stay in hospital."""
        if not self.sets or self.as_of - self.sets[-1].end <= GONE_AFTER.length:
            return False
        came = in_hospital_since(self.record, self.as_of)
        is_before = came is not None and self.sets[-1].end < came
        return self.in_hospital is not Presence.HERE or is_before

    # The score

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

    @property
    def news2_now(self) -> tuple[SetResult, ...]:
        """The rounds scored by NEWS2 where it is for this person and the newest is recent; none otherwise."""
        rounds = self.news2 if self.may_use_news2 else ()
        is_old = not rounds or self.as_of - rounds[-1].observed.end > self.choices.look_back
        return () if is_old else rounds

    def scored_high(self, first: datetime, last: datetime) -> bool:
        """Tell whether a round of a span came to a total that is high."""
        return any(
            trend_limits.SUSTAINED_HIGH.is_met_by(Decimal(one.lowest))
            for one in self.news2
            if first <= one.at <= last
        )

    @cached_property
    def news2_known(self) -> tuple[SetResult, ...]:
        """The same rounds; an open one behind the last whole one holds what was last known before it."""
        rounds = self.news2_now
        filled = last_known(news2_2017.NEWS2, rounds, counts_for=self.choices.look_back)
        return (*rounds[: len(rounds) - len(filled)], *(one.filled for one in filled))

    @cached_property
    def news2_scale_1(self) -> tuple[SetResult, ...]:
        """Every round on SpO2 scale 1; shown beside scale 2 where that is in use."""
        scored = [self._on_scale_1(one) for one in self.sets]
        return tuple(result for result in scored if not result.is_empty)

    def _on_scale_1(self, one: ObservationSet) -> SetResult:
        return self._with_its_tier(
            score_set(news2_2017.NEWS2, one, _SCALE_1_ROWS, confusion_is_usual=self.confusion_is_usual)
        )

    def on_scale_2(self, one: ObservationSet) -> SetResult:
        """Score a round on SpO2 scale 2, whatever was decided."""
        return self._with_its_tier(
            score_set(
                news2_2017.NEWS2,
                one,
                _SCALE_2_ROWS,
                special={"spo2-scale-2": spo2_on_scale_2},
                confusion_is_usual=self.confusion_is_usual,
            )
        )

    def pressure_may_be_lowered(self, since: datetime) -> bool:
        """Tell whether an infection, bleeding or shock may lower the pressure from a moment on."""
        lately = since - GONE_AFTER.length
        return any(one.at is None or one.at >= lately for one in self.record.told_of(*_LOWERS_PRESSURE))

    @cached_property
    def pressure_of_an_old_cord(self) -> UsualRange | None:
        """The own pressures where an old injury of the cord keeps them low; None elsewhere."""
        injuries = self.record.known_of(ConditionKind.SPINAL_CORD_INJURY)
        if not any(
            one.at is not None and self.as_of - one.at > ours.OLD_CORD_INJURY.length for one in injuries
        ):
            return None
        return self._long_low_pressure

    @cached_property
    def heart_alone_lowers_pressure(self) -> bool:
        """Whether a failing heart is known, and nothing of late beside it may lower the pressure.

        That is an infection, bleeding, shock, a raised lactate or an injury of the kidneys.
        """
        if not self.record.known_of(ConditionKind.HEART_FAILURE) or self.aki_now.stage:
            return False
        if self.pressure_may_be_lowered(self.as_of):
            return False
        lactate = self.record.series(Signal.LACTATE).recent(self.as_of, ours.LONG_STANDING_FOR.length)
        return lactate is None or not LACTATE[-1].cutoff.is_met_by(lactate.value)

    @property
    def pressure_of_a_failing_heart(self) -> UsualRange | None:
        """The own pressures where a failing heart keeps them low and the kidneys bear it; None elsewhere."""
        is_borne = self.heart_alone_lowers_pressure and self.creatinine_is_kept is not None
        return self._long_low_pressure if is_borne else None

    def is_steady_in_heart_failure(self, pressure: Measurement) -> bool:
        """Tell whether a failing heart alone lowers a pressure, and no reading of days was far above it."""
        before = self.record.series(Signal.SYSTOLIC_PRESSURE).within(
            pressure.at - ours.STEADY_FOR.length, pressure.at
        )
        earlier = [one.value for one in before if one.at < pressure.at]
        if not earlier or not self.heart_alone_lowers_pressure:
            return False
        return ours.STEADY_IN_HEART_FAILURE.is_met_by(max(earlier) - pressure.value)

    @cached_property
    def creatinine_is_kept(self) -> Measurement | None:
        """The newest creatinine where it is of the last day and, beside earlier ones, shows no injury."""
        newest = self.kidneys.injury.creatinine
        is_kept = newest is not None and newest.stage == 0 and not self.aki_now.stage
        if newest is None or not is_kept or newest.result.remarks:
            return None
        is_new = self.as_of - newest.result.at <= ours.LONG_STANDING_FOR.length
        return newest.result if is_new else None

    @property
    def _long_low_pressure(self) -> UsualRange | None:
        usual = usual_range(self.record.series(Signal.SYSTOLIC_PRESSURE).items, self.as_of)
        if usual is None or not ours.LOW_AS_USUAL.is_met_by(usual.median):
            return None
        return usual if usual.spans >= ours.LONG_STANDING_FOR.length else None

    def _with_its_tier(self, one: SetResult) -> SetResult:
        """Return a round whose only 3 is the pressure of an old cord injury or a heart by its total."""
        is_red = one.highest_single == _RED
        usual = (self.pressure_of_an_old_cord or self.pressure_of_a_failing_heart) if is_red else None
        pressure = one.observed.number(Signal.SYSTOLIC_PRESSURE)
        if usual is None or pressure is None or not ours.NEAR_USUAL.is_met_by(usual.median - pressure.value):
            return one
        red = [row.signal for row, each in one.scored if each.points == _RED]
        if red != [Signal.SYSTOLIC_PRESSURE]:
            return one
        return replace(one, tier=news2_2017.NEWS2.tier_for(total=one.lowest, highest_single=0))

    # Steady trends

    def steady(self, signal: Signal) -> SteadyCourse | None:
        """Return the steady trend of a vital sign, where NEWS2, pregnancy or age tells how large it is."""
        readings = counting(self.record.series(signal).items, self.as_of, self.choices.look_back)
        if not readings:
            return None
        if self.may_use_news2:
            size = costs_points(signal)
        elif self.is_pregnant_or_recently:
            size = harms_in_pregnancy(signal)
        else:
            months = self.age_in_months
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
        return Urgency.ROUTINE if self._score_has_said_it else Urgency.PROMPT

    @property
    def _score_has_said_it(self) -> bool:
        newest = self.news2[-1] if self.news2 and self.may_use_news2 else None
        return newest is not None and news2_2017.URGENT_RESPONSE.is_met_by(Decimal(newest.lowest))

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
        if self._score_has_said_it:
            return (*STEADY_SOURCES, STEADY_BESIDE_A_HIGH_SCORE.source)
        if self.may_use_news2:
            return STEADY_SOURCES
        return STEADY_SOURCES_IN_PREGNANCY if self.is_pregnant_or_recently else STEADY_SOURCES_IN_CHILDREN

    # Single signs

    @cached_property
    def is_cooled_on_purpose(self) -> bool:
        """Whether the body is being cooled to protect the brain, or warmed again after it."""
        return any(
            one.at <= self.as_of < (one.ended or one.at + COOLED_FOR.length)
            for one in self.record.done(ProcedureKind.COOLING)
        )

    @cached_property
    def signs(self) -> Limits:
        """The limits of the signs that call by themselves, by key, the site's own among them."""
        months = self.age_in_months
        own = signs_in_use(self.choices)
        if self.has_adult_limits or months is None:
            return own
        weeks = weeks_when_born_early(self.record) if is_newborn(self.record, self.as_of) else None
        return {**own, **child_limits(months), **(early_limits(weeks) if weeks is not None else {})}

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
    def not_alert_since(self) -> datetime | None:
        """Since when every round has shown less than alert; None where the newest one does not."""
        shown = self.alertness
        not_alert = [one.value is not Consciousness.ALERT for one in shown]
        run = present_run([one.began for one in shown], not_alert)
        return run.since if run is not None else None

    @cached_property
    def altered_mind(self) -> AlteredMind | None:
        """How the mind is altered in the newest round of the look-back; None under sedation on purpose."""
        return self.altered_mind_within(self.choices.look_back)

    def altered_mind_within(self, counts_for: timedelta) -> AlteredMind | None:
        """Return how the mind is altered in the newest round, where that is no older than this."""
        course = self.alertness
        if self.is_sedated or not course or self.as_of - course[-1].one.end > counts_for:
            return None
        return altered_mind(course, self.not_alert_since)

    @cached_property
    def unroused_since(self) -> datetime | None:
        """Since when nothing but pain, or nothing at all, rouses the patient; None where that is not so."""
        return None if self.ventilation is not None else unroused_since(self.alertness, self.as_of)

    @cached_property
    def coma_scales(self) -> tuple[ComaScale, ...]:
        """The coma scale of every round in which it was observed, oldest first; none under sedation."""
        asleep = self.ventilation.since if self.ventilation is not None and self.is_sedated else None
        return tuple(scale for one, scale in self._coma_scales if asleep is None or one.end < asleep)

    @property
    def coma_totals_at_all(self) -> tuple[Measurement, ...]:
        """Every total of the coma scale, recorded or added up, also of who is sedated; oldest first."""
        return tuple(scale.measured for _, scale in self._coma_scales)

    @cached_property
    def _coma_scales(self) -> tuple[tuple[ObservationSet, ComaScale], ...]:
        found = ((one, coma_scale_of(one)) for one in self.sets)
        return tuple((one, scale) for one, scale in found if scale and scale.measured.at >= one.start)

    def series(self, signal: Signal) -> Series[Measurement]:
        """Return the values of a signal; of the coma scale the totals, added up where need be."""
        if signal is Signal.GCS_TOTAL:
            return self._coma_totals
        return self.record.series(signal)

    def exact(self, signal: Signal, counts_for: timedelta) -> tuple[Measurement, ...]:
        """Return the exact values of a signal, oldest first; none where the newest no longer counts."""
        known = self._exact.get(signal)
        if known is None:
            known = self._exact[signal] = exact(self.series(signal).items)
        return counting(known, self.as_of, counts_for)

    @cached_property
    def _exact(self) -> dict[Signal, tuple[Measurement, ...]]:
        return {}

    def newest_beyond(
        self, signal: Signal, is_met: Callable[[Measurement], bool], counts_for: timedelta
    ) -> Beyond | None:
        """Return the newest exact value where it meets a condition and still counts, and since when."""
        return beyond(self.exact(signal, counts_for), is_met, self.as_of, counts_for)

    @cached_property
    def _coma_totals(self) -> Series[Measurement]:
        return Series([scale.measured for scale in self.coma_scales])

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
        return missing_row(news2_2017.SPO2_SCALE_2_ON_OXYGEN_ROW)
    if on_air.points is not None and on_air.points == on_oxygen.points:
        return on_air
    return RowResult(
        None,
        min(on_air.lowest, on_oxygen.lowest),
        max(on_air.highest, on_oxygen.highest),
        (measured.origin,),
        MissingReason.UNKNOWN_OXYGEN,
    )
