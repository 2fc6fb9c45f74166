"""A recorded decision against antimicrobials: no deadline is held against anybody, and the ill stay called.

An advance decision that is valid and applies binds like a decision of the person now: Mental Capacity Act
2005, section 24 to 26 (from memory).
"""

from datetime import date

import pytest

from tests.charts import ago, condition, findings, rounds
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

REFUSED = Directive(
    origin=Origin("Flag/1"),
    kind=DirectiveKind.ADVANCE_DIRECTIVE,
    at=ago(900),
    text="Advance decision to refuse treatment: refuses antibiotics",
)
BY_MOUTH = Directive(origin=Origin("Flag/2"), kind=DirectiveKind.CEILING, text="Not for IV antibiotics")
INFECTED = condition(ConditionKind.INFECTION, began=5)
NEUTROPENIC = condition(ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS, ConditionKind.INFECTION, began=5)
ILL = {Signal.RESPIRATION_RATE: 28, Signal.TEMPERATURE: "39.2", Signal.PULSE: 134}

RECORDS = [
    pytest.param({"conditions": (INFECTED,)}, id="by-score"),
    pytest.param({"conditions": (INFECTED, condition(ConditionKind.PREGNANCY))}, id="in-pregnancy"),
    pytest.param({"conditions": (INFECTED,), "born": date(2018, 1, 1)}, id="child"),
    pytest.param({"conditions": (NEUTROPENIC,)}, id="neutropenic"),
    pytest.param({"conditions": (condition(ConditionKind.PREGNANCY),)}, id="only-asked"),
]


def _found(record: Record) -> Finding:
    (found,) = findings(record, Kind.SEPSIS_RISK).values()
    return found


@pytest.mark.parametrize("rest", RECORDS)
def test_nothing_is_pushed(rest: dict[str, object]) -> None:
    """No deadline and no "within 1 hour"; the risk itself and its urgency stay."""
    plain, refused = _found(rounds((3, ILL), **rest)), _found(rounds((3, ILL), **rest, directives=(REFUSED,)))
    assert refused.urgency is plain.urgency is Urgency.EMERGENCY
    for words in (refused.sentence, refused.brief):
        assert not any(
            one in words.casefold() for one in ("antimicrobial was due", "within 1 hour", "at once")
        )
        assert "antibiotic immediately" not in words
    assert any(one in plain.sentence for one in ("ntimicrobial was due", "antimicrobial within 1 hour"))


def test_only_what_is_named() -> None:
    """By mouth they may still be given, so the deadline stands."""
    found = _found(rounds((3, ILL), conditions=(INFECTED,), directives=(BY_MOUTH,)))
    assert "ntimicrobial was due" in found.sentence
