"""Rising and sustained NEWS2. No publication sets a limit for a rise: ours are tested here.

Points are those of RCP NEWS2 2017, Chart 1; the thresholds 5 and 7 those of Chart 2. Rank
statistics are compared with SciPy in `test_statistics`.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import TOTALS, ago, chart, condition, findings, measures_of, rounds
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal

RR, SPO2, SBP, HR, TEMP = (
    Signal.RESPIRATION_RATE,
    Signal.SPO2,
    Signal.SYSTOLIC_PRESSURE,
    Signal.PULSE,
    Signal.TEMPERATURE,
)
O2 = CodedSignal.OXYGEN_DELIVERY
NASAL = OxygenDelivery.NASAL_CANNULA

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


def _course(*totals: tuple[float, int], **rest: Any) -> Record:
    return rounds(*((hours, TOTALS[total]) for hours, total in totals), **rest)


def _found(record: Record, **rest: Any) -> Finding | None:
    return findings(record, Kind.SCORE_TREND, **rest).get("news2")


@pytest.mark.parametrize(
    ("totals", "urgency"),
    [
        pytest.param([(10, 0), (0, 2)], None, id="rise-of-2-to-2-is-below-the-floor"),
        pytest.param([(10, 1), (0, 3)], P, id="rise-of-2-to-3"),
        pytest.param([(10, 2), (0, 3)], None, id="rise-of-1"),
        pytest.param([(24, 1), (0, 3)], P, id="lowest-24-hours-before"),
        pytest.param([(24.1, 1), (0, 3)], None, id="lowest-too-old"),
        pytest.param([(20, 3), (10, 1), (0, 3)], P, id="from-the-lowest-not-the-last"),
        pytest.param([(10, 4), (0, 5)], U, id="crossing-5-by-one-point"),
        pytest.param([(10, 6), (0, 7)], E, id="crossing-7-by-one-point"),
        pytest.param([(10, 3), (0, 4)], None, id="one-point-inside-a-band"),
        pytest.param([(10, 5), (0, 5)], U, id="sustained-5-in-two-sets"),
        pytest.param([(30, 5), (0, 5)], U, id="sustained-however-far-apart"),
        pytest.param([(48, 5), (0, 5)], U, id="sustained-over-two-days"),
        pytest.param([(48.1, 5), (0, 5)], None, id="longer-apart-is-another-illness"),
        pytest.param([(10, 7), (0, 7)], E, id="sustained-7"),
        pytest.param([(20, 5), (10, 4), (0, 5)], U, id="4-between-is-a-crossing-again"),
        pytest.param([(0, 9)], None, id="one-set-has-no-trend"),
        pytest.param([(10, 0), (0, 9)], E, id="0-to-9"),
    ],
)
def test_rise_crossing_and_sustained(totals: list[tuple[float, int]], urgency: Urgency | None) -> None:
    """A rise of 2 to 3 or more, a threshold crossed upwards, 5 or more in two sets in a row."""
    found = _found(_course(*totals))
    assert (found.urgency if found else None) == urgency


def test_measures_of_a_rise() -> None:
    """The lowest total, the rise and the number of high sets can be traced."""
    found = _found(_course((20, 1), (6, 5), (3, 6), (0, 9)))
    assert found is not None
    measured = measures_of(found)
    assert measured["total"] == 9
    assert measured["lowest-24-hours"] == 1
    assert measured["rise"] == 8
    assert measured["sets-at-5-or-more"] == 3
    assert any(origin.endswith("-20") for origin in found.evidence)
    assert any(origin.endswith("-0") for origin in found.evidence)


class TestNewlyRed:
    """A parameter that scores 3 and did not within the day before."""

    @pytest.mark.parametrize(
        ("before", "new"),
        [
            pytest.param([(24, {})], True, id="alert-24-hours-before"),
            pytest.param([(24.1, {})], False, id="alert-longer-before"),
            pytest.param(
                [(40, {}), (30, {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE})],
                False,
                id="already-3-for-longer",
            ),
        ],
    )
    def test_single(self, before: list[tuple[float, Any]], new: bool) -> None:
        """Only a 3 that is new within 24 hours is a trend of its own."""
        record = rounds(*before, (0, {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}))
        found = _found(record)
        assert ("newly-3" in measures_of(found) if found else False) == new
        if found is not None and new:
            assert found.urgency is P
            assert "newly 3 points for consciousness" in found.sentence

    def test_oxygen_never_scores_3(self) -> None:
        """Air or oxygen has 2 points at most."""
        assert _found(rounds((10, {}), (0, {O2: NASAL}))) is None


class TestIncomplete:
    """An incomplete set counts by its lowest possible total and is never the lowest of a day."""

    def test_lowest_possible_total(self) -> None:
        """At least 5 after 1 is a rise of at least 4."""
        record = rounds((10, TOTALS[1]), (0, {RR: 22, O2: NASAL, HR: 98, SBP: None}))
        found = _found(record)
        assert found is not None
        assert measures_of(found)["total"] == 5
        assert "at least 5" in found.sentence
        assert any("not complete" in caution for caution in found.cautions)

    @pytest.mark.parametrize(("pulse", "told"), [(75, False), (111, True)])
    def test_one_that_is_surely_below_ends_what_was_sustained(self, pulse: int, told: bool) -> None:
        """Without air or oxygen 0 to 2 is below 5; with 2 points, up to 4; with a fever besides, up to 5."""
        open_one: dict[Any, Any] = {O2: None, HR: pulse, **({TEMP: "39.2"} if told else {})}
        found = _found(rounds((30, TOTALS[5]), (28, TOTALS[5]), (0, open_one)))
        assert (found is not None and "in a row" in found.sentence) == told

    def test_is_no_baseline(self) -> None:
        """A set without a pressure cannot be the lowest total of the day."""
        record = rounds((20, TOTALS[2]), (10, {SBP: None}), (0, TOTALS[3]))
        assert _found(record) is None


class TestStates:
    """New, continuing, settling; lapses of up to 12 hours are one run, worsening is new."""

    @pytest.mark.parametrize(
        ("totals", "state", "since"),
        [
            pytest.param([(30, 0), (5, 3)], None, None, id="window-passed"),
            pytest.param([(20, 0), (5, 3)], State.NEW, 5, id="new"),
            pytest.param([(36, 0), (20, 3), (13, 3)], State.CONTINUING, 13 + 7, id="continuing"),
            pytest.param([(20, 0), (16, 3), (10, 1), (6, 3)], State.CONTINUING, 16, id="lapse-bridged"),
            pytest.param([(20, 0), (16, 3), (2, 6)], State.NEW, 2, id="a-worse-band-is-new"),
            pytest.param([(20, 0), (16, 6), (2, 1)], State.SETTLING, 16, id="settling"),
        ],
    )
    def test_state(self, totals: list[tuple[float, int]], state: State | None, since: float | None) -> None:
        """At most one alert in 12 hours, unless the band worsens."""
        found = _found(_course(*totals))
        assert (found.state if found else None) == state
        assert (found.since if found else None) == (ago(since) if since is not None else None)

    def test_falling_is_said_and_silences_nothing(self) -> None:
        """Down from its highest is said beside what is still true."""
        found = _found(_course((20, 1), (8, 9), (0, 5)))
        assert found is not None
        assert found.urgency is U
        assert "down from 9 at its highest" in found.sentence

    def test_later_sets_are_not_seen(self) -> None:
        """Before the newest set there was no rise."""
        record = _course((10, 0), (0, 9))
        assert _found(record, as_of=ago(1)) is None


class TestSlope:
    """Theil-Sen slope and one-sided Mann-Kendall probability of the totals of a day."""

    def test_agrees_with_scipy(self) -> None:
        """`scipy.stats.theilslopes` and `kendalltau` are the reference."""
        from scipy import stats

        course = [(20, 0), (15, 1), (10, 3), (6, 5), (0, 9)]
        found = _found(_course(*course))
        assert found is not None
        days, totals = [-hours / 24 for hours, _ in course], [total for _, total in course]
        measured = measures_of(found)
        assert float(measured["slope-per-day"]) == pytest.approx(
            stats.theilslopes(totals, days).slope, rel=1e-4
        )
        expected = stats.kendalltau(days, totals, alternative="greater", method="exact").pvalue
        assert float(measured["probability"]) == pytest.approx(expected, abs=1e-6)
        assert "rising steadily" in found.sentence

    def test_three_sets_claim_nothing(self) -> None:
        """Three points can never reach 0.05."""
        found = _found(_course((20, 0), (10, 3), (0, 9)))
        assert found is not None
        assert "probability" not in measures_of(found)


class TestWhoItIsFor:
    """RCP NEWS2 2017: from 16 years, not in pregnancy."""

    def test_a_child(self) -> None:
        """No trend of a score that does not apply."""
        assert _found(_course((10, 0), (0, 9), born=date(2015, 1, 1))) is None

    def test_pregnancy(self) -> None:
        """The same in pregnancy."""
        pregnant = condition(ConditionKind.PREGNANCY)
        assert _found(_course((10, 0), (0, 9), conditions=(pregnant,))) is None


def test_an_old_score_is_no_news() -> None:
    """A rise the day before yesterday says nothing about now."""
    assert _found(_course((40, 0), (25, 9))) is None
    assert _found(chart({Signal.PULSE: [(1, Decimal(80))]})) is None


@pytest.mark.parametrize(
    ("later", "says"),
    [
        pytest.param({HR: "112", TEMP: "38.2"}, "up from 0", id="as-high-as-far-as-known"),
        pytest.param({HR: "100", TEMP: "38.2"}, None, id="lower-and-not-known-to-be-low"),
        pytest.param({HR: "80", SBP: "120", RR: "16", TEMP: "37.0"}, "no longer", id="known-to-be-low"),
    ],
)
def test_an_open_round_does_not_end_what_was_high(later: dict[Any, str], says: str | None) -> None:
    """After NEWS2 7 a pulse and a temperature alone were "no longer rising or high"."""
    gone: dict[Any, Any] = {RR: None, SPO2: None, SBP: None, O2: None, CodedSignal.CONSCIOUSNESS: None}
    found = _found(rounds((10, TOTALS[0]), (4, TOTALS[7]), (1, {**gone, **later})))
    assert (found is not None) is (says is not None)
    assert found is None or (says or "") in found.sentence
