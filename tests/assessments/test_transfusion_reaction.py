"""New signs during a transfusion: stop, keep the line, check identity (BCSH 2012, secondary).

The sizes of the signs are from memory; for how long it counts and how soon is our choice.
"""

from typing import Any

import pytest

from tests.charts import NOW, ago, chart, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.review.assess import assess

TEMP, SBP, SPO2 = Signal.TEMPERATURE, Signal.SYSTOLIC_PRESSURE, Signal.SPO2


def _given(began: float = 2, ended: float | None = None, **rest: Any) -> Procedure:
    return Procedure(
        origin=Origin("Procedure/t"),
        text="Red cell transfusion",
        kinds=frozenset({ProcedureKind.TRANSFUSION}),
        at=ago(began),
        ended=ago(ended) if ended is not None else None,
        **rest,
    )


def _found(numbers: dict[Signal, Any], procedure: Procedure | None = None) -> Finding | None:
    record = chart(numbers, procedures=(procedure or _given(),))
    return findings(record, Kind.SINGLE_SIGN).get("transfusion-reaction")


@pytest.mark.parametrize(
    ("signal", "before", "now", "is_told"),
    [
        (TEMP, "37.0", "38.0", True),
        (TEMP, "36.9", "37.9", False),
        (TEMP, "37.1", "38.0", False),
        (SBP, "130", "100", True),
        (SBP, "131", "101", False),
        (SBP, "129", "100", False),
        (SPO2, "94", "91", True),
        (SPO2, "95", "92", False),
        (SPO2, "93", "91", False),
    ],
)
def test_each_sign_has_a_limit_and_a_change(signal: Signal, before: str, now: str, is_told: bool) -> None:
    found = _found({signal: [(3, before), (1, now)]})
    assert (found is not None) is is_told
    if found is not None:
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(1))
        assert "during red cell transfusion" in found.sentence


def test_what_was_there_before_it_is_no_reaction() -> None:
    assert _found({TEMP: [(3, "38.6"), (1, "38.6")]}) is None


def test_without_a_reading_before_the_limit_alone_counts() -> None:
    assert _found({TEMP: [(1, "38.2")]}) is not None


@pytest.mark.parametrize(("ended", "is_told"), [(6, True), (6.1, False)])
def test_it_counts_for_six_hours(ended: float, is_told: bool) -> None:
    found = _found({TEMP: [(12, "36.8"), (1, "38.4")]}, _given(9, ended))
    assert (found is not None) is is_told
    if found is not None:
        assert "after red cell transfusion" in found.sentence


def test_what_is_only_asked_for_is_not_given() -> None:
    assert _found({TEMP: [(3, "36.8"), (1, "38.4")]}, _given(requested=True)) is None


def test_a_repeat_moves_nothing() -> None:
    found = _found({TEMP: [(3, "36.8"), (1.5, "38.4"), (1, "38.6")]})
    assert found is not None
    assert found.since == ago(1.5)


@pytest.mark.parametrize(
    ("procedure", "first"),
    [
        pytest.param(_given(), "Stop the transfusion, keep the line open", id="it-runs"),
        pytest.param(_given(3, 1.5), "Check identity band and unit.", id="it-has-ended"),
    ],
)
def test_what_to_do_at_the_bedside_begins_with_it(procedure: Procedure, first: str) -> None:
    """BCSH 2012 (secondary): it is stopped before anything else, and what has ended is not stopped."""
    record = chart({TEMP: [(4, "36.8"), (1, "38.4")]}, procedures=(procedure,))
    review = assess(record, NOW, LocalChoices())
    assert review.at_bedside.startswith(first)
    found = next(one for one in review.findings if one.key == "transfusion-reaction")
    assert found.at_once.casefold() in found.sentence.casefold()


def test_one_that_settles_asks_for_nothing_at_the_bedside() -> None:
    """The readings are back where they were: nobody is told to stop what did no harm."""
    record = chart({TEMP: [(4, "36.8"), (2, "38.4"), (1, "36.9")]}, procedures=(_given(),))
    assert "transfusion" not in assess(record, NOW, LocalChoices()).at_bedside
