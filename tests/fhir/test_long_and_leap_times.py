"""FHIR R4 dateTime: seconds up to 60, for leap seconds; and no more digits than a clock writes."""

import pytest

from weatherglass.fhir.times import read_when


@pytest.mark.parametrize("zone", ["Z", "+01:00"])
@pytest.mark.parametrize("fraction", ["", ".25"])
def test_a_leap_second_is_read_as_the_one_before(zone: str, fraction: str) -> None:
    """FHIR R4 datatypes: "The time ... seconds may be 60 for leap seconds"; common practice for :59."""
    assert read_when(f"2026-06-30T23:59:60{fraction}{zone}") == read_when(
        f"2026-06-30T23:59:59{fraction}{zone}"
    )


def test_a_second_of_61_is_none() -> None:
    assert read_when("2026-06-30T23:59:61Z") is None


@pytest.mark.parametrize(("digits", "read"), [(9, True), (19, True), (20, False), (1_000_000, False)])
def test_a_time_of_many_digits_is_none(digits: int, read: bool) -> None:
    """40 characters: our choice."""
    assert (read_when(f"2026-06-30T23:59:59.{'1' * digits}Z") is not None) is read
