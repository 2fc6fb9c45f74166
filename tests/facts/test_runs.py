"""Runs of a condition over a series: since when, and new, continuing or settling."""

from datetime import timedelta

import pytest

from tests.charts import NOW, ago
from weatherglass.facts.series.runs import (
    Run,
    began_without_gap,
    first_of_run,
    last_run,
    present_run,
    run_at_level,
    state_of,
)
from weatherglass.model.findings import State

_HOURS = [10, 8, 6, 4, 2]
_TIMES = [ago(hours) for hours in _HOURS]


@pytest.mark.parametrize(
    ("levels", "since", "until", "present"),
    [
        pytest.param([0, 0, 1, 1, 1], 6, 2, True, id="one-run-to-the-end"),
        pytest.param([1, 1, 1, 2, 2], 4, 2, True, id="worsening-begins-a-run"),
        pytest.param([2, 2, 2, 1, 1], 10, 2, True, id="half-way-back-goes-on"),
        pytest.param([1, 0, 1, 0, 1], 2, 2, True, id="each-lapse-ends-a-run"),
        pytest.param([1, 2, 0, 0, 0], 10, 8, False, id="past-run-of-any-level"),
        pytest.param([0, 0, 2, 0, 0], 6, 6, False, id="past-run-of-one-value"),
    ],
)
def test_run_at_level(levels: list[int], since: int, until: int, present: bool) -> None:
    """The run of the newest level or worse, else the last run there was."""
    assert run_at_level(_TIMES, levels) == Run(ago(since), ago(until), present)


@pytest.mark.parametrize(
    ("levels", "hours", "since"),
    [
        pytest.param([1, 0, 1, 0, 1], 4, 10, id="lapses-of-exactly-the-bridge"),
        pytest.param([1, 0, 1, 0, 1], 3.9, 2, id="lapses-longer-than-the-bridge"),
        pytest.param([1, 0, 0, 0, 1], 8, 10, id="one-long-lapse-bridged"),
        pytest.param([1, 0, 0, 0, 1], 7, 2, id="one-long-lapse-not-bridged"),
        pytest.param([1, 1, 1, 1, 2], 12, 2, id="worsening-is-never-bridged"),
    ],
)
def test_bridge(levels: list[int], hours: float, since: int) -> None:
    """A condition that lapses for no longer than the bridge is one run."""
    run = run_at_level(_TIMES, levels, bridge=timedelta(hours=hours))
    assert run is not None
    assert run.since == ago(since)


def test_nothing_met_is_no_run() -> None:
    """Without a value that meets the condition there is no run."""
    assert run_at_level(_TIMES, [0] * 5) is None
    assert run_at_level([], []) is None
    assert last_run([], []) is None


@pytest.mark.parametrize(
    ("run", "state"),
    [
        pytest.param(Run(ago(12), ago(1), True), State.NEW, id="new-at-its-edge"),
        pytest.param(Run(ago(12.1), ago(1), True), State.CONTINUING, id="continuing"),
        pytest.param(Run(ago(40), ago(24), False), State.SETTLING, id="settling-at-its-edge"),
        pytest.param(Run(ago(40), ago(24.1), False), None, id="past-and-gone"),
        pytest.param(None, None, id="no-run"),
    ],
)
def test_state(run: Run | None, state: State | None) -> None:
    """New within 12 hours, settling within 24 hours after the last value that met it."""
    got = state_of(run, NOW, new_within=timedelta(hours=12), settled_within=timedelta(hours=24))
    assert got is state


@pytest.mark.parametrize(
    ("values", "first"),
    [([], None), ([0], None), ([1], 1), ([2, 0, 3, 4], 3), ([2, 3], 2), ([5, 0], None)],
)
def test_the_first_of_the_run_that_the_newest_ends(values: list[int], first: int | None) -> None:
    """What comes before one that does not meet the condition is of another run."""
    assert first_of_run(values, bool) == first


@pytest.mark.parametrize(
    ("hours", "began"), [([], 0), ([0, 24], 24), ([0, 24.1], 0), ([10, 34, 59], 34), ([30], 0)]
)
def test_a_run_without_a_gap_of_a_day(hours: list[float], began: float) -> None:
    """A gap of a day exactly goes on; the times are given newest first."""
    found = began_without_gap(ago(0), [ago(each) for each in hours], timedelta(hours=24))
    assert found == ago(began)


def test_only_a_present_run_is_one() -> None:
    times = [ago(3), ago(2), ago(1)]
    assert present_run(times, [True, True, False]) is None
    found = present_run(times, [False, True, True])
    assert found is not None
    assert found.since == ago(2)
