"""Weight lost in the first days: NICE NG75, from memory: more than 10 %; the rest is our choice."""

import pytest

from tests.charts import ago, chart, condition, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
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


@pytest.mark.parametrize(
    ("now", "is_told", "urgency"),
    [
        ("9.5", True, Urgency.PROMPT),
        ("9.51", True, None),
        ("9.0", True, Urgency.URGENT),
        ("9.01", True, Urgency.PROMPT),
        ("9.0", False, None),
    ],
)
def test_what_an_illness_dries_out(now: str, is_told: bool, urgency: Urgency | None) -> None:
    """5 % is fluid that was lost, 10 % severe (WHO 2005, from memory); two weeks are ours."""
    told = (condition(ConditionKind.VOMITING_OR_DIARRHOEA, began=40),) if is_told else ()
    weights = {Signal.WEIGHT: [(24 * 13, "10"), (20, now), (1, now)]}
    record = chart(weights, born=ago(24 * 400).date(), conditions=told)
    found = findings(record, Kind.METABOLIC).get("weight-lost")
    assert (found.urgency if found else None) is urgency
    assert found is None or found.since == ago(20)


@pytest.mark.parametrize(
    ("days", "before", "now", "is_asked"),
    [(35, 8, "3.1", True), (35, 8, "3.12", False), (35, 6, "3.1", False), (181, 8, "3.1", False)],
)
def test_an_infant_that_does_not_gain(days: int, before: float, now: str, is_asked: bool) -> None:
    """Below 6 months a weight under that of 7 days before (ours)."""
    record = chart({Signal.WEIGHT: [(24 * before + 1, "3.12"), (1, now)]}, born=ago(24 * days).date())
    assert ("weight-not-gained" in findings(record, Kind.METABOLIC)) is is_asked
