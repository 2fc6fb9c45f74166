"""Every question answered at a moment depends on nothing later, and on no absolute time."""

from collections.abc import Mapping
from datetime import timedelta
from enum import Enum
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.charts import NOW, ago, bedside, chart, condition, order
from weatherglass.model.findings import Finding
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Series
from weatherglass.model.signals import (
    Bleeding,
    CodedSignal,
    Concern,
    Consciousness,
    OxygenDelivery,
    Signal,
    Skin,
)
from weatherglass.review.questions import QUESTIONS

pytestmark = pytest.mark.property

#: What a ward measures, with values on both sides of every limit.
_NUMBERS: Mapping[Signal, tuple[int, int]] = {
    Signal.RESPIRATION_RATE: (0, 40),
    Signal.SPO2: (60, 100),
    Signal.SYSTOLIC_PRESSURE: (60, 230),
    Signal.PULSE: (0, 160),
    Signal.TEMPERATURE: (34, 41),
    Signal.GCS_TOTAL: (3, 15),
    Signal.OXYGEN_FLOW: (1, 15),
    Signal.POTASSIUM: (2, 8),
    Signal.SODIUM: (110, 165),
    Signal.GLUCOSE: (1, 30),
    Signal.LACTATE: (1, 6),
    Signal.HAEMOGLOBIN: (60, 150),
    Signal.CREATININE: (40, 400),
    Signal.UREA: (2, 40),
    Signal.CRP: (1, 400),
    Signal.PH_ARTERIAL: (7, 8),
    Signal.PCO2_ARTERIAL: (3, 10),
    Signal.BICARBONATE: (10, 30),
}
_CODES: Mapping[CodedSignal, tuple[Enum, ...]] = {
    CodedSignal.CONSCIOUSNESS: tuple(Consciousness),
    CodedSignal.OXYGEN_DELIVERY: tuple(OxygenDelivery),
    CodedSignal.CONCERN: tuple(Concern),
    CodedSignal.BLEEDING: tuple(Bleeding),
    CodedSignal.SKIN: tuple(Skin),
}


def _times(longest: int = 12) -> st.SearchStrategy[list[int]]:
    return st.lists(st.integers(min_value=0, max_value=120), max_size=longest, unique=True)


@st.composite
def records(draw: st.DrawFn) -> Record:
    """Draw a record: some series, some answers, some context."""
    numbers: dict[Signal, Any] = {}
    for signal in draw(st.lists(st.sampled_from(list(_NUMBERS)), min_size=1, max_size=8, unique=True)):
        low, high = _NUMBERS[signal]
        hours = draw(_times())
        if hours:
            numbers[signal] = [(hour, draw(st.integers(min_value=low, max_value=high))) for hour in hours]
    codes: dict[CodedSignal, Any] = {}
    for coded in draw(st.lists(st.sampled_from(list(_CODES)), max_size=3, unique=True)):
        hours = draw(_times(6))
        if hours:
            codes[coded] = [(hour, draw(st.sampled_from(_CODES[coded]))) for hour in hours]
    conditions = draw(st.sampled_from([(), (condition(ConditionKind.INFECTION, began=130),)]))
    orders = draw(st.sampled_from([(), (order("Apixaban", "factor-xa-inhibitor", written=ago(130)),)]))
    return chart(numbers, codes=codes, conditions=conditions, orders=orders)


def _answers(record: Record, hours: int) -> list[Finding]:
    at_bedside = bedside(record, as_of=ago(hours))
    return [finding for assessment in QUESTIONS for finding in assessment.ask(at_bedside)]


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(record=records(), hours=st.integers(min_value=0, max_value=60))
def test_nothing_later_matters(record: Record, hours: int) -> None:
    """With everything later taken out of the record the answers are the same."""
    moment = ago(hours)
    cut = replace(
        record,
        numbers={s: Series([i for i in v.items if i.at <= moment]) for s, v in record.numbers.items()},
        codes={s: Series([i for i in v.items if i.at <= moment]) for s, v in record.codes.items()},
        newest=NOW,
    )
    assert _answers(record, hours) == _answers(cut, hours)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(record=records(), days=st.integers(min_value=1, max_value=20))
def test_the_date_does_not_matter(record: Record, days: int) -> None:
    """The same course a few days earlier has the same findings, with their times moved."""
    by = timedelta(days=days)

    def moved(items: Any) -> Any:
        return Series([replace(item, at=item.at - by) for item in items])

    earlier = replace(
        record,
        numbers={s: moved(v.items) for s, v in record.numbers.items()},
        codes={s: moved(v.items) for s, v in record.codes.items()},
        conditions=tuple(replace(c, began=c.began - by if c.began else None) for c in record.conditions),
        orders=tuple(
            replace(
                o, starts=o.starts - by if o.starts else None, written=o.written - by if o.written else None
            )
            for o in record.orders
        ),
    )
    now = [(f.kind, f.key, f.urgency, f.state, f.since) for f in _answers(record, 0)]
    at_bedside = bedside(earlier, as_of=NOW - by)
    then = [
        (f.kind, f.key, f.urgency, f.state, f.since + by if f.since else None)
        for assessment in QUESTIONS
        for f in assessment.ask(at_bedside)
    ]
    assert then == now


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(record=records())
def test_every_finding_can_be_traced(record: Record) -> None:
    """State comes with its beginning, a number with its input, and nothing begins in the future."""
    known = {item.origin for series in record.numbers.values() for item in series.items}
    known |= {item.origin for series in record.codes.values() for item in series.items}
    known |= {c.origin for c in record.conditions} | {o.origin for o in record.orders}
    for finding in _answers(record, 0):
        assert finding.sources
        assert set(finding.evidence) <= known
        assert finding.since is None or finding.since <= NOW
        assert finding.at is None or finding.at <= NOW
        assert (finding.state is None) or (finding.since is not None)
        assert all(m.origin is None or m.origin in known for m in finding.measures)
