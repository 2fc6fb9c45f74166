"""Rules that stand in words: what each says is what is done, at its boundary.

Each test names the rule that it checks; its publication is the one that the rule carries. A rule that
a finding rests on is among its sources, and only there.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, ago, bedside, chart, condition, findings, reading, rounds, scores, stage
from weatherglass.facts.kidneys.urine import UrineChart
from weatherglass.facts.rounds.consciousness import consciousness_of
from weatherglass.facts.whereabouts import Whereabouts
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys import kidney_baseline as baseline
from weatherglass.knowledge.kidneys import kidney_choices as ours
from weatherglass.knowledge.kidneys import nhs_aki_2014 as nhs
from weatherglass.knowledge.limits import context_choices
from weatherglass.knowledge.scores import news2_2017, score_choices
from weatherglass.knowledge.scores.points import organ_failure
from weatherglass.knowledge.ward import intensive_care
from weatherglass.model.findings import AkiFinding, Finding, Kind
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import CarePlace, Procedure, ProcedureKind, Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Series
from weatherglass.model.signals import BaselineConfusion, CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex
from weatherglass.model.words.clauses import Clause

CR, URINE, WEIGHT = Signal.CREATININE, Signal.URINE_VOLUME, Signal.WEIGHT
ESTIMATE = LocalChoices(use_estimated_baseline=True)


def _creatinine(*values: tuple[float, str | int], **rest: Any) -> Record:
    """A record of creatinine given as (days ago, umol/L), the laboratory's range beside each."""
    found = [reading(CR, days * 24, value, reference=("59", "104")) for days, value in values]
    return chart({CR: sorted(found, key=lambda one: one.at)}, **rest)


def _kdigo(record: Record, **rest: Any) -> AkiFinding:
    return stage(record, "aki-kdigo", **rest)


def _warning(record: Record, **rest: Any) -> AkiFinding:
    return stage(record, "aki-warning-stage", **rest)


def _therapy(began: float, *, requested: bool = False, ended: float | None = None) -> Procedure:
    """Renal replacement therapy, in days before the review."""
    return Procedure(
        origin=Origin("Procedure/rrt"),
        text="Haemodialysis",
        kinds=frozenset({ProcedureKind.RENAL_REPLACEMENT}),
        at=ago(began * 24),
        ended=ago(ended * 24) if ended is not None else None,
        requested=requested,
        ongoing=ended is None,
    )


def _rests_on(finding: Finding, clause: Clause) -> bool:
    return clause.source in finding.sources


class TestReferences:
    def test_the_lowest_of_48_hours_and_of_7_days(self) -> None:
        assert "48 hours" in kdigo.LOWEST_EARLIER_RESULT.text
        found = bedside(_creatinine((6, 90), (3, 70), (2, 85), (1, 95), (0, 100))).kidneys.kdigo[-1]
        assert found.rise_from is not None
        assert found.reference is not None
        assert (found.rise_from.value, found.reference.value) == (Decimal(85), Decimal(70))

    def test_a_known_baseline_comes_first(self) -> None:
        assert "whenever there is one" in baseline.KNOWN_BASELINE_FIRST.text
        born, sex = date(1950, 1, 1), Sex.MALE
        known = _kdigo(_creatinine((60, 150), (0, 200), born=born, sex=sex), choices=ESTIMATE)
        unknown = _kdigo(_creatinine((0, 200), born=born, sex=sex), choices=ESTIMATE)
        assert (known.method, unknown.method) == (
            "median of 8 to 365 days before",
            "estimated baseline, back-calculated from an eGFR of 75",
        )

    @pytest.mark.parametrize(
        ("said", "born", "kinds", "estimated"),
        [
            ("under 18 years", date(2008, 3, 12), (), True),
            ("under 18 years", date(2008, 3, 13), (), False),
            ("in pregnancy", date(1990, 1, 1), (ConditionKind.PREGNANCY,), False),
            ("chronic kidney disease", date(1990, 1, 1), (ConditionKind.CHRONIC_KIDNEY_DISEASE,), False),
        ],
    )
    def test_never_estimated(
        self, said: str, born: date, kinds: tuple[ConditionKind, ...], estimated: bool
    ) -> None:
        assert said in baseline.NEVER_ESTIMATED.text
        problems = tuple(condition(kind) for kind in kinds)
        record = _creatinine((0, 200), born=born, sex=Sex.FEMALE, conditions=problems)
        assert (_kdigo(record, choices=ESTIMATE).stage is not None) is estimated

    @pytest.mark.parametrize(("hours", "method"), [(168, "lowest"), (168.1, "median"), (365 * 24, "median")])
    def test_elapsed_time_decides(self, hours: float, method: str) -> None:
        assert "168 hours" in nhs.ELAPSED_TIME.text
        assert "365 times 24 hours" in nhs.ELAPSED_TIME.text
        assert _warning(_creatinine((hours / 24, 80), (0, 130))).method.startswith(method)
        assert _warning(_creatinine((365.01, 80), (0, 130))).stage is None

    @pytest.mark.parametrize(("values", "rests"), [([70, 90], True), ([70, 80, 90], False)])
    def test_an_even_median(self, values: list[int], rests: bool) -> None:
        """The mean of the middle two: 80, so 120 is 1.5 times."""
        earlier = [(30.0 + day, value) for day, value in enumerate(values)]
        found = _warning(_creatinine(*earlier, (0, 120)))
        assert (found.reference, found.stage) == (Decimal(80), 1)
        assert _rests_on(found, nhs.MEDIAN_OF_EVEN_COUNT) is rests

    @pytest.mark.parametrize(("year", "rests"), [(60, True), (90, False)])
    def test_the_higher_ratio(self, year: int, rests: bool) -> None:
        """RV1 100 gives no stage for 120; RV2 60 gives 2, and 90 none either."""
        assert _rests_on(_warning(_creatinine((40, year), (3, 100), (0, 120))), nhs.HIGHER_RATIO) is rests

    @pytest.mark.parametrize(
        ("values", "rests"),
        [
            ([(8, 80), (7.5, 100), (7.2, 100), (6, 200), (0, 205)], True),
            ([(20, 90), (19, 80), (6, 80), (5, 200), (0, 200)], False),
        ],
        ids=["by-now-the-median-is-100", "80-is-still-of-this-week"],
    )
    def test_the_reference_of_an_episode_stays(self, values: list[tuple[float, int]], rests: bool) -> None:
        found = _kdigo(_creatinine(*values))
        assert (found.reference, found.stage) == (Decimal(80), 2)
        assert _rests_on(found, ours.EPISODE_REFERENCE) is rests


class TestStages:
    @pytest.mark.parametrize(
        ("values", "stage_then", "rests"),
        [
            ([(2, 370), (0, 400)], 3, True),
            ([(3, 400), (0, 400)], 0, False),
            ([(1, 326), (0, "353.5")], 1, False),
        ],
    )
    def test_a_height_needs_an_acute_rise(self, values: Any, stage_then: int, rests: bool) -> None:
        found = _kdigo(_creatinine(*values))
        assert found.stage == stage_then
        assert _rests_on(found, kdigo.STAGE_3_NEEDS_ACUTE_RISE) is rests
        assert (kdigo.STAGE_3_CREATININE.source in found.sources) is rests

    @pytest.mark.parametrize(("value", "rests"), [("355", True), ("354", False)])
    def test_the_rise_alone_is_a_warning_of_stage_1(self, value: str, rests: bool) -> None:
        found = _warning(_creatinine((1, "325"), (0, value)))
        assert found.stage == 1
        assert _rests_on(found, nhs.RISE_ALONE_IS_STAGE_1) is rests
        assert _kdigo(_creatinine((1, "325"), (0, value))).stage == 3

    @pytest.mark.parametrize(
        ("value", "clause"),
        [
            (105, nhs.HIGH_WITHOUT_EARLIER_RESULT),
            (104, None),
            (59, None),
            (58, nhs.LOW_WITHOUT_EARLIER_RESULT),
        ],
    )
    def test_without_an_earlier_result(self, value: int, clause: Clause | None) -> None:
        found = _warning(_creatinine((0, value)))
        assert found.stage is None
        both = (nhs.HIGH_WITHOUT_EARLIER_RESULT, nhs.LOW_WITHOUT_EARLIER_RESULT)
        assert [one for one in both if _rests_on(found, one)] == ([clause] if clause is not None else [])

    @pytest.mark.parametrize(("born", "of_a_child"), [(date(2008, 3, 13), True), (date(2008, 3, 12), False)])
    def test_a_child_without_an_earlier_result(self, born: date, of_a_child: bool) -> None:
        """The algorithm's adults begin at 18: the upper limit of 104 then stands in no more."""
        assert nhs.ADULT_AGE.years == 18
        found = _warning(_creatinine((0, 156), born=born))
        assert found.stage == (1 if of_a_child else None)
        assert _rests_on(found, nhs.CHILD_WITHOUT_EARLIER_RESULT) is of_a_child

    @pytest.mark.parametrize(("days", "stands"), [(7.0, True), (7.1, False)])
    def test_how_long_a_creatinine_stands(self, days: float, stands: bool) -> None:
        assert "7 days" in ours.CREATININE_STANDS.text
        found = _kdigo(_creatinine((days + 3, 80), (days, 200)))
        assert (found.stage == 2) is stands
        assert _rests_on(found, ours.CREATININE_STANDS) is not stands


class TestUrine:
    def test_time_covered_twice_counts_by_what_ended_first(self) -> None:
        """An hour of 100 mL, and six of which it is one with 60 mL in all: 100 and five sixths of 60."""
        assert "by the entry that ended first" in ours.URINE_COVERED_TWICE.text
        volumes = Series([reading(URINE, 5, 100, began=6), reading(URINE, 0, 60, began=6)])
        passed = UrineChart(volumes, Series(())).over(NOW, NOW - ago(6))
        assert (passed.volume, passed.seconds) == (Decimal(150), 6 * 3600)

    @pytest.mark.parametrize(("hours", "stands"), [(24.0, True), (24.1, False)])
    def test_how_long_a_stage_stands(self, hours: float, stands: bool) -> None:
        assert "24 hours" in ours.URINE_STANDS.text
        dry = reading(URINE, hours, 0, began=hours + 12)
        found = bedside(chart({URINE: [dry], WEIGHT: [(60, 80)]})).kidneys.injury
        assert (found.stage == 3) is stands

    @pytest.mark.parametrize(("volume", "clears"), [(600, False), (470, True)])
    def test_enough_urine_clears_nothing(self, volume: int, clears: bool) -> None:
        passed = reading(URINE, 0, volume, began=12)
        found = _kdigo(chart({CR: [(0, 200)], URINE: [passed], WEIGHT: [(30, 80)]}))
        assert (found.stage is not None) is clears
        assert _rests_on(found, ours.URINE_CLEARS_NOTHING) is not clears


class TestReplacementTherapy:
    """KDIGO 2012, Table 2: its start is stage 3; what makes it a planned one is ours."""

    @pytest.mark.parametrize(
        ("values", "stage_then"),
        [
            pytest.param([(30, 600), (3, 605), (0.5, 600)], 0, id="steady-for-a-month"),
            pytest.param([(1.5, 600), (0.5, 605)], 3, id="the-first-of-them-stood-alone"),
            pytest.param([(30, 600), (1.5, 600), (0.5, 605)], 0, id="with-one-before"),
            pytest.param([(0.5, 600)], 3, id="single"),
        ],
    )
    def test_a_planned_start(self, values: list[tuple[float, int]], stage_then: int) -> None:
        """Every result around the start must have been judged: steady for a day is not known to be steady."""
        found = _kdigo(_creatinine(*values, procedures=(_therapy(0.25),)))
        assert found.stage == stage_then
        assert _rests_on(found, ours.PLANNED_THERAPY)

    def test_an_acute_start_is_no_question(self) -> None:
        found = _kdigo(_creatinine((3, 80), (0.3, 160), procedures=(_therapy(0.25),)))
        assert found.stage == 3
        assert not _rests_on(found, ours.PLANNED_THERAPY)

    @pytest.mark.parametrize(("days", "long_term"), [(90.0, False), (90.1, True)])
    def test_long_term(self, days: float, long_term: bool) -> None:
        assert "beyond 90 days" in ours.LONG_TERM_THERAPY.text
        found = _kdigo(_creatinine((days + 1, 80), (0, 400), procedures=(_therapy(days),)))
        assert (found.stage is None) is long_term
        assert _rests_on(found, ours.LONG_TERM_THERAPY) is long_term

    def test_asked_for(self) -> None:
        found = _kdigo(_creatinine((3, 80), (0, 100), procedures=(_therapy(0.25, requested=True),)))
        assert found.stage == 0
        assert _rests_on(found, ours.THERAPY_ASKED_FOR)

    @pytest.mark.parametrize(("hours", "left_out"), [(72.0, True), (72.1, False)])
    def test_a_result_on_therapy(self, hours: float, left_out: bool) -> None:
        dated = _therapy(hours / 24 + 0.1, ended=hours / 24)
        record = _creatinine((0, 200), procedures=(dated,))
        found = bedside(record).kidneys
        assert (not found.results) is left_out
        assert _rests_on(_warning(record), nhs.NOT_ON_DIALYSIS) is left_out

    def test_never_a_baseline(self) -> None:
        """On therapy that is neither long-term nor a start that could be judged."""
        record = _creatinine((40, 80), (39, 80), (0.1, 200), procedures=(_therapy(38),))
        on = _kdigo(record)
        assert 200 not in {one.result.value for one in bedside(record).kidneys.kdigo}
        assert _rests_on(on, baseline.NEVER_ON_DIALYSIS) is (on.stage is None)


class TestScores:
    @pytest.mark.parametrize(
        ("usual", "expected"),
        [
            (None, Consciousness.NEW_CONFUSION),
            (BaselineConfusion.LONG_STANDING, Consciousness.ALERT),
        ],
    )
    def test_unknown_confusion_is_new(self, usual: BaselineConfusion | None, expected: Consciousness) -> None:
        assert "until it is known to be long-standing" in news2_2017.UNKNOWN_CONFUSION_IS_NEW.text
        codes = {CodedSignal.BASELINE_CONFUSION: [(48, usual)]} if usual is not None else {}
        one = bedside(chart({Signal.PULSE: [(1, 80)], Signal.GCS_TOTAL: [(1, 14)]}, codes=codes))
        answer = consciousness_of(one.sets[-1], confusion_is_usual=one.confusion_is_usual)
        assert answer is not None
        assert answer.value is expected

    @pytest.mark.parametrize(
        ("scale", "answer", "points"),
        [
            (15, Consciousness.ALERT, 0),
            (14, Consciousness.ALERT, 1),
            (15, Consciousness.VOICE, 1),
        ],
    )
    def test_either_is_enough_for_altered_mentation(
        self, scale: int, answer: Consciousness, points: int
    ) -> None:
        assert "either of them" in score_choices.COMA_SCALE_BESIDE_ACVPU.text
        record = chart(
            {
                Signal.RESPIRATION_RATE: [(1, 16)],
                Signal.SYSTOLIC_PRESSURE: [(1, 120)],
                Signal.GCS_TOTAL: [(1, scale)],
            },
            codes={CodedSignal.CONSCIOUSNESS: [(1, answer)]},
        )
        assert scores(record, "qsofa")[0].total == points

    @pytest.mark.parametrize(("flow", "total"), [(None, None), ("3", 2), ("4", 4)])
    def test_oxygen_without_an_amount_stays_open(self, flow: str | None, total: int | None) -> None:
        assert "the total stays open" in score_choices.OXYGEN_WITHOUT_AMOUNT.text
        codes = {CodedSignal.OXYGEN_DELIVERY: [(1, OxygenDelivery.NASAL_CANNULA)]}
        numbers = {Signal.OXYGEN_FLOW: [(1, flow)]} if flow is not None else {}
        found = scores(
            chart({Signal.PULSE: [(1, 90)], **numbers}, codes=codes, born=date(2016, 1, 1)), "bedside-pews"
        )
        (oxygen,) = [one for one in found[0].parts if one.key == "oxygen-therapy"]
        assert oxygen.points == total

    @pytest.mark.parametrize(
        ("kinds", "clauses"),
        [
            ((), []),
            (
                (ConditionKind.COPD,),
                [news2_2017.SCALE_2_ELIGIBILITY, news2_2017.SCALE_2_NEEDS_A_DECISION],
            ),
        ],
    )
    def test_scale_2_is_not_used_by_a_diagnosis(
        self, kinds: tuple[ConditionKind, ...], clauses: list[Clause]
    ) -> None:
        record = rounds((1, {Signal.SPO2: 90}), conditions=tuple(condition(kind) for kind in kinds))
        found = scores(record, "news2")[0]
        assert found.variant == "SpO2 scale 1"
        both = (news2_2017.SCALE_2_ELIGIBILITY, news2_2017.SCALE_2_NEEDS_A_DECISION)
        assert [one for one in both if _rests_on(found, one)] == clauses

    @pytest.mark.parametrize(("rate", "rests"), [(25, True), (21, False)])
    def test_continuous_monitoring_is_recorded_hourly(self, rate: int, rests: bool) -> None:
        """NEWS2 of 7 asks for continuous monitoring; of 6 for a round every hour, by its own row."""
        assert "at least hourly" in news2_2017.CONTINUOUS_MONITORING.text
        worse = {Signal.RESPIRATION_RATE: rate, Signal.PULSE: 115, Signal.SYSTOLIC_PRESSURE: 100}
        stay = Stay(origin=Origin("Encounter/e"), starts=ago(48))
        record = rounds((3, worse), stays=(stay,))
        (found,) = findings(record, Kind.OBSERVATIONS_OVERDUE).values()
        assert _rests_on(found, news2_2017.CONTINUOUS_MONITORING) is rests

    @pytest.mark.parametrize(
        ("coma_scale", "rests"), [(None, True), (15, False)], ids=["alert-alone", "with-a-scale"]
    )
    def test_alert_is_read_as_15(self, coma_scale: int | None, rests: bool) -> None:
        numbers: dict[Signal, Any] = {Signal.PLATELETS: [(1, 90)], Signal.BILIRUBIN: [(1, 40)]}
        if coma_scale is not None:
            numbers[Signal.GCS_TOTAL] = [(1, coma_scale)]
        found = scores(rounds((1, {}), numbers=numbers), "sofa")[0]
        assert next(one.points for one in found.parts if one.key == "brain") == 0
        assert _rests_on(found, organ_failure.ALERT_IS_15) is rests


class TestSteadyTrends:
    @pytest.mark.parametrize(("rate", "rests"), [(18, False), (25, True)])
    def test_beside_a_high_score(self, rate: int, rests: bool) -> None:
        """The pulse climbs to 113 (2 points); breathing at 25 makes it a NEWS2 of 5."""
        assert "NEWS2 of 5 or more" in context_choices.STEADY_BESIDE_A_HIGH_SCORE.text
        each = [
            (hour, {Signal.PULSE: 115 - 3 * hour, Signal.RESPIRATION_RATE: rate}) for hour in range(12, 0, -1)
        ]
        one = bedside(rounds(*each))
        assert (context_choices.STEADY_BESIDE_A_HIGH_SCORE.source in one.steady_sources) is rests
        assert (one.steady_urgency.name == "ROUTINE") is rests


class TestPlaces:
    @pytest.mark.parametrize(
        ("kind", "where", "role"),
        [
            (CarePlace.INTENSIVE_CARE, Whereabouts.INTENSIVE_CARE, LocalChoices().roles.intensive_care),
            (CarePlace.THEATRE, Whereabouts.THEATRE, LocalChoices().roles.anaesthetist),
            (CarePlace.WARD, Whereabouts.WARD, ""),
        ],
    )
    def test_the_own_team_is_called(self, kind: CarePlace, where: Whereabouts, role: str) -> None:
        assert "in theatre the anaesthetist" in intensive_care.OWN_TEAM.text
        stay = Stay(origin=Origin("Encounter/e"), starts=ago(5), kind=kind)
        one = bedside(chart({Signal.PULSE: [(1, 80)]}, stays=(stay,)))
        assert (one.where, one.own_doctor) == (where, role)
