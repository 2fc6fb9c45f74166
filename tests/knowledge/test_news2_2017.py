"""NEWS2 against Chart 1 and Chart 4 of the report (Royal College of Physicians, December 2017)."""

import dataclasses
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.knowledge.printed_rows import both_ends
from weatherglass.knowledge.scores import news2_2017 as news2
from weatherglass.model.numbers.quantities import Quantity, Unit, UnitMismatchError
from weatherglass.model.plain import replace
from weatherglass.model.signals import ACVPU, Consciousness, OxygenDelivery
from weatherglass.model.tables.bands import BandTable, ChoiceTable
from weatherglass.model.tables.scores import ScoreParameter

BAND_TABLES = {
    "respiration": news2.RESPIRATION_RATE,
    "spo2-scale-1": news2.SPO2_SCALE_1,
    "spo2-scale-2-air": news2.SPO2_SCALE_2_ON_AIR,
    "spo2-scale-2-oxygen": news2.SPO2_SCALE_2_ON_OXYGEN,
    "systolic-pressure": news2.SYSTOLIC_PRESSURE,
    "pulse": news2.PULSE,
    "temperature": news2.TEMPERATURE,
}


class TestPrintedRows:
    """Chart 1, typed a second time from the chart, each row at both of its ends."""

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends([(None, "8", 3), ("9", "11", 1), ("12", "20", 0), ("21", "24", 2), ("25", None, 3)]),
    )
    def test_respiration_rate(self, value: Decimal, points: int) -> None:
        """Row "Respiration rate (per minute)"."""
        assert news2.RESPIRATION_RATE.points(Quantity(value, Unit.PER_MINUTE)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends([(None, "91", 3), ("92", "93", 2), ("94", "95", 1), ("96", None, 0)]),
    )
    def test_saturation_on_scale_1(self, value: Decimal, points: int) -> None:
        """Row "SpO2 Scale 1 (%)"."""
        assert news2.SPO2_SCALE_1.points(Quantity(value, Unit.PERCENT)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends([(None, "83", 3), ("84", "85", 2), ("86", "87", 1), ("88", "92", 0), ("93", None, 0)]),
    )
    def test_saturation_on_scale_2_on_air(self, value: Decimal, points: int) -> None:
        """Row "SpO2 Scale 2 (%)": 88-92, and 93 or more on air, score 0."""
        assert news2.SPO2_SCALE_2_ON_AIR.points(Quantity(value, Unit.PERCENT)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends(
            [
                (None, "83", 3),
                ("84", "85", 2),
                ("86", "87", 1),
                ("88", "92", 0),
                ("93", "94", 1),
                ("95", "96", 2),
                ("97", None, 3),
            ]
        ),
    )
    def test_saturation_on_scale_2_on_oxygen(self, value: Decimal, points: int) -> None:
        """Row "SpO2 Scale 2 (%)", the columns "on oxygen"."""
        assert news2.SPO2_SCALE_2_ON_OXYGEN.points(Quantity(value, Unit.PERCENT)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends(
            [(None, "90", 3), ("91", "100", 2), ("101", "110", 1), ("111", "219", 0), ("220", None, 3)]
        ),
    )
    def test_systolic_pressure(self, value: Decimal, points: int) -> None:
        """Row "Systolic blood pressure (mmHg)"."""
        assert news2.SYSTOLIC_PRESSURE.points(Quantity(value, Unit.MILLIMETRE_OF_MERCURY)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends(
            [
                (None, "40", 3),
                ("41", "50", 1),
                ("51", "90", 0),
                ("91", "110", 1),
                ("111", "130", 2),
                ("131", None, 3),
            ]
        ),
    )
    def test_pulse(self, value: Decimal, points: int) -> None:
        """Row "Pulse (per minute)"."""
        assert news2.PULSE.points(Quantity(value, Unit.PER_MINUTE)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends(
            [
                (None, "35.0", 3),
                ("35.1", "36.0", 1),
                ("36.1", "38.0", 0),
                ("38.1", "39.0", 1),
                ("39.1", None, 2),
            ]
        ),
    )
    def test_temperature(self, value: Decimal, points: int) -> None:
        """Row "Temperature (°C)"."""
        assert news2.TEMPERATURE.points(Quantity(value, Unit.DEGREE_CELSIUS)) == points

    @pytest.mark.parametrize("answer", ACVPU)
    def test_consciousness(self, answer: Consciousness) -> None:
        """Row "Consciousness": alert 0; C, V, P or U 3."""
        assert news2.CONSCIOUSNESS.points_of(answer) == (0 if answer is Consciousness.ALERT else 3)

    @pytest.mark.parametrize("delivery", list(OxygenDelivery))
    def test_air_or_oxygen(self, delivery: OxygenDelivery) -> None:
        """Row "Air or oxygen?": air 0, oxygen by any device 2."""
        assert news2.AIR_OR_OXYGEN.points_of(delivery) == (0 if delivery is OxygenDelivery.AIR else 2)


class TestBetweenTheRows:
    """The chart is silent between its rows; our stated rule is to round half up."""

    @pytest.mark.parametrize(
        ("value", "points"),
        [
            pytest.param("38.04", 0, id="38.04-is-38.0"),
            pytest.param("38.05", 1, id="38.05-is-38.1"),
            pytest.param("39.04", 1, id="39.04-is-39.0"),
            pytest.param("39.05", 2, id="39.05-is-39.1"),
            pytest.param("35.04", 3, id="35.04-is-35.0"),
            pytest.param("35.05", 1, id="35.05-is-35.1"),
        ],
    )
    def test_temperature_is_rounded_to_a_tenth(self, value: str, points: int) -> None:
        """A temperature is read at the chart's one decimal, halves upwards."""
        assert news2.TEMPERATURE.points(Quantity(Decimal(value), Unit.DEGREE_CELSIUS)) == points

    def test_breathing_rate_is_rounded_to_whole_breaths(self) -> None:
        """20.4 is read as 20, 20.5 as 21."""
        assert news2.RESPIRATION_RATE.points(Quantity(Decimal("20.4"), Unit.PER_MINUTE)) == 0
        assert news2.RESPIRATION_RATE.points(Quantity(Decimal("20.5"), Unit.PER_MINUTE)) == 2


def _total(
    breaths: str, saturation: str, scale: int, oxygen: bool, pressure: str, pulse: str, acvpu: str, heat: str
) -> tuple[list[int], int]:
    """Add up one complete set by hand, from the tables alone."""
    saturation_table = news2.SPO2_SCALE_1
    if scale == 2:
        saturation_table = news2.SPO2_SCALE_2_ON_OXYGEN if oxygen else news2.SPO2_SCALE_2_ON_AIR
    words = {"A": "alert", "C": "new-confusion", "V": "voice", "P": "pain", "U": "unresponsive"}
    points = [
        news2.RESPIRATION_RATE.points_of(Decimal(breaths)),
        saturation_table.points_of(Decimal(saturation)),
        news2.AIR_OR_OXYGEN.points_of(OxygenDelivery.OXYGEN if oxygen else OxygenDelivery.AIR),
        news2.SYSTOLIC_PRESSURE.points_of(Decimal(pressure)),
        news2.PULSE.points_of(Decimal(pulse)),
        news2.CONSCIOUSNESS.points_of(Consciousness(words[acvpu])),
        news2.TEMPERATURE.points_of(Decimal(heat)),
    ]
    return points, sum(points)


@pytest.mark.parametrize(
    ("given_set", "points", "total", "tier"),
    [
        pytest.param(
            ("16", "97", 1, False, "120", "75", "A", "37.0"), [0, 0, 0, 0, 0, 0, 0], 0, "0", id="all-normal"
        ),
        pytest.param(
            ("8", "96", 1, False, "120", "75", "A", "37.0"),
            [3, 0, 0, 0, 0, 0, 0],
            3,
            "3 in one parameter",
            id="one-red-row",
        ),
        pytest.param(
            # Inputs of UKCore-Bundle-NEWS2Observations-Example (HL7 UK Core). The example
            # prints temperature 1 and total 6; by Chart 1 a temperature of 37.5 scores 0.
            ("21", "93", 1, False, "120", "95", "A", "37.5"),
            [2, 2, 0, 0, 1, 0, 0],
            5,
            "5-6",
            id="published-example-recomputed",
        ),
        pytest.param(
            # A 2021 NHS messaging example: it prints 6; Chart 1 gives 10.
            ("38", "98", 1, False, "84", "92", "V", "37"),
            [3, 0, 0, 3, 1, 3, 0],
            10,
            "7 or more",
            id="messaging-example-recomputed",
        ),
        pytest.param(
            ("28", "90", 1, True, "85", "135", "V", "39.4"),
            [3, 3, 2, 3, 3, 3, 2],
            19,
            "7 or more",
            id="nineteen",
        ),
        pytest.param(
            ("25", "91", 1, True, "90", "131", "U", "35.0"),
            [3, 3, 2, 3, 3, 3, 3],
            20,
            "7 or more",
            id="highest-possible",
        ),
        pytest.param(
            ("22", "94", 1, True, "105", "112", "A", "38.4"),
            [2, 1, 2, 1, 2, 0, 1],
            9,
            "7 or more",
            id="nine-without-a-red-row",
        ),
        pytest.param(
            ("18", "89", 2, True, "118", "88", "A", "36.8"), [0, 0, 2, 0, 0, 0, 0], 2, "1-4", id="scale-2"
        ),
        pytest.param(
            ("18", "89", 1, True, "118", "88", "A", "36.8"),
            [0, 3, 2, 0, 0, 0, 0],
            5,
            "5-6",
            id="same-patient-on-scale-1",
        ),
        pytest.param(
            ("8", "88", 2, False, "100", "48", "P", "34.9"),
            [3, 0, 0, 2, 1, 3, 3],
            12,
            "7 or more",
            id="scale-2-on-air",
        ),
    ],
)
def test_complete_sets(
    given_set: tuple[str, str, int, bool, str, str, str, str], points: list[int], total: int, tier: str
) -> None:
    """Whole sets, added up from Chart 1 by hand (constructed unless the id says otherwise)."""
    found, found_total = _total(*given_set)
    assert (found, found_total) == (points, total)
    reached = news2.NEWS2.tier_for(total=found_total, highest_single=max(found))
    assert reached is not None
    assert reached.label == tier


class TestResponse:
    """Chart 4: what is asked for at which score."""

    @pytest.mark.parametrize(
        ("total", "highest", "label"),
        [
            pytest.param(0, 0, "0"),
            pytest.param(1, 1, "1-4"),
            pytest.param(4, 2, "1-4"),
            pytest.param(3, 3, "3 in one parameter"),
            pytest.param(4, 3, "3 in one parameter"),
            pytest.param(5, 2, "5-6"),
            pytest.param(6, 3, "5-6", id="total-decides-before-one-red-row"),
            pytest.param(7, 1, "7 or more"),
            pytest.param(20, 3, "7 or more"),
        ],
    )
    def test_tier(self, total: int, highest: int, label: str) -> None:
        """Each tier begins where Chart 4 prints it."""
        tier = news2.NEWS2.tier_for(total=total, highest_single=highest)
        assert tier is not None
        assert tier.label == label

    @pytest.mark.parametrize(
        ("tier", "interval"),
        [
            pytest.param(news2.ZERO, timedelta(hours=12), id="0-twelve-hourly"),
            pytest.param(news2.LOW, timedelta(hours=6), id="1-4-four-to-six-hourly"),
            pytest.param(news2.SINGLE_RED, timedelta(hours=1), id="one-red-row-hourly"),
            pytest.param(news2.URGENT, timedelta(hours=1), id="5-6-hourly"),
        ],
    )
    def test_longest_monitoring_interval(self, tier: object, interval: timedelta) -> None:
        """Chart 4, column "Frequency of monitoring"; the longer end of a printed range."""
        assert isinstance(tier, type(news2.ZERO))
        assert tier.observe_every == interval

    def test_emergency_deadlines(self) -> None:
        """Within 30 minutes at 7 and 1 hour at 5 (a published restatement of RCP practice)."""
        assert (news2.EMERGENCY.within, news2.URGENT.within) == (
            timedelta(minutes=30),
            timedelta(hours=1),
        )
        assert news2.EMERGENCY.observe_every == timedelta(hours=1)  # Ours; Chart 4: continuous.

    def test_oxygen_alone_never_opens_the_single_parameter_tier(self) -> None:
        """The row "Air or oxygen?" has at most 2 points."""
        assert news2.AIR_OR_OXYGEN.highest == 2

    def test_every_possible_score_has_a_tier(self) -> None:
        """No total falls through the thresholds."""
        for total in range(21):
            for highest in range(min(total, 3) + 1):
                assert news2.NEWS2.tier_for(total=total, highest_single=highest) is not None


class TestDefinition:
    """The definition as a whole."""

    def test_printed_range(self) -> None:
        """The report prints 0 to 20."""
        assert news2.NEWS2.range == (0, 20)

    def test_a_mistyped_range_is_refused(self) -> None:
        """A definition whose rows do not add up to the printed range cannot be built."""
        with pytest.raises(ValueError, match="rows reach"):
            dataclasses.replace(news2.NEWS2, range=(0, 21))

    def test_a_mistyped_row_is_refused(self) -> None:
        """A table with a missing row cannot be built."""
        rows = news2.PULSE.bands
        with pytest.raises(ValueError, match="not one step"):
            BandTable(
                unit=news2.PULSE.unit,
                step=news2.PULSE.step,
                gap_rule=news2.PULSE.gap_rule,
                bands=(rows[0], *rows[2:]),
                source=news2.PULSE.source,
            )

    def test_stand_in_needs_its_parameter(self) -> None:
        """A stand-in for a parameter that the score does not have cannot be built."""
        stray = replace(news2.SPO2_SCALE_2_ON_AIR_ROW, replaces="spo2-scale-9")
        with pytest.raises(ValueError, match="spo2-scale-9"):
            dataclasses.replace(news2.NEWS2, alternatives=(stray,))

    def test_sub_score_keys(self) -> None:
        """The published names of the sub-scores, on which readers of the output rely."""
        rows: tuple[ScoreParameter, ...] = (*news2.NEWS2.parameters, *news2.NEWS2.alternatives)
        assert {row.key for row in rows} == {
            "respiration",
            "spo2-scale-1",
            "spo2-scale-2",
            "air-or-oxygen",
            "systolic-pressure",
            "pulse",
            "consciousness",
            "temperature",
        }

    def test_every_table_points_to_chart_1(self) -> None:
        """Every row names its place in the report."""
        for row, table in news2.NEWS2.tables():
            assert table.source.locator.startswith("Chart 1, row"), row.key

    def test_every_answer_is_scored(self) -> None:
        """Coded rows list every answer of their scale."""
        for table, scale in (
            (news2.CONSCIOUSNESS, ACVPU),
            (news2.AIR_OR_OXYGEN, OxygenDelivery),
        ):
            assert isinstance(table, ChoiceTable)
            assert set(table.points_by_choice) == set(scale)

    def test_other_units_are_refused(self) -> None:
        """A temperature cannot be read as a pulse."""
        with pytest.raises(UnitMismatchError):
            news2.PULSE.points(Quantity(Decimal(37), Unit.DEGREE_CELSIUS))


@pytest.mark.property
@pytest.mark.parametrize("name", BAND_TABLES)
class TestProperties:
    """What holds for every value, printed or not."""

    @given(value=st.decimals(min_value=-50, max_value=400, places=3))
    def test_no_value_falls_through(self, name: str, value: Decimal) -> None:
        """Every number scores one of the printed points."""
        assert BAND_TABLES[name].points_of(value) in {0, 1, 2, 3}

    @given(
        first=st.decimals(min_value=0, max_value=400, places=2),
        second=st.decimals(min_value=0, max_value=400, places=2),
    )
    def test_points_grow_away_from_normal(self, name: str, first: Decimal, second: Decimal) -> None:
        """Further from the normal row never scores less, on either side of it."""
        table = BAND_TABLES[name]
        normal = [row for row in table.bands if row.points == 0]
        low, high = normal[0].low, normal[-1].high
        nearer, further = sorted((first, second))
        if low is not None and further <= low:
            assert table.points_of(nearer) >= table.points_of(further)
        if high is not None and nearer >= high:
            assert table.points_of(further) >= table.points_of(nearer)

    @given(value=st.decimals(min_value=0, max_value=400, places=3))
    def test_reading_a_value_does_not_change_its_points(self, name: str, value: Decimal) -> None:
        """The value as the table reads it scores what the raw value scores."""
        table = BAND_TABLES[name]
        assert table.points_of(table.read_as(value)) == table.points_of(value)
