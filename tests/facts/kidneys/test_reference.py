"""Which earlier creatinine a result is compared with, and what is said where two answers differ.

The cases are those of KDIGO 2012, chapter 2.4, table 7; their numbers are from memory. That a
result of this week which is part of the rise must not become the reference is the reason given
there for Case A. The order of references, and what is no rise of this week, are ours.
"""

from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, ago, bedside, chart, findings, measures_of, reading, stage
from weatherglass.facts.kidneys.staging import KidneyStage, exact_stage_by_ratio
from weatherglass.knowledge.kidneys import kdigo_aki_2012 as kdigo
from weatherglass.knowledge.kidneys.kidney_baseline import AS_HIGH_WITHIN
from weatherglass.model.findings import Kind, State, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Flag, Measurement, Remark, SentValue
from weatherglass.model.signals import Signal

CR = Signal.CREATININE
LIMITS = ("59", "104")


def _milligrams(days: float, printed: str) -> Measurement:
    value = Decimal(printed) * Decimal("88.4")
    return replace(reading(CR, days * 24, value), printed=Decimal(printed))


def _record(*values: tuple[float, str | int], limits: tuple[str, str] | None = None, **rest: Any) -> Record:
    """Creatinine given as (days ago, umol/L)."""
    series = sorted((reading(CR, d * 24, v, reference=limits) for d, v in values), key=lambda m: m.at)
    return chart({CR: series}, **rest)


def _criterion_1(one: KidneyStage) -> bool:
    return one.reference is not None and bool(
        exact_stage_by_ratio(
            kdigo.STAGE_BY_RATIO, one.result.printed or Decimal(0), one.reference.printed or Decimal(1)
        )
    )


def _criterion_2(one: KidneyStage) -> bool:
    low = one.rise_from
    return low is not None and kdigo.STAGE_1_RISE_MASS.is_met_by(
        (one.result.printed or Decimal(0)) - (low.printed or Decimal(0))
    )


@pytest.mark.parametrize(
    ("baseline", "days", "seventh", "by_ratio", "by_rise"),
    [
        pytest.param("1.0", "1.3 1.5 2.0", "1.0", True, True, id="A"),
        pytest.param("1.0", "1.1 1.2 1.4", "1.0", False, True, id="B"),
        pytest.param("0.4", "0.5 0.6 0.7", "0.4", True, False, id="C"),
        pytest.param("1.0", "1.1 1.2 1.3", "1.5", True, False, id="D"),
        pytest.param("1.0", "1.3 1.5 1.8", "2.2", True, True, id="E"),
        pytest.param(None, "3.0 2.6 2.2", "1.0", False, False, id="F-by-a-rise"),
        pytest.param(None, "1.8 2.0 2.2", "1.6", False, True, id="G"),
        pytest.param(None, "3.0 3.1 3.0", "2.9", False, False, id="H"),
    ],
)
@pytest.mark.parametrize("before", [20.0, 200.0])
def test_table_7(
    baseline: str | None, days: str, seventh: str, by_ratio: bool, by_rise: bool, before: float
) -> None:
    """Criterion 1, 1.5 times the baseline; criterion 2, 0.3 mg/dL within 48 hours."""
    series = [_milligrams(6 + before, baseline)] if baseline else []
    series += [_milligrams(6 - day, value) for day, value in enumerate(days.split())]
    stages = bedside(chart({CR: [*series, _milligrams(0, seventh)]})).kidneys.kdigo
    assert any(map(_criterion_1, stages)) is by_ratio
    assert any(map(_criterion_2, stages)) is by_rise


def test_case_f_shows_only_in_its_recovery() -> None:
    series = [_milligrams(6, "3.0"), _milligrams(5, "2.6"), _milligrams(4, "2.2"), _milligrams(0, "1.0")]
    found = findings(chart({CR: series}), Kind.AKI_COURSE)
    assert "KDIGO stage 3" in found["recognised-in-recovery"].sentence


def test_case_a_reaches_stage_2_on_its_third_day() -> None:
    """Against the 1.3 of this week it would be stage 1."""
    series = [_milligrams(30, "1.0"), *(_milligrams(2 - d, v) for d, v in enumerate(("1.3", "1.5", "2.0")))]
    found = stage(chart({CR: series}), "aki-kdigo")
    assert (found.stage, found.method) == (2, "median of 8 to 365 days before")
    assert found.since == ago(24)


class TestNotOfThisWeek:
    """As high 8 to 90 days ago already: acute kidney disease or a lasting change, without a stage."""

    @pytest.mark.parametrize(
        ("days", "staged"),
        [
            pytest.param(7, True, id="7-days-are-this-week"),
            pytest.param(8, False, id="8-days"),
            pytest.param(90, False, id="90-days"),
            pytest.param(91, True, id="91-days"),
        ],
    )
    def test_when(self, days: float, staged: bool) -> None:
        """160 of a median of 80, in an episode of before; the level that the week began from decides."""
        values = [(300.0, 80), (290.0, 80), (280.0, 80), (days, 158), (0.0, 160)]
        found = stage(_record(*values), "aki-kdigo")
        assert (found.stage == 2) is staged
        assert staged or (found.stage is None and "No KDIGO stage but" in found.sentence)

    @pytest.mark.parametrize(("above", "staged"), [(Decimal(0), False), (Decimal("0.01"), True)])
    def test_within_the_reference_change_value(self, above: Decimal, staged: bool) -> None:
        """14.7 % from variation of 5.2 % within a person and 1.1 % of the method."""
        now = 150 * (1 + AS_HIGH_WITHIN / 100) + above
        found = stage(_record((200, 80), (190, 80), (20, 150), (0, str(now))), "aki-kdigo")
        assert (found.stage is not None) is staged

    def test_four_months_at_one_level(self) -> None:
        """Seventeen results of 115 to 133 after three of 71: each of them was left out of the median."""
        levels = [133, 124, 115, 128, 120, 130, 118, 126, 133, 122, 119, 127, 131, 117]
        months = [(120.0 - 8 * place, value) for place, value in enumerate(levels)]
        record = _record((300, 71), (290, 71), (280, 71), *months, (3, 124), (0, 126))
        found = stage(record, "aki-kdigo")
        assert not found.stage
        assert (stage(record, "aki-warning-stage").stage, found.urgency) == (0, Urgency.ROUTINE)

    @pytest.mark.parametrize(
        ("newest", "staged"), [("115", False), ("89", False), ("88.6", True)], ids=["dip", "1.49", "1.5"]
    )
    def test_a_dip_before_the_week_is_no_recovery(self, newest: str, staged: bool) -> None:
        """133 after 115, at a median of 130 for two months: as high as ever; from 1.5 times lower it rose."""
        months = ((300, 71), (290, 71), (60, 130), (45, 133), (30, 128), (15, 131))
        found = stage(_record(*months, (9, newest), (0, 133)), "aki-kdigo")
        assert bool(found.stage) is staged

    @pytest.mark.parametrize(("between", "staged"), [("89", False), ("88", True)], ids=["1.49", "1.5"])
    def test_what_was_recovered_from_is_no_level(self, between: str, staged: bool) -> None:
        """133 of 80 after a month at 132, as high as ever; not where 88 lay between (ours)."""
        month = ((60, 132), (50, 132), (45, 132), (40, 132), (35, 132))
        found = stage(_record((300, 80), (290, 80), *month, (20, between), (9, 90), (0, 133)), "aki-kdigo")
        assert bool(found.stage) is staged

    def test_a_rise_within_the_week_is_one_of_its_own(self) -> None:
        found = stage(_record((200, 40), (190, 40), (20, 150), (5, 90), (0, 150)), "aki-kdigo")
        assert (found.stage, found.method) == (1, "lowest of the previous 7 days")
        assert found.reference == Decimal(90)

    def test_the_disease_is_told_and_is_an_injury_now(self) -> None:
        record = _record((50, 80), (30, 160), (0, 160))
        disease = findings(record, Kind.AKI_COURSE)["acute-kidney-disease"]
        assert (disease.urgency, measures_of(disease)["akd-stage"]) == (Urgency.PROMPT, 2)
        now = bedside(record).aki_now
        assert (now.stage, now.is_disease, now.since) == (2, True, ago(30 * 24))
        assert "acute kidney disease stage 2" in stage(record, "aki-kdigo").sentence

    def test_what_rises_on_is_staged(self) -> None:
        found = stage(_record((50, 80), (9, 160), (0, 250)), "aki-kdigo")
        assert (found.stage, found.reference) == (3, Decimal(80))


class TestTwoAnswers:
    """Never one criterion's "none" beside the other's stage without the reason."""

    @pytest.mark.parametrize(
        ("values", "why"),
        [
            pytest.param([(1, 80), (0, "106.2")], "26.5", id="rise-of-26.2"),
            pytest.param(
                [(300, 80), (290, 80), (280, 80), (95, 150), (25, 150), (0, 152)], "already", id="old"
            ),
            pytest.param(
                [(300, 80), (200, 200), (100, 90), (0, 128)], "without an earlier injury", id="median"
            ),
            pytest.param([(2, 370), (0, 400)], "353.6", id="353.6"),
        ],
    )
    def test_the_reason_is_said(self, values: list[tuple[float, str]], why: str) -> None:
        record = _record(*values, limits=LIMITS)
        ours, theirs = stage(record, "aki-kdigo"), stage(record, "aki-warning-stage")
        assert (ours.stage or 0) != (theirs.stage or 0)
        assert why in theirs.sentence
        assert "No acute kidney injury" not in ours.sentence or not theirs.stage
        assert ours.brief != theirs.brief

    def test_urine_is_unknown_to_the_algorithm(self) -> None:
        record = chart(
            {
                CR: [(30, 80), (2, 80)],
                Signal.URINE_VOLUME: [reading(Signal.URINE_VOLUME, 0, 470, began=12)],
                Signal.WEIGHT: [(30, 80)],
            }
        )
        assert "neither urine nor replacement" in stage(record, "aki-warning-stage").sentence

    def test_one_answer_is_told_once(self) -> None:
        record = _record((5, 80), (0, 160))
        ours, theirs = stage(record, "aki-kdigo"), stage(record, "aki-warning-stage")
        assert "160" in ours.sentence
        assert "160" not in theirs.sentence
        assert theirs.sentence == "AKI warning stage 2 (NHS England algorithm) too, by the same results."
        assert ours.brief == "Acute kidney injury stage 2 (KDIGO): creatinine 160, reference 80"
        assert theirs.brief == "AKI warning stage 2"

    @pytest.mark.parametrize(
        ("values", "said"),
        [
            pytest.param([(60, 108), (30, 112), (4, 76), (0, 118)], "1.07 times", id="low-of-the-week"),
            pytest.param([(90, 100), (5, 44), (0, 72)], "0.72 times", id="lost-muscle"),
            pytest.param([(30, 80), (5, 80), (0, 160)], "", id="both-agree"),
        ],
    )
    def test_the_median_of_the_year_is_told_where_it_disagrees(
        self, values: list[tuple[float, int]], said: str
    ) -> None:
        """Whoever has lost muscle may stand at the own level of the year again."""
        found = stage(_record(*values), "aki-kdigo")
        assert found.stage
        assert ("times the median of 8 to 365 days before" in found.sentence) is bool(said)
        assert said in found.sentence


class TestNothingToCompareWith:
    """The algorithm flags a first high result: repeat it, acute or chronic is not known (from memory)."""

    @pytest.mark.parametrize(
        ("value", "limits", "urgency"),
        [
            pytest.param(104, LIMITS, Urgency.ROUTINE, id="at-the-limit"),
            pytest.param(105, LIMITS, Urgency.PROMPT, id="above-it"),
            pytest.param(410, LIMITS, Urgency.PROMPT, id="410"),
            pytest.param(170, None, Urgency.ROUTINE, id="170-without-a-range"),
            pytest.param(171, None, Urgency.PROMPT, id="171-without-a-range"),
        ],
    )
    def test_a_high_one_is_no_reassurance(
        self, value: str, limits: tuple[str, str] | None, urgency: Urgency
    ) -> None:
        record = _record((0, value), limits=limits)
        for criterion in ("aki-kdigo", "aki-warning-stage"):
            found = stage(record, criterion)
            assert (found.stage, found.urgency) == (None, urgency)
            assert found.not_assessed == "no earlier creatinine within 365 days"
            assert "annot be staged" in found.sentence
            assert "No AKI" not in found.sentence
            assert (found.since is not None) is (urgency is Urgency.PROMPT)

    def test_critical_by_its_sender(self) -> None:
        record = _record((0, 150))
        (one,) = record.series(CR).items
        sent = SentValue("Creatinine", "150", one.at, one.origin, flag=Flag.CRITICAL)
        flagged = chart({CR: [one]}, sent=(sent,))
        assert stage(record, "aki-kdigo").urgency is Urgency.ROUTINE
        assert stage(flagged, "aki-kdigo").urgency is Urgency.PROMPT

    def test_results_of_more_than_a_year_ago_are_no_single_result(self) -> None:
        found = stage(_record((900, 80), (700, 82), (500, 81), (0, 130), limits=LIMITS), "aki-kdigo")
        assert "no earlier creatinine within 365 days" in found.sentence
        assert "single" not in found.sentence


class TestDates:
    """80 on 10 March and 250 on 12 March are stage 3 however they were dated (ours)."""

    @pytest.mark.parametrize("early", [True, False])
    @pytest.mark.parametrize("late", [True, False])
    def test_stage_3(self, early: bool, late: bool) -> None:
        def one(days: float, value: int, *, dated: bool) -> Measurement:
            found = reading(CR, days * 24, value)
            if not dated:
                return found
            noon = found.at.replace(hour=12)
            return replace(found, at=noon, remarks=frozenset({Remark.DAY_ONLY}))

        record = chart({CR: [one(2, 80, dated=early), one(0, 250, dated=late)]})
        evening = NOW.replace(hour=20)
        for criterion in ("aki-kdigo", "aki-warning-stage"):
            found = stage(record, criterion, as_of=evening)
            assert (found.stage, found.method) == (3, "lowest of the previous 7 days")
            told = any("rule of 48 hours was left out" in each for each in found.cautions)
            assert told is (early or late)

    @pytest.mark.parametrize(("value", "urgency"), [(119, Urgency.ROUTINE), (120, Urgency.PROMPT)])
    def test_of_one_date_the_order_is_not_known(self, value: int, urgency: Urgency) -> None:
        """1.5 times apart, an injury has been in either order."""
        noon = NOW.replace(hour=12)
        dated = replace(reading(CR, 0, value), at=noon, remarks=frozenset({Remark.DAY_ONLY}))
        record = chart({CR: [reading(CR, 0, 80), dated]})
        found = stage(record, "aki-kdigo", as_of=NOW.replace(hour=20))
        assert (found.stage, found.urgency) == (None, urgency)
        assert "same date" in found.not_assessed

    def test_of_one_date_the_worse_counts(self) -> None:
        """80 yesterday, 250 this morning and 85 of today without a time: the 250 is not forgotten."""
        noon = NOW.replace(hour=12)
        dated = replace(reading(CR, 0, 85), at=noon, remarks=frozenset({Remark.DAY_ONLY}))
        record = chart({CR: [reading(CR, 24, 80), reading(CR, 0, 250), dated]})
        for criterion in ("aki-kdigo", "aki-warning-stage"):
            found = stage(record, criterion, as_of=NOW.replace(hour=20))
            assert (found.stage, found.urgency) == (3, Urgency.URGENT)


class TestRecovering:
    """Ours: what is well on its way back asks for less than what rises."""

    def test_history_alone_asks_for_nothing_within_hours(self) -> None:
        for before in ([], [(30.0, 80)], [(30.0, 60)]):
            record = _record(*before, (4, 310), (2, 200), (0, 104), limits=LIMITS)
            told = {**findings(record, Kind.AKI_STAGE), **findings(record, Kind.AKI_COURSE)}
            assert {found.urgency for found in told.values()} == {Urgency.ROUTINE}

    def test_a_stage_of_old_is_settling(self) -> None:
        found = stage(_record((30, 60), (4, 310), (2, 200), (0, 104)), "aki-kdigo")
        assert (found.stage, found.state) == (1, State.SETTLING)

    def test_a_fall_that_is_still_high_is_prompt(self) -> None:
        found = findings(_record((4, 600), (0, 390), limits=LIMITS), Kind.AKI_COURSE)
        assert found["recognised-in-recovery"].urgency is Urgency.PROMPT


class TestSinceWhen:
    """A deadline counts from when its reason began and moves only when the stage steps up."""

    def test_a_repeat_never_restarts_it(self) -> None:
        found = stage(_record((9, 80), (2, 170), (1, 171), (0, 172)), "aki-kdigo")
        assert (found.since, found.asked_since) == (ago(48), None)

    def test_a_higher_stage_does(self) -> None:
        found = stage(_record((9, 80), (2, 130), (1, 170), (0, 172)), "aki-kdigo")
        assert (found.since, found.asked_since) == (ago(48), ago(24))
        now = bedside(_record((9, 80), (2, 130), (1, 170), (0, 172))).aki_now
        assert (now.stage, now.since, now.stage_since) == (2, ago(48), ago(24))
