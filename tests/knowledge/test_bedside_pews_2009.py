"""Bedside PEWS against Table 1 of Parshuram and colleagues, Crit Care 2009;13:R135."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.knowledge.scores import bedside_pews_2009 as pews
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.signals import OxygenDelivery, RespiratoryEffort
from weatherglass.model.sources import Mark

#: Table 1, typed a second time: for each age group the cells of columns 1, 2 and 4 as
#: ("at or above", "at or below").
PRINTED = {
    "heart-rate": [
        ((150, 110), (180, 90), (190, 80)),
        ((150, 100), (170, 80), (180, 70)),
        ((120, 90), (150, 70), (170, 60)),
        ((110, 70), (130, 60), (150, 50)),
        ((100, 60), (120, 50), (140, 40)),
    ],
    "systolic-pressure": [
        ((80, 60), (100, 50), (130, 45)),
        ((100, 80), (120, 70), (150, 60)),
        ((110, 90), (125, 75), (160, 65)),
        ((120, 90), (140, 80), (170, 70)),
        ((130, 100), (150, 85), (190, 75)),
    ],
    "respiration": [
        ((61, 29), (81, 19), (91, 15)),
        ((51, 24), (71, 19), (81, 15)),
        ((41, 19), (61, 15), (71, 12)),
        ((31, 19), (41, 14), (51, 10)),
        ((17, 11), (23, 10), (30, 9)),
    ],
}
TABLES = {
    "heart-rate": pews.HEART_RATE,
    "systolic-pressure": pews.SYSTOLIC_PRESSURE,
    "respiration": pews.RESPIRATION_RATE,
}
ROWS = [(item, group) for item in PRINTED for group in range(5)]


def _by_the_cells(item: str, group: int, value: int) -> int:
    """Score by reading the cells: the highest column with a cell that matches."""
    points = 0
    for column, (above, below) in zip((1, 2, 4), PRINTED[item][group], strict=True):
        if value >= above or value <= below:
            points = column
    return points


@pytest.mark.parametrize(("item", "group"), ROWS, ids=[f"{i}-{pews.AGE_GROUPS[g]}" for i, g in ROWS])
class TestAgeRows:
    """Heart rate, systolic pressure and respiratory rate in five age groups."""

    def test_every_cell_at_its_limit_and_one_beside_it(self, item: str, group: int) -> None:
        """A cell counts at its printed limit and not one short of it."""
        table = TABLES[item][group]
        for column, (above, below) in zip((1, 2, 4), PRINTED[item][group], strict=True):
            assert table.points_of(Decimal(above)) == column
            assert table.points_of(Decimal(below)) == column
            assert table.points_of(Decimal(above - 1)) < column
            assert table.points_of(Decimal(below + 1)) < column

    def test_column_zero_at_both_ends(self, item: str, group: int) -> None:
        """What is printed as "> a and < b" scores nothing at a+1 and at b-1."""
        above, below = PRINTED[item][group][0]
        table = TABLES[item][group]
        assert table.points_of(Decimal(below + 1)) == table.points_of(Decimal(above - 1)) == 0

    def test_every_whole_number(self, item: str, group: int) -> None:
        """The rows say what the cells say, for every whole number to 300."""
        table = TABLES[item][group]
        for value in range(301):
            assert table.points_of(Decimal(value)) == _by_the_cells(item, group, value), value

    @pytest.mark.property
    @given(value=st.decimals(min_value=-10, max_value=400, places=2))
    def test_no_value_falls_through(self, item: str, group: int, value: Decimal) -> None:
        """Every number scores one of the printed sub-scores."""
        assert TABLES[item][group].points_of(value) in {0, 1, 2, 4}


class TestOtherItems:
    """The four items without age groups."""

    @pytest.mark.parametrize(("seconds", "points"), [("0", 0), ("2.9", 0), ("2.99", 0), ("3", 4), ("9", 4)])
    def test_capillary_refill(self, seconds: str, points: int) -> None:
        """Below 3 s nothing, from 3 s four."""
        assert pews.CAPILLARY_REFILL.points(Quantity(Decimal(seconds), Unit.SECOND)) == points

    @pytest.mark.parametrize(
        ("effort", "points"),
        [
            (RespiratoryEffort.NORMAL, 0),
            (RespiratoryEffort.MILD, 1),
            (RespiratoryEffort.MODERATE, 2),
            (RespiratoryEffort.SEVERE, 4),
        ],
    )
    def test_respiratory_effort(self, effort: RespiratoryEffort, points: int) -> None:
        """Mild 1, moderate 2, severe 4 as printed; normal 0 from memory."""
        assert pews.RESPIRATORY_EFFORT.points_of(effort) == points

    @pytest.mark.parametrize(("percent", "points"), [("90", 2), ("91", 1), ("94", 1), ("95", 0), ("100", 0)])
    def test_saturation(self, percent: str, points: int) -> None:
        """90 or less 2 as printed; 91-94 and above 94 from memory."""
        assert pews.SPO2.points(Quantity(Decimal(percent), Unit.PERCENT)) == points

    @pytest.mark.parametrize("delivery", list(OxygenDelivery))
    def test_any_oxygen(self, delivery: OxygenDelivery) -> None:
        """Room air 0, any oxygen at least 2."""
        assert pews.OXYGEN_THERAPY.points_of(delivery) == (0 if delivery is OxygenDelivery.AIR else 2)

    @pytest.mark.parametrize(("litres", "points"), [("0", 0), ("0.1", 2), ("3.9", 2), ("4", 4), ("15", 4)])
    def test_oxygen_flow(self, litres: str, points: int) -> None:
        """Below 4 L/min 2, from 4 L/min 4."""
        assert pews.OXYGEN_FLOW.points(Quantity(Decimal(litres), Unit.LITRE_PER_MINUTE)) == points

    @pytest.mark.parametrize(
        ("fraction", "points"), [("0.21", 0), ("0.22", 2), ("0.495", 2), ("0.5", 4), ("1", 4)]
    )
    def test_oxygen_fraction(self, fraction: str, points: int) -> None:
        """Below 50% 2, from 50% 4."""
        assert pews.OXYGEN_FRACTION.points(Quantity(Decimal(fraction), Unit.FRACTION)) == points

    def test_cells_from_memory_say_so(self) -> None:
        """What could not be read in the copy carries its mark."""
        assert pews.SPO2.source.mark is Mark.FROM_MEMORY
        assert pews.RESPIRATORY_EFFORT.source.mark is Mark.FROM_MEMORY


class TestAgeGroups:
    """Which group an age belongs to."""

    @pytest.mark.parametrize(
        ("months", "label"),
        [
            pytest.param(0, "0-3 months", id="newborn"),
            pytest.param(2, "0-3 months", id="2-completed-months"),
            pytest.param(3, "3-12 months", id="3-months"),
            pytest.param(11, "3-12 months", id="11-months"),
            pytest.param(12, "1-4 years", id="first-birthday"),
            pytest.param(59, "1-4 years", id="day-before-fifth-birthday"),
            pytest.param(60, "4-12 years", id="fifth-birthday"),
            pytest.param(155, "4-12 years", id="day-before-thirteenth-birthday"),
            pytest.param(156, "over 12 years", id="thirteenth-birthday"),
        ],
    )
    def test_edges(self, months: int, label: str) -> None:
        """Completed months; a child of 4 belongs to the younger group."""
        assert [group.label for group in pews.BEDSIDE_PEWS if group.covers(months)] == [label]

    @pytest.mark.property
    @given(months=st.integers(min_value=0, max_value=1500))
    def test_every_age_has_one_group(self, months: int) -> None:
        """No age falls between two groups or into both."""
        assert sum(group.covers(months) for group in pews.BEDSIDE_PEWS) == 1

    def test_range(self) -> None:
        """Every group reaches the printed 0-26."""
        assert {group.definition.range for group in pews.BEDSIDE_PEWS} == {(0, 26)}


@pytest.mark.parametrize(
    ("months", "values", "points"),
    [
        pytest.param(
            120,
            ("90", "105", "1", "20", "normal", "98", "air", "0"),
            [0, 0, 0, 0, 0, 0, 0],
            id="ten-years-normal",
        ),
        pytest.param(
            24, ("155", "95", "2", "45", "mild", "93", "oxygen", "3"), [2, 0, 0, 1, 1, 1, 2], id="two-years"
        ),
        pytest.param(
            6,
            ("150", "78", "3", "72", "moderate", "90", "oxygen", "4"),
            [1, 1, 4, 2, 2, 2, 4],
            id="six-months",
        ),
        pytest.param(
            168,
            ("100", "130", "1", "17", "normal", "98", "air", "0"),
            [1, 1, 0, 1, 0, 0, 0],
            id="fourteen-years",
        ),
    ],
)
def test_complete_sets(months: int, values: tuple[str, ...], points: list[int]) -> None:
    """Whole sets, added up from Table 1 by hand (constructed)."""
    group = next(at for at, band in enumerate(pews.BEDSIDE_PEWS) if band.covers(months))
    rate, pressure, refill, breaths, effort, percent, oxygen, litres = values
    delivery = OxygenDelivery.AIR if oxygen == "air" else OxygenDelivery.OXYGEN
    assert [
        pews.HEART_RATE[group].points_of(Decimal(rate)),
        pews.SYSTOLIC_PRESSURE[group].points_of(Decimal(pressure)),
        pews.CAPILLARY_REFILL.points_of(Decimal(refill)),
        pews.RESPIRATION_RATE[group].points_of(Decimal(breaths)),
        pews.RESPIRATORY_EFFORT.points_of(RespiratoryEffort(effort)),
        pews.SPO2.points_of(Decimal(percent)),
        max(pews.OXYGEN_THERAPY.points_of(delivery), pews.OXYGEN_FLOW.points_of(Decimal(litres))),
    ] == points
    tier = pews.BEDSIDE_PEWS[group].definition.tier_for(total=sum(points), highest_single=max(points))
    above = pews.VERY_HIGH if sum(points) >= 12 else pews.HIGH
    assert tier is (above if sum(points) >= 8 else pews.BELOW)
