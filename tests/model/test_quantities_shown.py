"""Converted numbers as they are read: three digits, but never one that is a limit."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

import weatherglass.knowledge
from weatherglass.model.numbers import quantities
from weatherglass.model.numbers.quantities import plain

_TABLES = Path(weatherglass.knowledge.__file__).parent


@pytest.mark.parametrize(
    ("fahrenheit", "shown"),
    [
        ("98.1", "36.7"),
        ("99.3", "37.4"),
        ("100.4", "38"),
        ("100.9", "38.3"),
        ("100.0", "37.78"),
        ("100.94", "38.3"),
    ],
)
def test_a_temperature_in_degrees_fahrenheit(fahrenheit: str, shown: str) -> None:
    """98.1 °F is 36.7222... °C; 100.0 °F is below the limit of 37.8."""
    assert plain((Decimal(fahrenheit) - 32) / Decimal("1.8")) == shown


def test_no_limit_of_a_table_is_shown_for_what_is_not_it() -> None:
    """Every limit with a tenth that is neither 0 nor 5, from 30 to 100, is kept."""
    tenths = re.compile(r"[<>]=? ?((?:[3-9]\d)\.[1-46-9])(?!\d)")
    found = {
        number
        for path in _TABLES.rglob("*")
        if path.suffix in (".csv", ".toml")
        for number in tenths.findall(path.read_text())
    }
    assert found <= quantities._LIMITS
