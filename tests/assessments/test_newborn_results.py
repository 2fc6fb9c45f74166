"""A newborn's glucose and potassium.

Glucose: British Association of Perinatal Medicine, hypoglycaemia in the term infant, birth to 72 hours, 2017
(secondary): below 1.0 mmol/L at any time, below 2.0 in a baby at risk, below 2.5 with abnormal signs.
Potassium: from memory, the usual range of the first four weeks goes to 6.
"""

from datetime import date
from decimal import Decimal

import pytest

from tests.charts import ago, chart, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
#: The review is of 12 March 2026.
FIRST, THIRD, FOURTH = date(2026, 3, 12), date(2026, 3, 10), date(2026, 3, 9)


def _found(record: Record, choices: LocalChoices | None = None) -> dict[str, Finding]:
    return findings(record, Kind.CRITICAL_RESULT, choices=choices)


@pytest.mark.parametrize(
    ("value", "born", "urgency"),
    [
        ("0.9", FIRST, E),
        ("1.0", FIRST, U),
        ("1.9", FIRST, U),
        ("2.0", FIRST, R),
        ("2.4", FIRST, R),
        ("2.5", FIRST, None),
        ("2.7", THIRD, None),
        ("1.9", THIRD, U),
        ("2.7", FOURTH, E),
        ("2.7", date(2025, 3, 12), E),
    ],
)
def test_glucose(value: str, born: date, urgency: Urgency | None) -> None:
    """The day of birth and the two days after it have limits of their own; later those of others hold."""
    found = _found(chart({Signal.GLUCOSE: [(1, value)]}, born=born)).get("glucose-low")
    assert (found.urgency if found is not None else None) is urgency


def test_an_abnormal_sign_makes_the_upper_limit_count() -> None:
    """A baby who is not fully awake at 2.4 is within the hour's call, and is to be treated."""
    drowsy = {CodedSignal.CONSCIOUSNESS: [(1.0, Consciousness.VOICE)]}
    found = _found(chart({Signal.GLUCOSE: [(1, "2.4")]}, codes=drowsy, born=FIRST))["glucose-low"]
    assert found.urgency is U
    assert found.at_once
    awake = _found(chart({Signal.GLUCOSE: [(1, "2.4")]}, born=FIRST))["glucose-low"]
    assert not awake.at_once


def test_a_newborns_glucose_is_not_late_by_the_limits_of_others() -> None:
    """What was in order on the third day starts no deadline for the first low one of the fourth."""
    values = {Signal.GLUCOSE: [(30, "2.7"), (1, "2.7")]}
    found = _found(chart(values, born=FOURTH))["glucose-low"]
    assert found.since == ago(1)


def test_no_caution_says_that_the_limits_are_of_adults() -> None:
    found = _found(chart({Signal.GLUCOSE: [(1, "1.4")]}, born=FIRST))["glucose-low"]
    assert not any("adults" in one for one in found.cautions)


def test_a_site_may_choose_its_own() -> None:
    own = LocalChoices(critical_limits={"glucose-low": {"emergency": Decimal("2.6")}})
    assert _found(chart({Signal.GLUCOSE: [(1, "2.5")]}, born=FIRST), own)["glucose-low"].urgency is E


@pytest.mark.parametrize(
    ("value", "born", "urgency"),
    [
        ("5.9", date(2026, 2, 13), None),
        ("5.9", date(2026, 2, 12), P),
        ("6.0", date(2026, 3, 10), U),
        ("6.5", date(2026, 3, 10), E),
    ],
)
def test_potassium(value: str, born: date, urgency: Urgency | None) -> None:
    """Below 28 days 5.5 to 5.9 asks for nobody."""
    found = _found(chart({Signal.POTASSIUM: [(1, value)]}, born=born)).get("potassium-high")
    assert (found.urgency if found is not None else None) is urgency
