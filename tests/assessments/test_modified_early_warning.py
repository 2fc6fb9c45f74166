"""MEWS: Subbe and colleagues, QJM 2001;94:521-526, the table, added up by hand.

Whether 70 mmHg and 40 a minute belong to the outer rows differs between copies of the
table; ours is the row with more points.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, chart, condition, points_of, scores
from weatherglass.model.findings import Kind, ScoreFinding, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

A, V, P, U = (
    Consciousness.ALERT,
    Consciousness.VOICE,
    Consciousness.PAIN,
    Consciousness.UNRESPONSIVE,
)
_SIGNALS = (Signal.SYSTOLIC_PRESSURE, Signal.PULSE, Signal.RESPIRATION_RATE, Signal.TEMPERATURE)
_Row = tuple[int | None, int | None, int | None, str | None, Consciousness | None]


def _record(*rows: tuple[float, _Row], **rest: Any) -> Record:
    """A record of rounds given as (hours ago, (SBP, HR, RR, temperature, AVPU))."""
    numbers = {
        signal: [(hours, row[place]) for hours, row in rows if row[place] is not None]
        for place, signal in enumerate(_SIGNALS)
    }
    alert = [(hours, row[4]) for hours, row in rows if row[4] is not None]
    return chart(
        {signal: values for signal, values in numbers.items() if values},
        codes={CodedSignal.CONSCIOUSNESS: alert} if alert else {},
        **rest,
    )


def _mews(record: Record, **rest: Any) -> ScoreFinding:
    return scores(record, "mews", **rest)[0]


@pytest.mark.parametrize(
    ("row", "points"),
    [
        ((120, 80, 12, "37", A), [0, 0, 0, 0, 0]),
        ((70, 80, 12, "37", A), [3, 0, 0, 0, 0]),
        ((71, 80, 12, "37", A), [2, 0, 0, 0, 0]),
        ((80, 40, 12, "37", A), [2, 2, 0, 0, 0]),
        ((81, 41, 12, "37", A), [1, 1, 0, 0, 0]),
        ((100, 50, 12, "37", A), [1, 1, 0, 0, 0]),
        ((101, 51, 14, "38.4", A), [0, 0, 0, 0, 0]),
        ((199, 100, 15, "38.5", V), [0, 0, 1, 2, 1]),
        ((200, 101, 20, "34.9", P), [2, 1, 1, 2, 2]),
        ((65, 130, 30, "39", U), [3, 3, 3, 2, 3]),
        ((120, 110, 8, "35.0", A), [0, 1, 2, 0, 0]),
        ((120, 111, 21, "37", A), [0, 2, 2, 0, 0]),
        ((120, 129, 29, "37", A), [0, 2, 2, 0, 0]),
        ((120, 80, 9, "37", A), [0, 0, 0, 0, 0]),
    ],
)
def test_rows(row: _Row, points: list[int]) -> None:
    score = _mews(_record((1, row)))
    assert list(points_of(score).values()) == points
    assert score.total == sum(points)


def test_5_is_the_published_limit() -> None:
    """A score of 5 or more went with death and critical care; the response is ours."""
    four, five = _mews(_record((1, (80, 40, 12, "37", A)))), _mews(_record((1, (70, 40, 12, "37", A))))
    assert (four.total, four.urgency) == (4, Urgency.ROUTINE)
    assert (five.total, five.urgency, five.response_by) == (5, Urgency.URGENT, "We suggest")
    assert five.is_secondary, "NEWS2 was chosen for this patient"


@pytest.mark.parametrize(
    ("place", "key", "highest"),
    [
        (0, "systolic-pressure", 3),
        (1, "pulse", 3),
        (2, "respiration", 3),
        (3, "temperature", 2),
        (4, "consciousness", 3),
    ],
)
def test_each_missing_row_leaves_the_total_open(place: int, key: str, highest: int) -> None:
    row: list[Any] = [120, 80, 12, "37", A]
    row[place] = None
    score = _mews(_record((1, (row[0], row[1], row[2], row[3], row[4]))))
    assert (score.total, score.lowest, score.highest) == (None, 0, highest)
    assert [one.key for one in score.missing] == [key]


def test_since_when_it_is_high() -> None:
    """New within 12 hours, continuing after that, settling once it is low again."""
    high, low = (70, 40, 12, "37", A), (120, 80, 12, "37", A)
    rounds = [(30.0, low), (20.0, high), (10.0, high)]
    assert _mews(_record(*rounds)).since == ago(20)
    assert _mews(_record(*rounds)).state is State.CONTINUING
    assert _mews(_record(*rounds), as_of=ago(15)).state is State.NEW
    assert _mews(_record(*rounds, (1.0, low))).state is State.SETTLING


def test_an_old_run_is_followed_to_its_beginning() -> None:
    """The timeline of a secondary score is short, the run it is in is not cut off."""
    high = (70, 40, 12, "37", A)
    rounds = [(float(hours), high) for hours in range(0, 24 * 10, 6)]
    assert _mews(_record(*rounds)).since == ago(24 * 10 - 6)


class TestWhoIsScored:
    ROW: _Row = (120, 80, 12, "37", A)

    @pytest.mark.parametrize(
        ("born", "rest", "why"),
        [
            pytest.param(date(2010, 3, 13), {}, "paediatric", id="a-day-before-16"),
            pytest.param(
                date(1996, 1, 1),
                {"conditions": (condition(ConditionKind.PREGNANCY, began=2000),)},
                "maternity",
                id="pregnant",
            ),
        ],
    )
    def test_who_is_not_says_why(self, born: date, rest: dict[str, Any], why: str) -> None:
        score = _mews(_record((1, self.ROW), born=born, **rest))
        assert score.kind is Kind.SCORE_NOT_APPLICABLE
        assert why in score.not_applicable
        assert (score.total, score.parts) == (None, ())

    def test_from_16_years(self) -> None:
        assert _mews(_record((1, self.ROW), born=date(2010, 3, 12))).total == 0

    def test_an_unknown_age_is_said(self) -> None:
        score = _mews(_record((1, self.ROW), born=None))
        assert (score.total, "Age is not recorded" in score.cautions[0]) == (0, True)

    def test_a_site_that_does_not_use_it(self) -> None:
        assert scores(_record((1, self.ROW)), "mews", choices=LocalChoices(scores=("news2",))) == []
