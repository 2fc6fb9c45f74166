"""What holds for every score and stage, whatever the record: time runs one way, data never blurs."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.charts import ago, bedside, chart, reading
from weatherglass.knowledge.scores.bedside_pews_2009 import BEDSIDE_PEWS
from weatherglass.model.findings import AkiFinding, Finding, Kind, ScoreFinding, Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, RespiratoryEffort, Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex
from weatherglass.review.questions import QUESTIONS

pytestmark = pytest.mark.property

ADULT, CHILD = date(1950, 6, 1), date(2018, 6, 1)
PREGNANT = Condition(
    origin=Origin("Condition/p"), text="Pregnant", kinds=frozenset({ConditionKind.PREGNANCY}), began=ago(2000)
)
_KINDS = (
    Kind.SCORE,
    Kind.SCORE_NOT_APPLICABLE,
    Kind.REPORTED_SCORE,
    Kind.AKI_STAGE,
    Kind.AKI_COURSE,
    Kind.KIDNEY_FUNCTION,
)
_RANGES = {
    Signal.RESPIRATION_RATE: (4, 45),
    Signal.SPO2: (80, 100),
    Signal.OXYGEN_FLOW: (0, 15),
    Signal.SYSTOLIC_PRESSURE: (50, 230),
    Signal.DIASTOLIC_PRESSURE: (30, 120),
    Signal.PULSE: (30, 190),
    Signal.TEMPERATURE: (33, 41),
    Signal.CAPILLARY_REFILL: (0, 5),
    Signal.GCS_TOTAL: (3, 15),
    Signal.CREATININE: (30, 600),
    Signal.WHITE_CELLS: (1, 30),
    Signal.WEIGHT: (20, 120),
    Signal.HEIGHT: (60, 190),
    Signal.REPORTED_PAEDIATRIC_SCORE: (0, 12),
}
_ANSWERS: dict[CodedSignal, type[Enum]] = {
    CodedSignal.CONSCIOUSNESS: Consciousness,
    CodedSignal.OXYGEN_DELIVERY: OxygenDelivery,
    CodedSignal.RESPIRATORY_EFFORT: RespiratoryEffort,
}
#: Quarters of an hour before the review, so that rounds form; creatinine spread over weeks.
_QUARTERS = st.integers(0, 4 * 60)
_NUMBER = st.sampled_from(sorted(_RANGES)).flatmap(
    lambda signal: st.tuples(
        st.just(signal),
        st.integers(0, 400 * 24) if signal is Signal.CREATININE else _QUARTERS.map(lambda q: q / 4),
        st.integers(*_RANGES[signal]),
    )
)
_ANSWER = st.sampled_from(sorted(_ANSWERS)).flatmap(
    lambda signal: st.tuples(
        st.just(signal), _QUARTERS.map(lambda q: q / 4), st.sampled_from(list(_ANSWERS[signal]))
    )
)
_URINE = st.tuples(st.integers(0, 60), st.integers(1, 12), st.integers(0, 900))
_PERSON: st.SearchStrategy[dict[str, Any]] = st.sampled_from(
    [
        {"born": ADULT, "sex": Sex.MALE},
        {"born": CHILD, "sex": Sex.FEMALE},
        {"born": date(1996, 1, 1), "sex": Sex.FEMALE, "conditions": (PREGNANT,)},
        {"born": None},
    ]
)
_SLOW = settings(max_examples=60)


def _record(
    numbers: Iterable[tuple[Signal, float, int]],
    answers: Iterable[tuple[CodedSignal, float, Enum]],
    urine: Iterable[tuple[int, int, int]],
    person: Mapping[str, Any],
    therapy: Iterable[float] = (),
) -> Record:
    series: dict[Signal, dict[float, Measurement]] = {}
    for signal, hours, value in numbers:
        series.setdefault(signal, {})[hours] = reading(signal, hours, value)
    for ended, length, volume in urine:
        entry = reading(Signal.URINE_VOLUME, ended, volume, began=ended + length)
        series.setdefault(Signal.URINE_VOLUME, {})[ended] = entry
    codes: dict[CodedSignal, dict[float, Enum]] = {}
    for coded, hours, answer in answers:
        codes.setdefault(coded, {})[hours] = answer
    done = tuple(
        Procedure(
            origin=Origin(f"Procedure/{hours}"),
            text="Haemodialysis",
            kinds=frozenset({ProcedureKind.RENAL_REPLACEMENT}),
            at=ago(hours),
        )
        for hours in therapy
    )
    return chart(
        {signal: sorted(each.values(), key=lambda m: m.at) for signal, each in series.items()},
        codes={signal: list(each.items()) for signal, each in codes.items()},
        procedures=done,
        **person,
    )


def _found(record: Record, hours_ago: float) -> list[Finding]:
    at_bedside = bedside(record, as_of=ago(hours_ago))
    return [f for each in QUESTIONS for f in each.ask(at_bedside) if f.kind in _KINDS]


# Therapy that begins after the moment, and nothing else.
@example([], [], [], [32.0], {"born": date(1950, 6, 1), "sex": Sex.MALE}, 33)
@_SLOW
@given(
    st.lists(_NUMBER, max_size=40),
    st.lists(_ANSWER, max_size=12),
    st.lists(_URINE, max_size=8),
    st.lists(st.integers(0, 100).map(float), max_size=2),
    _PERSON,
    st.integers(0, 60),
)
def test_nothing_later_is_looked_at(
    numbers: list[tuple[Signal, float, int]],
    answers: list[tuple[CodedSignal, float, Enum]],
    urine: list[tuple[int, int, int]],
    therapy: list[float],
    person: dict[str, Any],
    moment: int,
) -> None:
    """A review of a moment gives the same with and without everything that came after it."""
    everything = _record(numbers, answers, urine, person, therapy)
    known = _record(
        [one for one in numbers if one[1] >= moment],
        [one for one in answers if one[1] >= moment],
        [one for one in urine if one[0] >= moment],
        person,
        [hours for hours in therapy if hours >= moment],
    )
    assert _found(everything, moment) == _found(known, moment)


_NORMAL: dict[Signal, int] = {
    Signal.RESPIRATION_RATE: 16,
    Signal.SPO2: 97,
    Signal.SYSTOLIC_PRESSURE: 110,
    Signal.DIASTOLIC_PRESSURE: 70,
    Signal.PULSE: 85,
    Signal.TEMPERATURE: 37,
    Signal.CAPILLARY_REFILL: 1,
    Signal.WHITE_CELLS: 8,
}
_ALERT_ON_AIR: list[tuple[CodedSignal, float, Enum]] = [
    (CodedSignal.CONSCIOUSNESS, 1.0, Consciousness.ALERT),
    (CodedSignal.OXYGEN_DELIVERY, 1.0, OxygenDelivery.AIR),
    (CodedSignal.RESPIRATORY_EFFORT, 1.0, RespiratoryEffort.NORMAL),
]


def _whole(findings: Iterable[Finding]) -> dict[str, Any]:
    return {
        f.key: f.total if f.value is None else f.value
        for f in findings
        if isinstance(f, ScoreFinding) and f.is_current and (f.total is not None or f.value is not None)
    }


@_SLOW
@given(
    st.lists(_NUMBER.filter(lambda one: one[0] is not Signal.OXYGEN_FLOW), max_size=25),
    st.lists(_ANSWER.filter(lambda one: one[1] != 1.0), max_size=8),
    st.lists(_URINE, max_size=5),
    _PERSON.filter(lambda person: person.get("born") is not None),
)
def test_more_data_never_opens_a_whole_score(
    numbers: list[tuple[Signal, float, int]],
    answers: list[tuple[CodedSignal, float, Enum]],
    urine: list[tuple[int, int, int]],
    person: dict[str, Any],
) -> None:
    """The newest round is whole; older rounds and further signals leave it whole."""
    base = [(signal, 1.0, value) for signal, value in _NORMAL.items()]
    whole = _whole(_found(_record(base, _ALERT_ON_AIR, (), person), 0))
    assert whole
    older = [(s, h, v) for s, h, v in numbers if h > 1.5 or (h == 1.0 and s not in _NORMAL)]
    earlier = [one for one in answers if one[1] > 1.5]
    more = _record([*older, *base], [*earlier, *_ALERT_ON_AIR], urine, person)
    assert set(whole) <= set(_whole(_found(more, 0)))


@_SLOW
@given(st.lists(_NUMBER, max_size=30), st.lists(_ANSWER, max_size=9), _PERSON)
def test_bounds_hold_the_total(
    numbers: list[tuple[Signal, float, int]],
    answers: list[tuple[CodedSignal, float, Enum]],
    person: dict[str, Any],
) -> None:
    """Lowest and highest enclose the total, close up when it is known, and stay in the printed range."""
    for found in _found(_record(numbers, answers, (), person), 0):
        if not isinstance(found, ScoreFinding) or found.not_applicable or not found.parts:
            continue
        assert 0 <= found.lowest <= found.highest <= 26
        assert (found.total is not None) is (found.lowest == found.highest)
        known = [part.points for part in found.parts if part.points is not None]
        if found.total is not None and found.key != "sirs":
            assert sum(known) == found.total
        assert found.evidence
        assert found.sources


@_SLOW
@given(st.lists(_NUMBER, max_size=30), st.lists(_URINE, max_size=8), _PERSON)
def test_a_stage_always_has_its_reason(
    numbers: list[tuple[Signal, float, int]], urine: list[tuple[int, int, int]], person: dict[str, Any]
) -> None:
    """A stage names its rule, no stage says why, and the higher part decides."""
    for found in _found(_record(numbers, (), urine, person), 0):
        if not isinstance(found, AkiFinding):
            continue
        assert bool(found.not_assessed) is (found.stage is None)
        # A high result that nothing can stage asks for somebody too, and says by which rule.
        assert bool(found.decided_by) is (bool(found.stage) or found.urgency > Urgency.ROUTINE)
        parts = {m.key: m.value for m in found.measures if m.key in ("creatinine-stage", "urine-stage")}
        if found.stage is not None:
            assert found.stage == max((int(Decimal(str(v))) for v in parts.values()), default=0)


@given(
    st.sampled_from(BEDSIDE_PEWS),
    st.sampled_from(["heart-rate", "systolic-pressure", "respiration"]),
    st.decimals(0, 300, places=1),
)
def test_further_from_normal_never_scores_less(aged: Any, key: str, value: Decimal) -> None:
    """Parshuram 2009, Table 1: on either side of the normal band the points only rise."""
    table = next(row.table for row in aged.definition.parameters if row.key == key)
    normal = next(band for band in table.bands if band.points == 0)
    step = Decimal(5)
    further = value + step if value > normal.high else max(value - step, Decimal(0))
    if not normal.low <= value <= normal.high:
        assert table.points_of(further) >= table.points_of(value)
