"""SIRS, Chest 1992;101:1644-1655: four criteria, strict inequalities."""

from decimal import Decimal

import pytest

from weatherglass.knowledge.scores import sirs_1992 as sirs
from weatherglass.model.tables.scores import CutoffTable


@pytest.mark.parametrize(
    ("table", "value", "met"),
    [
        pytest.param(table, value, met, id=f"{name}-{value}")
        for name, table, edges in (
            ("temperature", sirs.TEMPERATURE, {"35.9": 1, "36.0": 0, "38.0": 0, "38.1": 1}),
            ("pulse", sirs.PULSE, {"90": 0, "91": 1}),
            ("respiration", sirs.RESPIRATION_RATE, {"20": 0, "21": 1}),
            ("carbon-dioxide", sirs.PCO2_ARTERIAL, {"4.2": 1, "4.3": 0}),
            ("white-cells", sirs.WHITE_CELLS, {"3.9": 1, "4": 0, "12.0": 0, "12.1": 1}),
        )
        for value, met in edges.items()
    ],
)
def test_printed_inequalities_are_strict(table: CutoffTable, value: str, met: int) -> None:
    """38.0, 36.0, 90, 20, 4.3, 4 and 12 themselves do not count."""
    assert table.points_of(Decimal(value)) == met


@pytest.mark.parametrize(
    ("heat", "pulse", "breaths", "cells", "total"),
    [
        pytest.param("38.0", "91", "20", "12.0", 1, id="one-is-not-enough"),
        pytest.param("38.1", "91", "16", "8", 2, id="two"),
        pytest.param("35.9", "80", "16", "3.9", 2, id="two-on-the-low-side"),
    ],
)
def test_complete_sets(heat: str, pulse: str, breaths: str, cells: str, total: int) -> None:
    """Two or more criteria are needed (constructed)."""
    found = (
        sirs.TEMPERATURE.points_of(Decimal(heat))
        + sirs.PULSE.points_of(Decimal(pulse))
        + sirs.RESPIRATION_RATE.points_of(Decimal(breaths))
        + sirs.WHITE_CELLS.points_of(Decimal(cells))
    )
    assert found == total
    tier = sirs.SIRS.tier_for(total=found, highest_single=1)
    assert tier is (sirs.POSITIVE if total >= 2 else sirs.NEGATIVE)


def test_breathing_and_carbon_dioxide_count_once() -> None:
    """Four criteria, although five values are looked at."""
    assert sirs.SIRS.range == (0, 4)
    assert sirs.SIRS.either == (("respiration", "carbon-dioxide"),)


def test_units_of_the_printed_pair_agree() -> None:
    """The paper prints 32 mmHg and 4.3 kPa; one kPa is 7.50062 mmHg."""
    kilopascal = sirs.PCO2_ARTERIAL.cutoffs[0].limit.value
    assert abs(kilopascal * Decimal("7.50062") - 32) < Decimal("0.3")
