"""Fluid balance: arithmetic over charted time. What is shown, and for how long, is ours."""

from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, bedside, chart, condition, findings, order, reading
from weatherglass.facts.fluid_balance import FluidBalance
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.record.care import Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

IN, OUT, URINE, WEIGHT = Signal.FLUID_INTAKE, Signal.FLUID_OUTPUT, Signal.URINE_VOLUME, Signal.WEIGHT


def _over(signal: Signal, *periods: tuple[float, float, int]) -> list[Measurement]:
    """Return volumes as (from hours before, to hours before, mL)."""
    return [reading(signal, ended, volume, began=began) for began, ended, volume in periods]


def _fluid(numbers: dict[Signal, Any]) -> FluidBalance:
    return bedside(chart(numbers)).fluid_balance


def _shown(numbers: dict[Signal, Any], **rest: Any) -> Finding | None:
    return findings(chart(numbers, **rest), Kind.CONTEXT).get("fluid-balance")


class TestBalance:
    def test_in_less_out(self) -> None:
        day = _fluid({IN: _over(IN, (24, 0, 3000)), URINE: _over(URINE, (24, 0, 1200))}).day
        assert day is not None
        assert (day.difference, day.is_urine_alone) == (Decimal(1800), True)

    def test_a_total_of_what_went_out_holds_the_urine_already(self) -> None:
        numbers = {IN: _over(IN, (24, 0, 3000)), URINE: _over(URINE, (24, 0, 1200))}
        numbers[OUT] = _over(OUT, (24, 0, 1900))
        day = _fluid(numbers).day
        assert day is not None
        assert (day.difference, day.is_urine_alone) == (Decimal(1100), False)

    @pytest.mark.parametrize(("hours", "is_known"), [(19.2, True), (19.1, False)])
    def test_time_that_is_not_charted_is_no_zero(self, hours: float, is_known: bool) -> None:
        """80 % of 24 hours is 19.2."""
        numbers = {IN: _over(IN, (hours, 0, 3000)), URINE: _over(URINE, (24, 0, 1200))}
        day = _fluid(numbers).day
        assert day is not None
        assert (day.difference is not None) is is_known

    @pytest.mark.parametrize("missing", [IN, URINE])
    def test_a_side_that_is_missing_leaves_it_open_and_named(self, missing: Signal) -> None:
        numbers = {IN: _over(IN, (24, 0, 3000)), URINE: _over(URINE, (24, 0, 400))}
        del numbers[missing]
        found = _shown(numbers, conditions=(condition(ConditionKind.HEART_FAILURE),))
        assert found is not None
        assert "balance +" not in found.sentence
        if missing is URINE:
            assert [gap.key for gap in found.missing] == ["fluid-output"]

    def test_what_lies_before_the_day_leaves_at_the_rate_of_its_entry(self) -> None:
        numbers = {IN: _over(IN, (48, 0, 4000)), URINE: _over(URINE, (24, 0, 500))}
        day = _fluid(numbers).day
        assert day is not None
        assert day.taken.volume == 2000

    def test_cumulative_over_a_week(self) -> None:
        days = [(24.0 * (day + 1), 24.0 * day, 2000) for day in reversed(range(7))]
        lost = [(began, ended, 1500) for began, ended, _ in days]
        whole = _fluid({IN: _over(IN, *days), URINE: _over(URINE, *lost)}).cumulative
        assert whole is not None
        assert whole.difference == 3500

    def test_more_charted_time_never_opens_what_is_closed(self) -> None:
        less = {IN: _over(IN, (24, 0, 3000)), URINE: _over(URINE, (24, 0, 1200))}
        more = {IN: _over(IN, (48, 24, 900), (24, 0, 3000)), URINE: less[URINE], WEIGHT: [(1, 80)]}
        first, second = _fluid(less).day, _fluid(more).day
        assert first is not None
        assert second is not None
        assert first.difference == second.difference


class TestUrine:
    def test_with_a_weight(self) -> None:
        urine = _fluid({URINE: _over(URINE, (6, 0, 240)), WEIGHT: [(20, 80)]}).urine
        assert urine is not None
        assert urine.per_kilogram == Decimal("0.500")

    def test_without_one_it_is_bounded(self) -> None:
        """8 mL/h is 0.5 mL/kg/h at 16 kg."""
        urine = _fluid({URINE: _over(URINE, (12, 0, 96))}).urine
        assert urine is not None
        assert (urine.per_kilogram, urine.bound) == (None, Decimal(16))

    def test_urine_of_yesterday_is_not_hourly_urine(self) -> None:
        assert _fluid({URINE: _over(URINE, (40, 25, 900))}).urine is None


class TestWeight:
    @pytest.mark.parametrize(
        ("weights", "change"),
        [
            ([(30, 80), (1, "82.5")], Decimal("2.5")),
            ([(73, 70), (30, 80), (1, 82)], Decimal(2)),
            ([(12.9, 80), (1, 82)], None),
            ([(1, 82)], None),
        ],
    )
    def test_against_the_first_of_three_days(
        self, weights: list[tuple[float, Any]], change: Decimal | None
    ) -> None:
        assert _fluid({WEIGHT: weights}).weight_change == change


class TestGaps:
    def _hourly(self, *ends: float) -> list[Measurement]:
        return _over(URINE, *((end + 1, end, 40) for end in ends))

    @pytest.mark.parametrize(("newest", "has_gap"), [(2.0, False), (2.1, True)])
    def test_more_than_two_hours_without_an_entry(self, newest: float, has_gap: bool) -> None:
        entries = self._hourly(*(newest + hour for hour in (3, 2, 1, 0)))
        assert bool(_fluid({URINE: entries}).gaps) is has_gap

    def test_in_the_middle(self) -> None:
        (gap,) = _fluid({URINE: self._hourly(10, 9, 8, 4, 3, 2, 1, 0)}).gaps
        assert (gap.start, gap.end) == (ago(8), ago(5))

    def test_a_chart_of_shifts_has_none(self) -> None:
        assert _fluid({URINE: _over(URINE, (24, 16, 500), (12, 6, 300))}).gaps == ()


class TestWhereItIsShown:
    def _numbers(self, taken: int, lost: int) -> dict[Signal, Any]:
        return {IN: _over(IN, (24, 0, taken)), URINE: _over(URINE, (24, 0, lost))}

    @pytest.mark.parametrize(
        ("taken", "lost", "is_shown"),
        [(3000, 1001, False), (3000, 1000, True), (1000, 1999, False), (1000, 2000, True)],
    )
    def test_far_from_even(self, taken: int, lost: int, is_shown: bool) -> None:
        assert (_shown(self._numbers(taken, lost)) is not None) is is_shown

    def test_where_it_explains_something(self) -> None:
        failure = condition(ConditionKind.HEART_FAILURE)
        assert _shown(self._numbers(2000, 1500)) is None
        assert _shown(self._numbers(2000, 1500), conditions=(failure,)) is not None


class TestBesideADiuretic:
    """Ours: whether to hold or to keep it hangs on the volume, so what is on record of it stands there."""

    @pytest.mark.parametrize(
        ("numbers", "shown"),
        [
            ({WEIGHT: [(75, 86), (5, 81)]}, "On record: weight 81 kg, -5 since "),
            ({WEIGHT: [(5, 81)]}, ""),
            ({}, ""),
        ],
    )
    def test_what_is_on_record(self, numbers: dict[Signal, Any], shown: str) -> None:
        kidneys = {Signal.CREATININE: [(100, 140), (4, 212)]}
        stay = Stay(origin=Origin("Encounter/e"), starts=ago(90))
        furosemide = order("Furosemide 80 mg", "loop-diuretic")
        record = chart({**kidneys, **numbers}, stays=(stay,), orders=(furosemide,))
        (line,) = findings(record, Kind.MEDICINE).values()
        (volume,) = (said for said in line.cautions if said.startswith("Assess volume status first."))
        assert ("On record:" in volume) is bool(shown)
        assert shown in volume


RETENTION = condition(ConditionKind.URINARY_RETENTION, text="Urinary retention", began=30)


def _much(hourly: int, hours: int, **rest: Any) -> Finding | None:
    numbers = {URINE: _over(URINE, *((back + 1.0, float(back), hourly) for back in reversed(range(hours))))}
    record = chart(numbers, **{"conditions": (RETENTION,), **rest})
    return findings(record, Kind.METABOLIC).get("urine-after-obstruction")


@pytest.mark.parametrize(
    ("hourly", "hours", "rest", "is_told"),
    [
        pytest.param(200, 6, {}, True, id="200-an-hour"),
        pytest.param(199, 6, {}, False, id="less"),
        pytest.param(400, 4, {}, True, id="four-hours"),
        pytest.param(400, 3, {}, False, id="three-hours"),
        pytest.param(400, 6, {"conditions": ()}, False, id="nothing-obstructed"),
        pytest.param(
            400,
            6,
            {"conditions": (condition(ConditionKind.URINARY_RETENTION, text="Retention", began=169),)},
            False,
            id="of-more-than-a-week-ago",
        ),
        pytest.param(
            400, 6, {"orders": (order("Furosemide 40 mg", "loop-diuretic"),)}, False, id="a-diuretic"
        ),
    ],
)
def test_much_urine_after_an_obstruction(
    hourly: int, hours: int, rest: dict[str, Any], *, is_told: bool
) -> None:
    """From memory: 200 mL/h for hours; 420 mL/h with a sodium that rose to 147 were told nowhere."""
    assert (_much(hourly, hours, **rest) is not None) is is_told


def test_a_further_hour_of_it_moves_no_deadline() -> None:
    first, later = _much(400, 10), _much(400, 14)
    assert first is not None
    assert later is not None
    assert first.since == ago(6)
    assert later.since == ago(10)
