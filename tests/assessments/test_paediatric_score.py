"""Bedside PEWS: Parshuram and colleagues, Crit Care 2009;13:R135, Table 1.

Whole sets are worked by hand from the printed table. Handling of missing rows and of the
edges between the age groups is ours and is listed in the catalogue.
"""

from datetime import date
from enum import Enum
from typing import Any

import pytest

from tests.charts import NOW, ago, chart, condition, findings, points_of, scores
from weatherglass.model.findings import Kind, MissingReason, ScoreFinding, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, OxygenDelivery, RespiratoryEffort, Signal

EFFORT, OXYGEN = CodedSignal.RESPIRATORY_EFFORT, CodedSignal.OXYGEN_DELIVERY
AIR, CANNULA, HIGH_FLOW = OxygenDelivery.AIR, OxygenDelivery.NASAL_CANNULA, OxygenDelivery.HIGH_FLOW
NORMAL, MILD, MODERATE = RespiratoryEffort.NORMAL, RespiratoryEffort.MILD, RespiratoryEffort.MODERATE
TEN = date(2016, 1, 1)


def _child(
    born: date | None = TEN,
    *,
    hr: int | None = 90,
    sbp: int | None = 105,
    crt: str | None = "1",
    rr: int | None = 20,
    effort: Enum | None = NORMAL,
    spo2: int | None = 98,
    oxygen: Enum | None = AIR,
    flow: str | None = None,
    fraction: str | None = None,
    hours: float = 1,
    **rest: Any,
) -> Record:
    """A set that scores 0 at ten years, with what is changed or left out."""
    numbers = {
        Signal.PULSE: hr,
        Signal.SYSTOLIC_PRESSURE: sbp,
        Signal.CAPILLARY_REFILL: crt,
        Signal.RESPIRATION_RATE: rr,
        Signal.SPO2: spo2,
        Signal.OXYGEN_FLOW: flow,
        Signal.FIO2: fraction,
    }
    codes = {EFFORT: effort, OXYGEN: oxygen}
    return chart(
        {signal: [(hours, value)] for signal, value in numbers.items() if value is not None},
        codes={signal: [(hours, value)] for signal, value in codes.items() if value is not None},
        born=born,
        **rest,
    )


def _score(record: Record, **rest: Any) -> ScoreFinding:
    return scores(record, "bedside-pews", **rest)[0]


class TestWholeSets:
    """Table 1, added up by hand."""

    def test_ten_years_all_normal(self) -> None:
        assert (_score(_child()).total, _score(_child()).tier) == (0, "0-7")

    def test_two_years(self) -> None:
        """HR 155 (2), RR 45 (1), mild (1), 93 % (1), 3 L/min (2)."""
        record = _child(
            date(2024, 1, 1),
            hr=155,
            sbp=95,
            crt="2",
            rr=45,
            effort=MILD,
            spo2=93,
            oxygen=CANNULA,
            flow="3",
        )
        score = _score(record)
        assert list(points_of(score).values()) == [2, 0, 0, 1, 1, 1, 2]
        assert (score.total, score.urgency) == (7, Urgency.ROUTINE)

    def test_six_months(self) -> None:
        """HR 150 (1), SBP 78 (1), CRT 3 (4), RR 72 (2), moderate (2), 90 % (2), 4 L/min (4)."""
        record = _child(
            date(2025, 9, 1),
            hr=150,
            sbp=78,
            crt="3",
            rr=72,
            effort=MODERATE,
            spo2=90,
            oxygen=CANNULA,
            flow="4",
        )
        score = _score(record)
        assert list(points_of(score).values()) == [1, 1, 4, 2, 2, 2, 4]
        assert (score.total, score.tier, score.urgency) == (16, "12 or more", Urgency.EMERGENCY)
        assert score.variant == "rows for 3-12 months"
        assert score.response_by == "We suggest", "the paper prescribes no response"

    def test_fourteen_years(self) -> None:
        """HR 100 (1), SBP 130 (1), RR 17 (1)."""
        assert _score(_child(date(2012, 1, 1), hr=100, sbp=130, rr=17)).total == 3

    def test_at_7_and_8(self) -> None:
        """The published performance is that of a total of 8."""
        seven = _child(crt="3", hr=110, spo2=90)
        eight = _child(crt="3", hr=130, spo2=90)
        assert (_score(seven).total, _score(seven).urgency) == (7, Urgency.ROUTINE)
        assert (_score(eight).total, _score(eight).urgency) == (8, Urgency.URGENT)


@pytest.mark.parametrize(
    ("born", "variant"),
    [
        pytest.param(date(2026, 3, 12), "0-3 months", id="born-today"),
        pytest.param(date(2025, 12, 13), "0-3 months", id="a-day-before-3-months"),
        pytest.param(date(2025, 12, 12), "3-12 months", id="3-months"),
        pytest.param(date(2025, 3, 13), "3-12 months", id="a-day-before-a-year"),
        pytest.param(date(2025, 3, 12), "1-4 years", id="a-year"),
        pytest.param(date(2021, 3, 13), "1-4 years", id="a-day-before-5"),
        pytest.param(date(2021, 3, 12), "4-12 years", id="5-years"),
        pytest.param(date(2013, 3, 13), "4-12 years", id="a-day-before-13"),
        pytest.param(date(2013, 3, 12), "over 12 years", id="13-years"),
        pytest.param(date(2010, 3, 13), "over 12 years", id="a-day-before-16"),
    ],
)
def test_the_rows_follow_the_age_at_the_round(born: date, variant: str) -> None:
    """Ages are completed months and years; a child of 4 is in '1-4 years' (ours)."""
    assert _score(_child(born)).variant == f"rows for {variant}"


def test_an_earlier_round_keeps_the_rows_of_its_own_day() -> None:
    """HR 118 scores 0 in the group 1-4 years and 1 from 5 years on (Table 1)."""
    rounds = [(1.0, 118), (30.0, 118)]
    record = chart({Signal.PULSE: rounds}, born=date(2021, 3, 12))
    newest = _score(record)
    assert [point.parts[0] for point in newest.history] == [0, 1]


class TestOxygen:
    """Table 1: any below 4 L/min or 50 % scores 2, from there 4, room air 0."""

    @pytest.mark.parametrize(
        ("given", "points"),
        [
            pytest.param({"oxygen": AIR}, 0, id="air"),
            pytest.param({"oxygen": CANNULA, "flow": "0.5"}, 2, id="half-a-litre"),
            pytest.param({"oxygen": CANNULA, "flow": "3.99"}, 2, id="just-below-4"),
            pytest.param({"oxygen": CANNULA, "flow": "4"}, 4, id="4-litres"),
            pytest.param({"oxygen": None, "fraction": "0.21"}, 0, id="21-percent-is-air"),
            pytest.param({"oxygen": HIGH_FLOW, "fraction": "0.49"}, 2, id="49-percent"),
            pytest.param({"oxygen": HIGH_FLOW, "fraction": "0.50"}, 4, id="50-percent"),
            pytest.param({"oxygen": CANNULA, "flow": "2", "fraction": "0.6"}, 4, id="the-higher-counts"),
        ],
    )
    def test_amount(self, given: dict[str, Any], points: int) -> None:
        assert points_of(_score(_child(**given)))["oxygen-therapy"] == points

    def test_a_device_without_an_amount_is_left_open(self) -> None:
        """2 or 4 is not guessed."""
        score = _score(_child(oxygen=CANNULA))
        assert (score.total, score.lowest, score.highest) == (None, 2, 4)
        assert score.missing[0].reason is MissingReason.UNKNOWN_AMOUNT

    def test_nothing_recorded_is_left_open(self) -> None:
        score = _score(_child(oxygen=None))
        assert (score.total, score.lowest, score.highest) == (None, 0, 4)
        assert score.missing[0].reason is MissingReason.UNKNOWN_OXYGEN


@pytest.mark.parametrize(
    ("left_out", "key", "highest"),
    [
        ("hr", "heart-rate", 4),
        ("sbp", "systolic-pressure", 4),
        ("crt", "capillary-refill", 4),
        ("rr", "respiration", 4),
        ("effort", "respiratory-effort", 4),
        ("spo2", "spo2", 2),
    ],
)
def test_each_missing_row_leaves_the_total_open(left_out: str, key: str, highest: int) -> None:
    """What is not recorded is never scored as normal."""
    gap: dict[str, Any] = {left_out: None}
    score = _score(_child(**gap))
    assert (score.total, score.lowest, score.highest) == (None, 0, highest)
    assert [(one.key, one.could_add) for one in score.missing] == [(key, (0, highest))]
    assert "at least 0" in score.sentence


def test_a_threshold_is_raised_by_the_lowest_possible_total() -> None:
    score = _score(_child(crt="3", hr=150, rr=None))
    assert (score.total, score.lowest, score.urgency) == (None, 8, Urgency.URGENT)


def test_the_last_whole_set_stands_beside_an_open_one() -> None:
    whole, open_one = _child(hours=5), _child(hours=1, crt=None)
    both = chart(
        {
            signal: [
                *[(5, m.value) for m in whole.series(signal)],
                *[(1, m.value) for m in open_one.series(signal)],
            ]
            for signal in whole.numbers
        },
        codes={
            signal: [(5, whole.coded(signal).items[0].value), (1, NORMAL if signal is EFFORT else AIR)]
            for signal in whole.codes
        },
        born=TEN,
    )
    newest, last_whole = scores(both, "bedside-pews")
    assert (newest.total, newest.is_current) == (None, True)
    assert (last_whole.total, last_whole.is_current, last_whole.at) == (0, False, ago(5))


class TestWhoIsScored:
    """Children only; who is not says why where a site has asked for the score."""

    ASKED = LocalChoices(scores=("bedside-pews",))

    def test_from_16_years_there_is_no_score(self) -> None:
        assert scores(_child(date(2010, 3, 12)), "bedside-pews") == []

    def test_a_site_may_ask_for_it_until_18(self) -> None:
        assert _score(_child(date(2008, 3, 13)), choices=self.ASKED).total is not None
        refused = _score(_child(date(2008, 3, 12)), choices=self.ASKED)
        assert (refused.kind, refused.total) == (Kind.SCORE_NOT_APPLICABLE, None)
        assert "children" in refused.not_applicable

    def test_without_an_age_no_row_can_be_chosen(self) -> None:
        assert scores(_child(None), "bedside-pews") == []
        refused = _score(_child(None), choices=self.ASKED)
        assert "Age is not recorded" in refused.not_applicable

    def test_not_in_pregnancy(self) -> None:
        pregnant = _child(date(2011, 1, 1), conditions=(condition(ConditionKind.PREGNANCY),))
        assert scores(pregnant, "bedside-pews") == []
        assert scores(pregnant, "maternal-criteria")[0].parts


class TestReportedTotal:
    """The national total is followed, never recomputed; when a rise counts is ours."""

    def _reported(self, values: list[tuple[float, int]], **rest: Any) -> Any:
        record = chart({Signal.REPORTED_PAEDIATRIC_SCORE: values}, born=TEN)
        return findings(record, Kind.REPORTED_SCORE, **rest)["reported-paediatric-score"]

    def test_one_total_is_shown(self) -> None:
        found = self._reported([(1, 4)])
        assert (found.urgency, found.state) == (Urgency.ROUTINE, None)
        assert "4 at 07:00" in found.sentence

    @pytest.mark.parametrize(
        ("total", "urgency"),
        [
            (4, Urgency.ROUTINE),
            (5, Urgency.PROMPT),
            (8, Urgency.PROMPT),
            (9, Urgency.URGENT),
            (12, Urgency.URGENT),
            (13, Urgency.URGENT),
        ],
    )
    def test_a_total_asks_by_itself(self, total: int, urgency: Urgency) -> None:
        """Our choice: the national levels could not be read in their own documents."""
        assert self._reported([(1, total)]).urgency is urgency

    def test_a_repeat_begins_nothing_again(self) -> None:
        found = self._reported([(9, 5), (5, 9), (1, 10)])
        assert (found.urgency, found.since, found.asked_since) == (Urgency.URGENT, ago(9), ago(5))

    def test_an_old_total_asks_nobody(self) -> None:
        assert self._reported([(26, 13)]).urgency is Urgency.ROUTINE

    @pytest.mark.parametrize(
        ("values", "urgency"),
        [
            pytest.param([(20, 2), (1, 3)], Urgency.ROUTINE, id="up-1"),
            pytest.param([(20, 1), (1, 3)], Urgency.PROMPT, id="up-2-to-3"),
            pytest.param([(20, 0), (1, 2)], Urgency.ROUTINE, id="up-2-to-2"),
            pytest.param([(26, 1), (1, 4)], Urgency.ROUTINE, id="too-long-ago"),
            pytest.param([(20, 6), (1, 3)], Urgency.ROUTINE, id="down"),
        ],
    )
    def test_a_rise(self, values: list[tuple[float, int]], urgency: Urgency) -> None:
        assert self._reported(values).urgency is urgency

    def test_a_rise_is_new_then_continuing(self) -> None:
        values = [(20.0, 1), (15.0, 4), (1.0, 5)]
        assert self._reported(values).state is State.CONTINUING
        assert self._reported(values, as_of=ago(10)).state is State.NEW

    def test_later_totals_are_not_looked_at(self) -> None:
        found = self._reported([(20, 1), (1, 6)], as_of=ago(10))
        assert found.at == ago(20) != NOW
