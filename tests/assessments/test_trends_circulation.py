"""Systolic pressure and pulse against the patient's own normal.

NICE NG51, 2016 (systolic 90 or less, more than 40 below normal; heart rate above 130).
The own normal, the pulse rule and the steady trend are our choices. Points are those of
RCP NEWS2 2017, Chart 1; rank statistics are compared with SciPy.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, answers, chart, condition, findings, measures_of, order, reading, rounds
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.numbers.statistics import mann_kendall
from weatherglass.model.record.care import Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

SBP, HR = Signal.SYSTOLIC_PRESSURE, Signal.PULSE
E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
#: Three readings whose median is 140, older than 6 hours.
USUAL = [(41.0, 138), (31.0, 140), (21.0, 142)]


def _trend(record: Record, key: str) -> Finding | None:
    return findings(record, Kind.VITAL_SIGN_TREND).get(key)


def _pressure(record: Record) -> Finding | None:
    """Return the sign that calls, or else the trend; never both."""
    found = [
        findings(record, kind).get("systolic-pressure") for kind in (Kind.SINGLE_SIGN, Kind.VITAL_SIGN_TREND)
    ]
    assert None in found
    return found[0] or found[1]


class TestFallFromTheOwnNormal:
    """More than 40 below the median of 7 days without the last 6 hours."""

    @pytest.mark.parametrize(
        ("values", "urgency"),
        [
            pytest.param([*USUAL, (1, 99)], U, id="99-is-certain-at-once"),
            pytest.param([*USUAL, (1, 100)], None, id="100-down-40-is-not-more-than-40"),
            pytest.param([(40, 150), (30, 150), (20, 150), (1, 110)], None, id="110-down-40-once"),
            pytest.param([(40, 150), (30, 150), (20, 150), (1, 109)], P, id="109-down-41-once"),
            pytest.param([(40, 150), (30, 150), (20, 150), (2, 109), (1, 109)], E, id="109-twice"),
            pytest.param([(40, 150), (30, 150), (20, 150), (2, 120), (1, 109)], P, id="only-the-second"),
            pytest.param([(40, 150), (30, 150), (20, 150), (7.1, 109), (1, 109)], P, id="7-hours-apart"),
            pytest.param([*USUAL, (2, 99), (1, 99)], E, id="99-twice"),
            pytest.param([(30, 140), (20, 142), (1, 99)], None, id="two-readings-are-no-normal"),
            pytest.param([(169.1, 150), (30, 140), (20, 142), (1, 99)], None, id="one-older-than-7-days"),
            pytest.param([(169, 150), (30, 140), (20, 142), (1, 99)], U, id="7-days-to-the-hour"),
            pytest.param([(30, 140), (20, 142), (7, 140), (1, 99)], None, id="6-hours-are-left-out"),
            pytest.param([(30, 140), (20, 142), (7.1, 140), (1, 99)], U, id="older-than-6-hours-counts"),
        ],
    )
    def test_fall(self, values: list[tuple[float, int]], urgency: Urgency | None) -> None:
        """Both ends of the fall, of the window, of its gap and of the confirmation."""
        found = _pressure(chart({SBP: values}))
        assert (found.urgency if found else None) == urgency
        if found is not None:
            assert "own normal" in found.decided_by

    def test_measures(self) -> None:
        """The own normal and its middle half are there for whoever draws the chart."""
        found = _pressure(chart({SBP: [*USUAL, (1, 95)]}))
        assert found is not None
        measured = measures_of(found)
        assert measured["fall"] == 45
        assert (measured["usual-low"], measured["usual-median"], measured["usual-high"]) == (139, 140, 141)

    def test_a_first_fall_asks_for_another_reading(self) -> None:
        """Usual 150, now 109: measured again before anybody is called (our choice)."""
        found = _pressure(chart({SBP: [(40, 150), (30, 150), (20, 150), (1, 109)]}))
        assert found is not None
        assert found.sentence == (
            "Systolic pressure 109 mmHg: 41 below the usual 150. Repeat the pressure now."
        )

    def test_a_first_fall_that_is_not_confirmed_is_gone(self) -> None:
        """The next reading is as usual: nothing is told."""
        assert _pressure(chart({SBP: [(40, 150), (30, 150), (20, 150), (2, 109), (1, 148)]})) is None

    def test_the_call_counts_from_the_step_up(self) -> None:
        """Two falls in a row: the emergency begins with the one that confirms."""
        found = _pressure(chart({SBP: [(40, 150), (30, 150), (20, 150), (3, 109), (2, 108), (1, 107)]}))
        assert found is not None
        assert (found.since, found.asked_since) == (ago(3), ago(2))

    @pytest.mark.parametrize(("value", "urgency"), [(91, None), (90, U), (89, E)])
    def test_low_whatever_is_usual(self, value: int, urgency: Urgency | None) -> None:
        """90 or less without any history (NICE 2016); below 90 calls at once (MERIT)."""
        found = _pressure(chart({SBP: [(1, value)]}))
        assert (found.urgency if found else None) == urgency
        if found is not None:
            assert any("what is usual is not known" in caution for caution in found.cautions)

    def test_mean_pressure_is_said(self) -> None:
        """A mean pressure below 65 recorded with it (Surviving Sepsis Campaign)."""
        for mean, said in ((64, True), (65, False)):
            found = _pressure(chart({SBP: [(1, 88)], Signal.MEAN_PRESSURE: [(1, mean)]}))
            assert found is not None
            assert ("mean pressure" in found.sentence) == said

    @pytest.mark.parametrize(
        ("values", "state", "since"),
        [
            pytest.param([*USUAL, (3, 95)], State.NEW, 3, id="new"),
            pytest.param([*USUAL, (14, 95), (2, 95)], State.CONTINUING, 14, id="continuing"),
            pytest.param([*USUAL, (14, 95), (8, 120), (3, 95)], State.CONTINUING, 14, id="lapse-bridged"),
            pytest.param([*USUAL, (14, 95), (2, 88)], State.NEW, 14, id="below-90-is-worse"),
            pytest.param([*USUAL, (14, 95), (2, 130)], State.SETTLING, 14, id="settling"),
        ],
    )
    def test_states(self, values: list[tuple[float, int]], state: State, since: float) -> None:
        """At most one alert in 12 hours, unless it worsens."""
        found = _pressure(chart({SBP: values}))
        assert found is not None
        assert (found.state, found.since) == (state, ago(since))
        assert (found.urgency is R) == (state is State.SETTLING)

    def test_a_child(self) -> None:
        """Children have other normal pressures."""
        assert _pressure(chart({SBP: [(1, 85)]}, born=date(2019, 1, 1))) is None

    def test_later_readings_are_not_seen(self) -> None:
        """Nothing after the moment of the review counts, and a day-old reading says nothing."""
        record = chart({SBP: [*USUAL, (1, 85)]})
        assert not findings(record, Kind.VITAL_SIGN_TREND, as_of=ago(2))
        assert _pressure(chart({SBP: [(25, 85)]})) is None


class TestLongStandingLowPressure:
    """A pressure that is low as usual, and what shows whether it is tolerated."""

    LOW = tuple((hours, 94) for hours in (60.0, 40.0, 20.0))

    def _record(
        self,
        newest: int = 94,
        *,
        usual: Any = None,
        urine: str | None = "400",
        alert: Consciousness | None = Consciousness.ALERT,
        lactate: str | None = None,
        **rest: Any,
    ) -> Record:
        numbers: dict[Signal, Any] = {
            SBP: [*(self.LOW if usual is None else usual), (1, newest)],
            Signal.WEIGHT: [(50, 60)],
        }
        if urine is not None:
            # 400 mL in 12 hours at 60 kg is 0.556 mL/kg/h, 359 mL 0.499, 360 mL 0.5.
            numbers[Signal.URINE_VOLUME] = (reading(Signal.URINE_VOLUME, 1, urine, began=13),)
        if lactate is not None:
            numbers[Signal.LACTATE] = [(2, lactate)]
        codes = {CodedSignal.CONSCIOUSNESS: [(1, alert)]} if alert is not None else {}
        return chart(numbers, codes=codes, **rest)

    def _low(self, record: Record) -> Finding | None:
        return findings(record, Kind.LONG_STANDING_LOW_PRESSURE).get("systolic-pressure")

    def test_said_as_such(self) -> None:
        """Low, no lower than usual, tolerated: 'routine', and the score is not touched."""
        found = self._low(self._record())
        assert found is not None
        assert found.urgency is R
        assert found.state is State.CONTINUING
        assert found.since == ago(60)
        assert "no lower than usual" in found.sentence
        assert "The score counts it all the same" in found.sentence
        assert measures_of(found)["urine-rate"] == Decimal("0.555")

    @pytest.mark.parametrize(
        ("newest", "low"),
        [
            pytest.param(84, True, id="10-below-usual"),
            pytest.param(83, False, id="11-below-usual"),
            pytest.param(110, True, id="still-scores"),
            pytest.param(111, False, id="scores-nothing"),
        ],
    )
    def test_near_the_usual(self, newest: int, low: bool) -> None:
        """At most 10 below the own normal, and low enough to score (Chart 1: 110 or less)."""
        assert (self._low(self._record(newest)) is not None) == low

    @pytest.mark.parametrize(
        ("usual", "conditions", "low"),
        [
            pytest.param([(60, 100), (40, 100), (20, 100)], (), True, id="own-normal-100"),
            pytest.param([(60, 101), (40, 101), (20, 101)], (), False, id="own-normal-101"),
            pytest.param([(31, 94), (20, 94), (8, 94)], (), False, id="readings-of-23-hours"),
            pytest.param([(32, 94), (20, 94), (8, 94)], (), True, id="readings-of-24-hours"),
            pytest.param(
                [], (condition(ConditionKind.LOW_PRESSURE_IS_USUAL),), True, id="recorded-without-readings"
            ),
        ],
    )
    def test_long_standing(self, usual: Any, conditions: Any, low: bool) -> None:
        """Long means a day of readings with a normal of 100 or less, or a recorded condition."""
        record = self._record(usual=usual, conditions=conditions)
        assert (self._low(record) is not None) == low

    @pytest.mark.parametrize(
        ("changed", "urgency", "said"),
        [
            pytest.param({"urine": "360"}, R, "tolerated", id="urine-0.5"),
            pytest.param({"urine": "359"}, P, "not kept: urine", id="urine-0.499"),
            pytest.param({"urine": None}, R, "not recorded: urine output", id="urine-not-recorded"),
            pytest.param({"alert": Consciousness.VOICE}, P, "not kept: voice", id="drowsy"),
            pytest.param({"alert": None}, R, "not recorded: alertness", id="alertness-not-recorded"),
            pytest.param({"lactate": "2.1"}, P, "not kept: lactate 2.1", id="lactate-2.1"),
            pytest.param({"lactate": "2.0"}, R, "tolerated", id="lactate-2.0"),
        ],
    )
    def test_tolerated_or_not(self, changed: dict[str, Any], urgency: Urgency, said: str) -> None:
        """Each sign of blood flow kept, not kept, and not recorded."""
        found = self._low(self._record(**changed))
        assert found is not None
        assert found.urgency is urgency
        assert said in found.sentence
        # "Tolerated" is said only where every sign is known and kept.
        assert ("tolerated" in found.sentence) == (said == "tolerated")

    @pytest.mark.parametrize(
        ("changed", "alerts"),
        [
            pytest.param({}, None, id="tolerated"),
            pytest.param({"urine": None}, U, id="not-known-to-be-tolerated"),
            pytest.param({"alert": Consciousness.PAIN}, E, id="not-tolerated"),
        ],
    )
    def test_only_when_tolerated_it_stands_for_the_alert(
        self, changed: dict[str, Any], alerts: Urgency | None
    ) -> None:
        """Below 90 still calls unless it is usual and known to be tolerated; at once where it is not."""
        record = self._record(88, **changed)
        assert self._low(record) is not None
        found = _pressure(record)
        assert (found.urgency if found is not None else None) == alerts

    def test_the_score_is_never_touched(self) -> None:
        """NEWS2 scores 2 for 94 whatever is usual (Chart 1)."""
        record = rounds(*((hours, {SBP: 94}) for hours in (60, 40, 20, 1)))
        score = findings(record, Kind.SCORE)["news2"]
        assert getattr(score, "total", None) == 2
        assert self._low(record) is not None

    def test_not_in_pregnancy(self) -> None:
        """NEWS2 points are not for pregnancy, so they do not tell what is low there."""
        assert self._low(self._record(conditions=(condition(ConditionKind.PREGNANCY),))) is None


class TestPulseThatIsUnsureOrOld:
    """Ours: a pulse known only as an interval makes no trend, and one of last week is none."""

    def test_an_interval(self) -> None:
        unsure = reading(HR, 0, "130", spread=("70", "130"))
        before = [reading(HR, hours, "70") for hours in (30, 20, 15, 10)]
        assert "pulse" not in findings(chart({HR: (*before, unsure)}), Kind.VITAL_SIGN_TREND)

    def test_an_old_course(self) -> None:
        """A rise that ended eight days ago is no trend of now."""
        old = [(h + 200, v) for h, v in ((30, 70), (20, 70), (15, 70), (10, 70), (0, 130))]
        assert "pulse" not in findings(chart({HR: old}), Kind.VITAL_SIGN_TREND)


class TestPulse:
    """Up by 30 from the median of 24 hours, to above 110."""

    @pytest.mark.parametrize(
        ("values", "urgency"),
        [
            pytest.param([(20, 80), (10, 82), (5, 84), (0, 111)], None, id="up-29"),
            pytest.param([(20, 79), (10, 81), (5, 83), (0, 111)], P, id="up-30-to-111"),
            pytest.param([(20, 79), (10, 80), (5, 81), (0, 110)], None, id="up-30-to-110"),
            pytest.param([(20, 79), (10, 80), (5, 81), (0, 130)], P, id="to-130"),
            pytest.param([(20, 79), (10, 80), (5, 81), (0, 131)], U, id="to-131"),
            pytest.param([(24.1, 80), (10, 80), (5, 80), (0, 120)], None, id="two-readings-of-the-day"),
            pytest.param([(24, 80), (10, 80), (5, 80), (0, 120)], P, id="three-readings-of-the-day"),
        ],
    )
    def test_rise(self, values: list[tuple[float, int]], urgency: Urgency | None) -> None:
        """Both ends of the rise, of the floor, of the high limit and of the window."""
        found = _trend(chart({HR: values}), "pulse")
        assert (found.urgency if found else None) == urgency
        if found is not None:
            assert "median-24-hours" in measures_of(found)

    def test_beta_blocker(self) -> None:
        """A beta-blocker may understate the rise."""
        record = chart(
            {HR: [(20, 70), (10, 70), (5, 70), (0, 115)]}, orders=(order("Bisoprolol", "beta-blocker"),)
        )
        found = _trend(record, "pulse")
        assert found is not None
        assert any("beta-blocker" in caution for caution in found.cautions)

    def test_settling(self) -> None:
        """Back to its median it is settling."""
        found = _trend(chart({HR: [(30, 70), (20, 70), (15, 70), (10, 120), (0, 72)]}), "pulse")
        assert found is not None
        assert (found.state, found.since, found.urgency) == (State.SETTLING, ago(10), R)


class TestSteadyTrend:
    """Rank statistics over at most 48 hours, and 2 points more in NEWS2."""

    #: Pressure that falls from 128 (0 points) to 98 (2 points) in 12 readings.
    FALLING = tuple(
        (46 - 4 * n, value)
        for n, value in enumerate((128, 126, 124, 121, 118, 115, 112, 110, 107, 104, 101, 98))
    )

    def test_agrees_with_scipy(self) -> None:
        """`scipy.stats.theilslopes` and `kendalltau` are the reference."""
        from scipy import stats

        found = _pressure(chart({SBP: self.FALLING}))
        assert found is not None
        assert found.urgency is P
        days, values = [-hours / 24 for hours, _ in self.FALLING], [value for _, value in self.FALLING]
        measured = measures_of(found)
        assert float(measured["slope-per-day"]) == pytest.approx(
            stats.theilslopes(values, days).slope, rel=1e-4
        )
        assert measured["probability"] == mann_kendall([Decimal(v) for v in values]).p_two_sided
        assert "falling steadily, from 128 to 98 mmHg in 44 hours" in found.sentence

    @pytest.mark.parametrize(
        ("values", "told"),
        [
            pytest.param([128, 120, 112, 105, 101], False, id="one-point"),
            pytest.param([128, 120, 112, 105, 100], True, id="two-points"),
            pytest.param([128, 112, 105, 100], False, id="four-points-are-not-enough-for-two-sides"),
            pytest.param([128, 105, 120, 101, 110, 100], False, id="up-and-down"),
        ],
    )
    def test_statistics_and_size(self, values: list[int], told: bool) -> None:
        """Five falling readings have a two-sided probability of 0.0167; four of 0.083."""
        series = [(3.0 * (len(values) - 1 - n), value) for n, value in enumerate(values)]
        assert (_pressure(chart({SBP: series})) is not None) == told

    def test_readings_of_one_hour_count_once(self) -> None:
        """Twelve readings in half an hour are no trend."""
        series = [(0.5 - n / 24, 128 - 3 * n) for n in range(12)]
        found = _pressure(chart({SBP: series}))
        assert found is None

    def test_older_than_48_hours_is_left_out(self) -> None:
        """A fall that was over two days ago is no trend now."""
        series = [(60 + 4 * (11 - n), value) for n, (_, value) in enumerate(self.FALLING)]
        flat = [(hours, 98) for hours in (40, 30, 20, 10, 0)]
        found = _pressure(chart({SBP: [*series, *flat]}))
        assert found is None or "steadily" not in found.sentence

    def test_beside_a_high_score_it_is_routine(self) -> None:
        """At a NEWS2 of 5 or more the score has said it already."""
        course = [(hours, {SBP: value, HR: 115, Signal.TEMPERATURE: "38.5"}) for hours, value in self.FALLING]
        found = _pressure(rounds(*course))
        assert found is not None
        assert found.urgency is R

    @pytest.mark.parametrize(
        ("signal", "values", "key"),
        [
            pytest.param(
                Signal.RESPIRATION_RATE, (15, 14, 13, 12, 11, 10, 9, 8), "respiration-rate", id="slow"
            ),
            pytest.param(
                Signal.RESPIRATION_RATE, (15, 16, 17, 18, 19, 20, 21), "respiration-rate", id="fast"
            ),
            pytest.param(Signal.SPO2, (98, 97, 96, 95, 94, 93), "spo2", id="saturation"),
            pytest.param(
                Signal.TEMPERATURE,
                ("37.0", "37.5", "38.0", "38.5", "39.0", "39.1"),
                "temperature",
                id="temperature",
            ),
            pytest.param(HR, (80, 88, 96, 104, 112), "pulse", id="pulse"),
        ],
    )
    def test_every_vital_sign(self, signal: Signal, values: tuple[Any, ...], key: str) -> None:
        """Each sign that NEWS2 scores is followed, in either direction."""
        series = [(3.0 * (len(values) - 1 - n), value) for n, value in enumerate(values)]
        found = _trend(chart({signal: series}), key)
        assert found is not None
        assert found.state is State.NEW
        assert "slope-per-day" in measures_of(found)

    def test_ended_lately_is_settling(self) -> None:
        """A trend that stopped within a day is settling."""
        series = [*((hours + 6, value) for hours, value in self.FALLING), (0, 126)]
        found = _pressure(chart({SBP: series}))
        assert found is not None
        assert (found.state, found.urgency) == (State.SETTLING, R)

    @pytest.mark.parametrize(
        ("device", "state"),
        [
            pytest.param(OxygenDelivery.NASAL_CANNULA, State.SETTLING, id="the-same"),
            pytest.param(OxygenDelivery.RESERVOIR_MASK, State.CONTINUING, id="more"),
        ],
    )
    def test_a_fall_that_ended_with_more_oxygen_is_not_settling(
        self, device: OxygenDelivery, state: State
    ) -> None:
        """Ours: a saturation held up by oxygen tells nothing of getting better."""
        series = [*((3.0 * (5 - n) + 6, value) for n, value in enumerate((98, 97, 96, 95, 94, 93))), (0, 97)]
        given = [(hours, OxygenDelivery.NASAL_CANNULA) for hours, _ in series[:-1]]
        record = chart({Signal.SPO2: series}, codes={CodedSignal.OXYGEN_DELIVERY: [*given, (0, device)]})
        found = _trend(record, "spo2")
        assert found is not None
        assert (found.state, found.urgency) == (state, R)
        assert ("more oxygen" in found.sentence) == (state is State.CONTINUING)

    def test_not_where_news2_is_not_meant(self) -> None:
        """The size is told in points of NEWS2, and in pregnancy by a size of its own."""
        assert _pressure(chart({SBP: self.FALLING}, born=date(2018, 1, 1))) is None
        pregnant = (condition(ConditionKind.PREGNANCY),)
        found = _pressure(chart({SBP: self.FALLING}, conditions=pregnant))
        assert found is not None
        assert "NEWS2" not in found.decided_by


def test_confusion_that_is_usual_does_not_count_against_the_pressure() -> None:
    """Long-standing confusion with a coma scale of 14 is alert for this patient."""
    record = chart(
        {SBP: [(60, 94), (40, 94), (20, 94), (1, 94)], Signal.GCS_TOTAL: [(1, 14)], Signal.GCS_EYE: [(1, 4)]},
        codes={CodedSignal.CONSCIOUSNESS: answers(CodedSignal.CONSCIOUSNESS, [])},
        conditions=(condition(ConditionKind.CHRONIC_CONFUSION),),
    )
    found = findings(record, Kind.LONG_STANDING_LOW_PRESSURE)["systolic-pressure"]
    assert "not kept" not in found.sentence


class TestSteadyInPregnancy:
    """NEWS2 is not for pregnancy: a steady trend has a size of its own there (ours)."""

    def _found(self, signal: Signal, values: list[Any]) -> Finding | None:
        pregnant = condition(ConditionKind.PREGNANCY, began=24 * 200)
        hours = [2 * step + 1 for step in range(len(values))][::-1]
        record = chart({signal: list(zip(hours, values, strict=True))}, conditions=(pregnant,))
        return findings(record, Kind.VITAL_SIGN_TREND).get(signal.value)

    @pytest.mark.parametrize(
        ("signal", "values", "said"),
        [
            pytest.param(Signal.RESPIRATION_RATE, [15, 16, 17, 18, 19, 21], True, id="breathing-up-6-to-21"),
            pytest.param(Signal.RESPIRATION_RATE, [16, 17, 18, 19, 20, 21], False, id="breathing-up-5"),
            pytest.param(Signal.RESPIRATION_RATE, [14, 15, 16, 17, 18, 20], False, id="breathing-to-20"),
            pytest.param(Signal.PULSE, [80, 84, 88, 92, 96, 100], True, id="pulse-up-20-to-100"),
            pytest.param(Signal.PULSE, [81, 84, 88, 92, 96, 100], False, id="pulse-up-19"),
            pytest.param(
                Signal.SYSTOLIC_PRESSURE, [120, 116, 112, 108, 104, 100], True, id="pressure-to-100"
            ),
            pytest.param(
                Signal.SYSTOLIC_PRESSURE, [121, 117, 113, 109, 105, 101], False, id="pressure-to-101"
            ),
            pytest.param(Signal.SPO2, [99, 98, 97, 96, 95, 94], True, id="saturation-to-94"),
            pytest.param(Signal.TEMPERATURE, ["37.0", "37.2", "37.4", "37.6", "37.8", "38.0"], True, id="38"),
        ],
    )
    def test_size(self, signal: Signal, values: list[Any], said: bool) -> None:
        found = self._found(signal, values)
        assert (found is not None) is said
        if found is not None:
            assert found.urgency is Urgency.PROMPT
            assert found.decided_by == "a steady trend that has a size of its own in pregnancy"
            assert "NEWS2" not in found.sentence
            assert all("NEWS2" not in source.locator for source in found.sources)


@pytest.mark.parametrize(
    ("values", "urgency", "asked_since"),
    [
        ([(60, 88), (40, 90), (20, 86), (1, 74)], E, 1),
        ([(60, 88), (40, 90), (20, 86), (3, 76), (1, 74)], E, 3),  # A repeat moves nothing.
        ([(60, 118), (40, 120), (20, 116), (3, 86), (1, 74)], E, 3),
    ],
)
def test_a_fall_below_what_is_low_as_usual(values: Any, urgency: Urgency, asked_since: float) -> None:
    """Our choice: readings that were low as usual began no emergency."""
    calm = [(at, {SBP: value, CodedSignal.CONSCIOUSNESS: Consciousness.ALERT}) for at, value in values]
    found = _pressure(rounds(*calm, conditions=(condition(ConditionKind.LOW_PRESSURE_IS_USUAL),)))
    assert found is not None
    assert (found.urgency, found.asked_since or found.since) == (urgency, ago(asked_since))


def test_a_reading_soon_after_makes_no_trend_younger() -> None:
    """Ours: one reading an hour enters, the newest always; with one more the trend is as old as before."""
    rising = [(8, 12), (6.5, 13), (5, 14), (3.5, 16), (2, 18)]
    before = _trend(chart({Signal.RESPIRATION_RATE: [*rising, (0.5, 25)]}), "respiration-rate")
    after = _trend(chart({Signal.RESPIRATION_RATE: [*rising, (0.5, 25), (0, 25)]}), "respiration-rate")
    assert before is not None
    assert after is not None
    assert after.since == before.since == ago(0.5)


@pytest.mark.parametrize(
    ("told", "pulse", "admitted", "is_emergency"),
    [
        pytest.param((), 75, 60, False, id="low-as-usual"),
        pytest.param((ConditionKind.SEPSIS, 60), 75, 60, True, id="of-an-infection"),
        pytest.param((ConditionKind.BLEEDING, 60), 75, 60, True, id="of-a-bleed"),
        pytest.param((ConditionKind.SEPSIS, 60 + 48), 75, 60, True, id="that-began-two-days-before"),
        pytest.param((ConditionKind.SEPSIS, 60 + 49), 75, 60, False, id="that-began-earlier"),
        pytest.param((ConditionKind.SEPSIS, 30), 75, 30, False, id="low-before-the-stay-already"),
        pytest.param((), 111, 60, True, id="of-a-high-score"),
        pytest.param((), 91, 60, False, id="of-a-score-of-4"),
    ],
)
def test_a_pressure_of_the_illness_is_not_usual(
    told: Any, pulse: int, admitted: float, is_emergency: bool
) -> None:
    """Ours: 84 for two days of sepsis was "no lower than usual", and no emergency."""
    shown = [(hours, {Signal.SYSTOLIC_PRESSURE: 84, Signal.PULSE: pulse}) for hours in (58, 44, 30, 16, 1)]
    record = rounds(
        *shown,
        conditions=(condition(told[0], began=told[1]),) if told else (),
        stays=(Stay(origin=Origin("Encounter/1"), starts=ago(admitted)),),
    )
    found = findings(record, Kind.SINGLE_SIGN).get("systolic-pressure")
    assert (found is not None and found.urgency is Urgency.EMERGENCY) is is_emergency


@pytest.mark.parametrize(("admitted", "said"), [(60, "the 84 of this illness"), (30, "the usual 84")])
def test_a_pressure_of_an_illness_is_not_called_usual(admitted: float, said: str) -> None:
    """Ours: systolic 80 of a sepsis was "4 below the usual 84", and all of these were of that sepsis."""
    shown = [(hours, {Signal.SYSTOLIC_PRESSURE: 84}) for hours in (58, 44, 30, 16)]
    record = rounds(
        *shown,
        (1, {Signal.SYSTOLIC_PRESSURE: 80}),
        conditions=(condition(ConditionKind.SEPSIS, began=admitted),),
        stays=(Stay(origin=Origin("Encounter/1"), starts=ago(admitted)),),
    )
    found = findings(record, Kind.SINGLE_SIGN)["systolic-pressure"]
    assert f"4 below {said}" in found.sentence
    assert f"4 below {said}" in found.brief
