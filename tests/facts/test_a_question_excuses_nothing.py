"""A problem that is only asked about excuses nothing: "query dementia" makes no confusion usual.

Ours, by the first law: reassurance is earned. What is asked about still asks where it makes things worse.
"""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import bedside, chart, condition, findings, measures_of, rounds
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.high_creatinine import is_high_without_a_range
from weatherglass.handover.sbar import _background
from weatherglass.knowledge.comorbidity_notes import NOTES
from weatherglass.model.findings import Kind
from weatherglass.model.record.problems import ConditionKind as K
from weatherglass.model.signals import Consciousness, Signal

ASTHMA = condition(K.ASTHMA, text="Acute asthma")


def _has_high_creatinine(patient: Bedside) -> bool:
    return is_high_without_a_range(patient, patient.record.series(Signal.CREATININE).items[-1])


#: What excuses, what is asked of the patient, and what the answer is where it is known and where it is not.
EXCUSES: list[Any] = [
    pytest.param(K.CHRONIC_CONFUSION, lambda one: one.confusion_is_usual, True, id="confusion"),
    pytest.param(K.ROUSED_BY_VOICE_AS_USUAL, lambda one: one.usual_alertness is Consciousness.VOICE, True),
    pytest.param(K.ROUSED_BY_PAIN_AS_USUAL, lambda one: one.usual_alertness is Consciousness.PAIN, True),
    pytest.param(K.CHRONIC_KIDNEY_DISEASE, lambda one: one.kidneys.is_chronic, True, id="chronic"),
    pytest.param(K.CHRONIC_KIDNEY_DISEASE, _has_high_creatinine, False, id="high-creatinine"),
    pytest.param(K.DIALYSIS, _has_high_creatinine, False, id="on-dialysis"),
    pytest.param(K.COPD, lambda one: one.asthma_is_acute, False, id="asthma"),
    pytest.param(K.COPD, lambda one: one.is_at_risk_of_keeping, None, id="carbon-dioxide"),
]


@pytest.mark.parametrize(("kind", "asked", "known"), EXCUSES)
def test_facts(kind: K, asked: Callable[[Bedside], bool], known: bool | None) -> None:
    """`known` is the answer where the problem is known, and not where it is asked about; None: both worry."""
    numbers = {Signal.CREATININE: [(3, Decimal(260))]}
    for confirmed in (True, False):
        problem = condition(kind, text="the problem", confirmed=confirmed)
        answer = asked(bedside(chart(numbers, conditions=(ASTHMA, problem))))
        assert answer is (known is None or known is confirmed)


@pytest.mark.parametrize("note", [one for one in NOTES if one.conditions], ids=lambda one: one.key)
def test_notes(note: Any) -> None:
    """A low pressure is usual in heart failure that is there, not in a question of it."""
    asked = chart(conditions=(condition(note.conditions[0], confirmed=False),))
    known = chart(conditions=(condition(note.conditions[0]),))
    assert "comorbidities" not in findings(asked, Kind.CONTEXT)
    assert set(measures_of(findings(known, Kind.CONTEXT)["comorbidities"])) == {note.key}


@pytest.mark.parametrize("confirmed", [True, False])
def test_a_low_pressure(confirmed: bool) -> None:
    low = condition(K.LOW_PRESSURE_IS_USUAL, confirmed=confirmed)
    record = rounds((1, {Signal.SYSTOLIC_PRESSURE: 96}), conditions=(low,))
    assert bool(findings(record, Kind.LONG_STANDING_LOW_PRESSURE)) is confirmed


def test_the_handover_names_what_is_asked_about() -> None:
    """Nothing is dropped without its name."""
    problems = (
        condition(K.COPD, text="COPD"),
        condition(K.HEART_FAILURE, text="Query heart failure", confirmed=False),
        condition(K.CANCER, text="Query lymphoma", confirmed=False, active=False),
    )
    said = list(_background(bedside(chart(conditions=problems)), ()))
    assert "Known: COPD." in said
    assert "Not confirmed: Query heart failure." in said
    assert not any("Not confirmed" in line for line in _background(bedside(chart()), ()))
