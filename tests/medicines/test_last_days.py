"""In recorded last days of life what prevents and does not relieve may be let go, once and routinely.

Common practice, no source; NICE NG31, from memory. Which medicines those are is our choice.
"""

from typing import Any

import pytest

from tests.charts import ago, chart, findings, order
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.sources import Origin

RULE = "last-days-without-comfort"
DYING = Directive(
    origin=Origin("Flag/eol"), kind=DirectiveKind.END_OF_LIFE, text="last days of life", at=ago(20)
)


def _found(*orders: Any, dying: bool = True) -> dict[str, MedicineFinding]:
    record = chart(orders=orders, directives=(DYING,) if dying else ())
    told = findings(record, Kind.MEDICINE).values()
    return {one.named: one for one in told if isinstance(one, MedicineFinding)}


@pytest.mark.parametrize(
    ("name", "key", "is_asked"),
    [
        ("Enoxaparin 40 mg", "low-molecular-weight-heparin", True),
        ("Metformin 500 mg", "metformin", True),
        ("Ramipril 5 mg", "ace-inhibitor", True),
        ("Levetiracetam 500 mg", "antiepileptic", False),
        ("Dexamethasone 4 mg", "glucocorticoid", False),
        ("Furosemide 40 mg", "loop-diuretic", False),
        ("Insulin glargine", "insulin", False),
    ],
)
def test_what_relieves_nothing(name: str, key: str, is_asked: bool) -> None:
    line = order(name, key)
    rules = [reason.rule for one in _found(line).values() for reason in one.reasons]
    assert (RULE in rules) is is_asked
    assert not _found(line, dying=False)


def test_it_asks_for_nobody_and_threatens_with_nothing() -> None:
    """Ours: "omission can bring on a stroke" beside what may be let go would be two minds in one line."""
    (found,) = _found(order("Enoxaparin 40 mg", "low-molecular-weight-heparin")).values()
    assert (found.action, found.urgency) == ("review", Urgency.ROUTINE)
    assert found.risk_if_stopped == ""


def test_two_that_relieve_are_no_danger() -> None:
    """Ours: an opioid beside a sedative is the plan of the last days, not something to watch."""
    lines = (order("Morphine", "opioid"), order("Midazolam", "benzodiazepine"))
    for directives, is_said in (((), True), ((DYING,), False)):
        told = findings(chart(orders=lines, directives=directives), Kind.MEDICINE_INTERACTION)
        assert any("opioid-benzodiazepine" in key for key in told) is is_said
