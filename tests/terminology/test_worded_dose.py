"""Doses in plain words: what is read, and what is not made up. Which words are plain is our choice."""

from decimal import Decimal

import pytest

from weatherglass.terminology.doses.german_charts import plainly
from weatherglass.terminology.doses.worded_dose import says_as_needed, worded_dose

_WEEK = Decimal(7)


@pytest.mark.parametrize(
    ("words", "amount", "unit", "a_day"),
    [
        ("1 g four times daily", "1", "g", Decimal(4)),
        ("1 g QDS", "1", "g", Decimal(4)),
        ("1,000 mg QDS", "1000", "mg", Decimal(4)),
        ("20mg OD", "20", "mg", Decimal(1)),
        ("5 mg in the morning", "5", "mg", Decimal(1)),
        ("5 mg in the morning and at night", "5", "mg", Decimal(2)),
        ("48 units at night", "48", "unit", Decimal(1)),
        ("two tablets four times a day", "2", "tablet", Decimal(4)),
        ("1 to 2 tablets up to four times a day", "2", "tablet", Decimal(4)),
        ("500 mg-1 g every 4-6 hours as needed", "1", "g", Decimal(4)),
        ("2 g 12-hourly", "2", "g", Decimal(2)),
        ("2 g 12hrly", "2", "g", Decimal(2)),
        ("1 g q6h", "1", "g", Decimal(4)),
        ("1 g 4 times a day", "1", "g", Decimal(4)),
        ("1g x4/day", "1", "g", Decimal(4)),
        ("1 g 4x daily", "1", "g", Decimal(4)),
        ("500 mg t.d.s.", "500", "mg", Decimal(3)),
        ("500 mg b.d.", "500", "mg", Decimal(2)),
        ("100 micrograms every 72 hours", "100", "microgram", Decimal(24) / Decimal(72)),
        ("15 mg once weekly", "15", "mg", 1 / _WEEK),
        ("15 mg weekly", "15", "mg", 1 / _WEEK),
        ("15 mg once a week on Mondays", "15", "mg", 1 / _WEEK),
        ("10 mg on Mondays and Thursdays", "10", "mg", 2 / _WEEK),
        ("2.5 mg twice a week", "2.5", "mg", 2 / _WEEK),
        ("250 mg Mon/Wed/Fri", "250", "mg", 3 / _WEEK),
        ("960 mg once daily Mon, Wed and Fri", "960", "mg", 3 / _WEEK),
        ("960 mg bd Mon/Wed/Fri", "960", "mg", 6 / _WEEK),
        ("40 mg at 18:00", "40", "mg", Decimal(1)),
        ("ONE TO BE TAKEN TWICE A DAY", "1", "tablet", Decimal(2)),
        ("Take one each day", "1", "tablet", Decimal(1)),
        ("take one or two 4 times a day", "2", "tablet", Decimal(4)),
        ("1 bd", "1", "tablet", Decimal(2)),
        ("2 qds", "2", "tablet", Decimal(4)),
        ("half at night", "0.5", "tablet", Decimal(1)),
        ("take six once a week on Mondays", "6", "tablet", 1 / _WEEK),
        ("two caplets daily", "2", "tablet", Decimal(1)),
        ("6.6 mg at 8am and 12 noon", "6.6", "mg", Decimal(2)),
        ("40 mg 8am and 2pm", "40", "mg", Decimal(2)),
        ("8 mg bd (8am and 10pm)", "8", "mg", Decimal(2)),
        ("70 mg daily, sat up", "70", "mg", Decimal(1)),
    ],
)
def test_one_amount_and_one_frequency(words: str, amount: str, unit: str, a_day: Decimal) -> None:
    found = worded_dose(plainly(words))
    assert found is not None
    assert (found.amount, found.unit, found.a_day) == (Decimal(amount), unit, a_day)


@pytest.mark.parametrize(
    "words",
    [
        "",
        "as per INR",
        "1 g stat",
        "10 mg daily then 5 mg daily",
        "10 mg in the morning and 20 mg at night",
        "15 mg/kg four times a day",
        "20 mg weekly, daily",
        "10 mg once daily every week",
        "1 tablet (5 mg) daily",
        "10 mg on alternate days",
        "2,5 mg daily",
        "10 mg every other day",
        "40 mmol over 1 hour",
        "50 micrograms/hour patch",
        "one tablet 07:00 11:00",
        "5 mg",
        "daily",
        "three times a day",
        "4 hourly",
        "one in the morning and two at night",
        "2 mane 1 midday",
        "5 at 18:00",
        "1 drop bd",
        "one each nostril twice a day",
        "1 in the left eye bd",
        "two puffs bd",
        "1 unit bd then 2",
        "10 mg every 0 hours",
    ],
)
def test_what_is_not_plain_is_not_read(words: str) -> None:
    assert worded_dose(plainly(words)) is None


@pytest.mark.parametrize(
    ("words", "most"),
    [
        ("1 g every 4 hours (max 4 g in 24 hours)", Decimal(4)),
        ("500 mg every 4 hours, maximum 4 g in 24 hours", Decimal(4000)),
        ("500 mg every 4 hours, max 6 doses", Decimal(3000)),
        ("1 g every 6 hours", None),
    ],
)
def test_the_most_of_a_day(words: str, most: Decimal | None) -> None:
    found = worded_dose(plainly(words))
    assert found is not None
    assert found.at_most == most


@pytest.mark.parametrize(
    ("words", "is_so"),
    [("5 mg PRN", True), ("5 mg p.r.n.", True), ("5 mg when required", True), ("5 mg at night", False)],
)
def test_when_needed(words: str, is_so: bool) -> None:
    assert says_as_needed(plainly(words)) is is_so
