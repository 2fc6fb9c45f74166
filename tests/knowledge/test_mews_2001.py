"""MEWS against the table of Subbe and colleagues, QJM 2001;94:521-526, as reproduced."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.knowledge.printed_rows import both_ends
from weatherglass.knowledge.scores import mews_2001 as mews
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.signals import Consciousness

BAND_TABLES = {
    "systolic-pressure": mews.SYSTOLIC_PRESSURE,
    "pulse": mews.PULSE,
    "respiration": mews.RESPIRATION_RATE,
    "temperature": mews.TEMPERATURE,
}


class TestPrintedRows:
    """Each row at both of its ends."""

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends([(None, "70", 3), ("71", "80", 2), ("81", "100", 1), ("101", "199", 0), ("200", None, 2)]),
    )
    def test_systolic_pressure(self, value: Decimal, points: int) -> None:
        """Row "Systolic BP"; exactly 70 takes the row with more points."""
        assert mews.SYSTOLIC_PRESSURE.points(Quantity(value, Unit.MILLIMETRE_OF_MERCURY)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends(
            [
                (None, "40", 2),
                ("41", "50", 1),
                ("51", "100", 0),
                ("101", "110", 1),
                ("111", "129", 2),
                ("130", None, 3),
            ]
        ),
    )
    def test_pulse(self, value: Decimal, points: int) -> None:
        """Row "Heart rate"; exactly 40 takes the row with more points."""
        assert mews.PULSE.points(Quantity(value, Unit.PER_MINUTE)) == points

    @pytest.mark.parametrize(
        ("value", "points"),
        both_ends([(None, "8", 2), ("9", "14", 0), ("15", "20", 1), ("21", "29", 2), ("30", None, 3)]),
    )
    def test_respiration_rate(self, value: Decimal, points: int) -> None:
        """Row "Respiratory rate"."""
        assert mews.RESPIRATION_RATE.points(Quantity(value, Unit.PER_MINUTE)) == points

    @pytest.mark.parametrize(
        ("value", "points"), both_ends([(None, "34.9", 2), ("35.0", "38.4", 0), ("38.5", None, 2)])
    )
    def test_temperature(self, value: Decimal, points: int) -> None:
        """Row "Temperature"."""
        assert mews.TEMPERATURE.points(Quantity(value, Unit.DEGREE_CELSIUS)) == points

    @pytest.mark.parametrize(
        ("answer", "points"),
        [
            (Consciousness.ALERT, 0),
            (Consciousness.NEW_CONFUSION, 0),
            (Consciousness.VOICE, 1),
            (Consciousness.PAIN, 2),
            (Consciousness.UNRESPONSIVE, 3),
        ],
    )
    def test_consciousness(self, answer: Consciousness, points: int) -> None:
        """Row "AVPU"; there is no row for confusion."""
        assert mews.CONSCIOUSNESS.points_of(answer) == points


@pytest.mark.parametrize(
    ("pressure", "pulse", "breaths", "heat", "answer", "points"),
    [
        ("120", "80", "12", "37", "alert", [0, 0, 0, 0, 0]),
        ("70", "80", "12", "37", "alert", [3, 0, 0, 0, 0]),
        ("80", "40", "12", "37", "alert", [2, 2, 0, 0, 0]),
        ("100", "50", "12", "37", "alert", [1, 1, 0, 0, 0]),
        ("101", "51", "14", "38.4", "alert", [0, 0, 0, 0, 0]),
        ("199", "100", "15", "38.5", "voice", [0, 0, 1, 2, 1]),
        ("200", "101", "20", "34.9", "pain", [2, 1, 1, 2, 2]),
        ("65", "130", "30", "39", "unresponsive", [3, 3, 3, 2, 3]),
        ("120", "111", "21", "37", "alert", [0, 2, 2, 0, 0]),
        ("120", "129", "29", "37", "alert", [0, 2, 2, 0, 0]),
    ],
)
def test_complete_sets(
    pressure: str, pulse: str, breaths: str, heat: str, answer: str, points: list[int]
) -> None:
    """Whole sets, added up from the table by hand (constructed)."""
    assert [
        mews.SYSTOLIC_PRESSURE.points_of(Decimal(pressure)),
        mews.PULSE.points_of(Decimal(pulse)),
        mews.RESPIRATION_RATE.points_of(Decimal(breaths)),
        mews.TEMPERATURE.points_of(Decimal(heat)),
        mews.CONSCIOUSNESS.points_of(Consciousness(answer)),
    ] == points
    tier = mews.MEWS.tier_for(total=sum(points), highest_single=max(points))
    assert tier is (mews.CRITICAL if sum(points) >= 5 else mews.BELOW)


def test_range() -> None:
    """The printed table reaches 14."""
    assert mews.MEWS.range == (0, 14)


@pytest.mark.property
@pytest.mark.parametrize("name", BAND_TABLES)
@given(value=st.decimals(min_value=-50, max_value=400, places=2))
def test_no_value_falls_through(name: str, value: Decimal) -> None:
    """Every number scores one of the printed points."""
    assert BAND_TABLES[name].points_of(value) in {0, 1, 2, 3}
