"""Steady trends of a child against its own beginning.

Where a trend ends: NICE NG254 (tables of NG51, 2016) and Bedside PEWS (2009). How large it is: ours.
"""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.knowledge.signs.child_trends import rate_limit, size_in_a_child
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal

RR, HR, SBP, SPO2 = Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SYSTOLIC_PRESSURE, Signal.SPO2
SIX, MONTHS = date(2019, 11, 1), 76


def _found(signal: Signal, values: list[int], born: date = SIX, **rest: Any) -> Finding | None:
    """Take one value every two hours, the last an hour ago."""
    count = len(values)
    series = [(1 + 2 * (count - 1 - place), value) for place, value in enumerate(values)]
    return findings(chart({signal: series}, born=born, **rest), Kind.VITAL_SIGN_TREND).get(signal.value)


@pytest.mark.parametrize(
    ("months", "breathing", "pulse"),
    [
        (11, 50, 150),
        (12, 40, 140),
        (36, 35, 130),
        (60, 24, 120),
        (72, 24, 110),
        (96, 22, 105),
        (144, 21, 110),
    ],
)
def test_where_a_rise_has_to_end(months: int, breathing: int, pulse: int) -> None:
    for signal, number in ((RR, breathing), (HR, pulse)):
        limit = rate_limit(signal, months)
        assert limit is not None
        assert limit.is_met_by(limit.limit.value)
        assert limit.limit.value == number


@pytest.mark.parametrize(
    ("signal", "first", "last", "counts"),
    [
        (RR, 20, 25, True),
        (RR, 20, 24, False),  # A quarter of 20 is 5.
        (RR, 16, 23, False),  # Below 24, where risk begins at six years.
        (RR, 24, 32, False),  # It began there.
        (HR, 95, 114, True),
        (HR, 95, 113, False),
        (SBP, 105, 89, True),
        (SBP, 105, 90, False),  # 15 % of 105 is 15.75.
        (SPO2, 97, 94, True),
        (SPO2, 96, 94, False),
        (SPO2, 98, 95, False),
    ],
)
def test_both_ends_of_the_size(signal: Signal, first: int, last: int, counts: bool) -> None:
    size = size_in_a_child(signal, MONTHS)
    assert size is not None
    assert size(Decimal(first), Decimal(last)) is counts


@pytest.mark.parametrize(
    ("signal", "values"),
    [
        (RR, [20, 21, 23, 25, 28, 30, 32]),
        (HR, [92, 95, 99, 104, 110, 116, 122]),
        (SBP, [108, 105, 101, 98, 95, 91, 88]),
        (SPO2, [98, 97, 96, 95, 94, 93, 92]),
    ],
)
def test_a_child_that_gets_worse_hour_by_hour(signal: Signal, values: list[int]) -> None:
    found = _found(signal, values)
    assert found is not None
    assert found.urgency is Urgency.PROMPT
    assert "steadily" in found.sentence


def test_another_value_like_the_last_does_not_begin_it_again() -> None:
    values = [20, 21, 23, 25, 28, 30, 32]
    found = _found(RR, values)
    again = _found(RR, [*values, 32])
    assert found is not None
    assert again is not None
    assert found.since is not None
    assert again.since == found.since - (ago(1) - ago(3))


@pytest.mark.parametrize(
    ("signal", "values"),
    [
        (RR, [20, 22, 21, 23, 20, 22, 21]),
        (HR, [110, 98, 104, 92, 108, 95, 100]),
        (RR, [32, 30, 28, 25, 23, 21, 20]),  # It gets better.
        (Signal.TEMPERATURE, [37, 37, 38, 38, 39, 39, 40]),
    ],
)
def test_quiet(signal: Signal, values: list[int]) -> None:
    assert _found(signal, values) is None


def test_an_unknown_age_is_an_adult_and_pregnancy_has_its_own_size() -> None:
    values = [20, 21, 23, 25, 28, 30, 32]
    pregnant = condition(ConditionKind.PREGNANCY, began=500)
    found = _found(RR, values, born=date(2011, 1, 1), conditions=(pregnant,))
    assert found is not None
    assert found.decided_by == "a steady trend that has a size of its own in pregnancy"
