"""Whatever the orders and doses: what is running or in force is never said to have ended."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.charts import NOW, ago, bedside, chart
from weatherglass.facts.medicines.drug_chart import Standing
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.medicines import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.review.questions import QUESTIONS

pytestmark = pytest.mark.property

_MEDICINES = tuple(
    Medicine(text=name, ingredients=(name,), classes=frozenset(keys), method=MatchMethod.NAME)
    for name, keys in (
        ("potassium chloride", ("potassium-supplement",)),
        ("ramipril", ("ace-inhibitor",)),
        ("morphine", ("opioid", "renally-cleared-opioid")),
        ("insulin", ("insulin",)),
    )
)
_ORDERS = st.builds(
    lambda number, medicine, status, starts, ends, statement: MedicineOrder(
        origin=Origin(f"MedicationRequest/{number}"),
        medicine=medicine,
        status=status,
        route=Route.INTRAVENOUS,
        starts=ago(starts),
        ends=ago(ends) if ends is not None else None,
        is_statement=statement,
    ),
    st.integers(0, 3),
    st.sampled_from(_MEDICINES),
    st.sampled_from(OrderStatus),
    st.integers(-5, 90),
    st.none() | st.integers(-48, 60),
    st.booleans(),
)
_DOSES = st.builds(
    lambda number, medicine, at, lasts, running, order: Administration(
        origin=Origin(f"MedicationAdministration/{number}"),
        medicine=medicine,
        at=ago(at),
        ended=None if lasts is None or running else ago(at) + timedelta(hours=lasts),
        running=running,
        route=Route.INTRAVENOUS,
        order=Origin(f"MedicationRequest/{order}") if order is not None else None,
    ),
    st.integers(0, 9),
    st.sampled_from(_MEDICINES),
    st.integers(0, 90),
    st.none() | st.integers(0, 48),
    st.booleans(),
    st.none() | st.integers(0, 5),
)


def _record(orders: list[MedicineOrder], doses: list[Administration]) -> Record:
    return chart(
        {Signal.POTASSIUM: [(1, "6.8")], Signal.RESPIRATION_RATE: [(1, 7)], Signal.GLUCOSE: [(1, "2.1")]},
        orders=tuple({o.origin: o for o in orders}.values()),
        administrations=tuple({d.origin: d for d in sorted(doses, key=lambda d: d.at)}.values()),
    )


@settings(max_examples=300, deadline=None)
@given(st.lists(_ORDERS, max_size=4), st.lists(_DOSES, max_size=5))
def test_nothing_running_or_in_force_has_ended(
    orders: list[MedicineOrder], doses: list[Administration]
) -> None:
    """By the lines of the chart, and by every sentence about them."""
    record = _record(orders, doses)
    at_bedside = bedside(record)
    running = {d.medicine.text for d in record.administrations if d.running or (d.ended and d.ended > NOW)}
    in_force = {
        o.medicine.text
        for o in record.orders
        if o.status is OrderStatus.ACTIVE and o.in_force_at(NOW) and not o.is_statement
    }
    ended = {line.medicine.text for line in at_bedside.drug_chart.lines if line.standing is Standing.ENDED}
    assert ended.isdisjoint(running | in_force)
    for assessment in QUESTIONS:
        for found in assessment.ask(at_bedside):
            if isinstance(found, MedicineFinding) and found.medicine in running | in_force:
                assert "has ended" not in found.sentence, found.sentence
