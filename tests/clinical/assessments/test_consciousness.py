"""A falling coma scale.

A fall of 2 points in 24 hours (rapid-response criteria, from memory), of more than 2 (MERIT,
Lancet 2005;365:2091-2097, a secondary copy), and 8 or less (from memory).
"""

import pytest

from tests.charts import ago, chart, findings, measures_of
from weatherglass.clinical.findings import Finding, Kind, State, Urgency
from weatherglass.clinical.record import Record
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Mark

GCS = Signal.GCS_TOTAL


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.VITAL_SIGN_TREND).get("gcs-total")


@pytest.mark.parametrize(
    ("values", "urgency", "sources"),
    [
        pytest.param([(10, 15), (0, 14)], None, 0, id="fall-of-1"),
        pytest.param([(10, 15), (0, 13)], Urgency.URGENT, 1, id="fall-of-2"),
        pytest.param([(10, 15), (0, 12)], Urgency.URGENT, 2, id="fall-of-3"),
        pytest.param([(24, 15), (0, 13)], Urgency.URGENT, 1, id="24-hours"),
        pytest.param([(24.1, 15), (0, 13)], None, 0, id="longer"),
        pytest.param([(20, 15), (10, 13), (0, 12)], Urgency.URGENT, 2, id="from-the-highest"),
        pytest.param([(10, 11), (0, 9)], Urgency.URGENT, 1, id="9-after-11"),
        pytest.param([(10, 10), (0, 8)], Urgency.EMERGENCY, 3, id="8-after-10"),
        pytest.param([(10, 8), (0, 8)], None, 0, id="8-all-along"),
        pytest.param([(10, 12), (0, 15)], None, 0, id="rise"),
    ],
)
def test_fall(values: list[tuple[float, int]], urgency: Urgency | None, sources: int) -> None:
    """Both ends of the fall, of the window and of the low total."""
    found = _found(chart({GCS: values}))
    assert (found.urgency if found else None) == urgency
    if found is not None:
        assert len(found.sources) == sources
        assert found.sources[0].mark is Mark.FROM_MEMORY
        assert measures_of(found)["gcs-total"] == values[-1][1]


def test_added_up_from_its_parts() -> None:
    """Without a total the three parts of one round are added up."""
    parts = {Signal.GCS_EYE: (4, 3), Signal.GCS_VERBAL: (5, 4), Signal.GCS_MOTOR: (6, 5)}
    record = chart({signal: [(10, before), (0, now)] for signal, (before, now) in parts.items()})
    found = _found(record)
    assert found is not None
    assert measures_of(found)["fall"] == 3


def test_a_part_alone_is_no_total() -> None:
    """Eyes alone cannot be added up."""
    assert _found(chart({Signal.GCS_EYE: [(10, 4), (0, 1)]})) is None


@pytest.mark.parametrize(
    ("values", "state", "since"),
    [
        pytest.param([(20, 15), (3, 13)], State.NEW, 3, id="new"),
        pytest.param([(30, 15), (20, 13), (8, 13)], State.CONTINUING, 20, id="continuing"),
        pytest.param([(30, 15), (20, 13), (1, 15)], State.SETTLING, 20, id="settling"),
    ],
)
def test_states(values: list[tuple[float, int]], state: State, since: float) -> None:
    """The run begins with the first total that was 2 points down."""
    found = _found(chart({GCS: values}))
    assert found is not None
    assert (found.state, found.since) == (state, ago(since))
