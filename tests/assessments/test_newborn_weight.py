"""Weight lost in the first days: NICE NG75, from memory: more than 10 %; the rest is our choice."""

import pytest

from tests.charts import ago, chart, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.signals import Signal


def _found(*weights: tuple[float, str], days: int = 5) -> Finding | None:
    record = chart({Signal.WEIGHT: list(weights)}, born=ago(24 * days).date())
    return findings(record, Kind.METABOLIC).get("newborn-weight")


@pytest.mark.parametrize(
    ("now", "urgency"),
    [("3.6", None), ("3.59", Urgency.PROMPT), ("3.4", Urgency.PROMPT), ("3.39", Urgency.URGENT)],
)
def test_both_ends(now: str, urgency: Urgency | None) -> None:
    found = _found((24 * 5, "4.0"), (1, now))
    assert (found.urgency if found else None) is urgency


def test_it_is_said_with_what_it_was() -> None:
    found = _found((24 * 5, "3.5"), (30, "3.1"), (1, "3.05"))
    assert found is not None
    assert found.brief == "Weight 3.05 kg, 13 % less than 3.5 kg after birth"
    assert found.since == ago(30)


def test_what_says_nothing_of_it() -> None:
    assert _found((24 * 22, "4.0"), (1, "3.2"), days=22) is None
    assert _found((24 * 2, "4.0"), (1, "3.2"), days=5) is None
    assert _found((24 * 5, "4.0"), (49, "3.2")) is None
