"""The shape of scores: what a definition and a table of inequalities refuse and answer."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.knowledge.scores import maternal_criteria_2014 as maternal
from weatherglass.knowledge.scores import news2_2017 as news2
from weatherglass.knowledge.scores import sirs_1992 as sirs
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.sources import our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import CutoffTable, ResponseTier
from weatherglass.model.words.clauses import AgeLimit, Window

EXAMPLE = our_choice("example")
numbers = st.decimals(min_value=20, max_value=250, places=1)


def _cutoff(compare: Compare, number: str, unit: Unit = Unit.PER_MINUTE) -> Cutoff:
    return Cutoff(compare=compare, limit=Quantity(Decimal(number), unit), source=EXAMPLE)


class TestCutoffTable:
    """Points for any of several inequalities."""

    def test_two_sides(self) -> None:
        """Either side scores, what lies between does not."""
        assert [maternal.PULSE.points_of(Decimal(n)) for n in (49, 50, 120, 121)] == [1, 0, 0, 1]

    @pytest.mark.parametrize(
        "cutoffs",
        [
            pytest.param((), id="none"),
            pytest.param(
                (_cutoff(Compare.BELOW, "50"), _cutoff(Compare.ABOVE, "120", Unit.PERCENT)),
                id="two-units",
            ),
            pytest.param((_cutoff(Compare.BELOW, "120"), _cutoff(Compare.ABOVE, "50")), id="nothing-normal"),
            pytest.param((_cutoff(Compare.BELOW, "50"), _cutoff(Compare.AT_MOST, "40")), id="one-side-twice"),
        ],
    )
    def test_nonsense_is_refused(self, cutoffs: tuple[Cutoff, ...]) -> None:
        """A table without a normal range between its limits cannot be built."""
        with pytest.raises(ValueError, match="example"):
            CutoffTable(cutoffs=cutoffs, points=1, source=EXAMPLE)

    @pytest.mark.property
    @given(ends=st.tuples(numbers, numbers), inside=st.lists(st.integers(0, 100), max_size=20))
    def test_interval_bounds_hold_for_every_value_in_it(
        self, ends: tuple[Decimal, Decimal], inside: list[int]
    ) -> None:
        """No value of an interval scores outside the bounds of the interval."""
        low, high = sorted(ends)
        for table in (maternal.PULSE, maternal.SYSTOLIC_PRESSURE, sirs.RESPIRATION_RATE):
            fewest, most = table.points_between(low, high)
            for share in (0, 100, *inside):
                value = low + (high - low) * share / 100
                assert fewest <= table.points_of(value) <= most

    def test_open_intervals(self) -> None:
        """An open end reaches beyond the limit on its side."""
        assert maternal.PULSE.points_between(None, Decimal(49)) == (1, 1)
        assert maternal.PULSE.points_between(None, Decimal(60)) == (0, 1)
        assert maternal.PULSE.points_between(Decimal(60), None) == (0, 1)
        assert maternal.PULSE.points_between(Decimal(60), Decimal(70)) == (0, 0)
        assert maternal.PULSE.points_between(None, None) == (0, 1)


class TestDefinitions:
    """What cannot be built."""

    def test_a_key_twice(self) -> None:
        """Two rows of one name would overwrite each other in the output."""
        rows = (*sirs.SIRS.parameters, sirs.SIRS.parameters[0])
        with pytest.raises(ValueError, match="used twice"):
            replace(sirs.SIRS, parameters=rows)

    def test_a_group_of_unknown_keys(self) -> None:
        """A slip in a group would silently count both rows."""
        with pytest.raises(ValueError, match="breathing"):
            replace(sirs.SIRS, either=(("breathing", "carbon-dioxide"),))

    @pytest.mark.parametrize("ways", [{}, {"at_least": 5, "single_parameter": 3}])
    def test_a_tier_without_a_single_way_in(self, ways: dict[str, int]) -> None:
        """A tier opens by the total or by one parameter."""
        with pytest.raises(ValueError, match="opens by total or by one parameter"):
            ResponseTier(label="x", response="x", urgency="routine", source=EXAMPLE, **ways)  # type: ignore[arg-type]

    def test_a_window_without_extent(self) -> None:
        """Nothing can be looked back over in no time."""
        with pytest.raises(ValueError, match="longer than zero"):
            Window(length=timedelta(0), source=EXAMPLE)

    def test_an_age_in_two_units(self) -> None:
        """An age limit is in years or in days."""
        with pytest.raises(ValueError, match="either years or days"):
            AgeLimit(years=1, days=1, source=EXAMPLE)

    def test_no_tier_below_the_lowest(self) -> None:
        """A score whose tiers begin above zero has none below."""
        only_emergency = replace(news2.NEWS2, thresholds=(news2.EMERGENCY,))
        assert only_emergency.tier_for(total=6, highest_single=3) is None
