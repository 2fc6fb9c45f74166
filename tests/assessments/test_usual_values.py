"""The patient's own usual range, against NumPy's median and quartiles."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.charts import ago, bedside, chart, findings, measures_of, reading, rounds
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.care import Stay
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

HR = Signal.PULSE


@pytest.mark.property
@given(
    st.lists(
        st.tuples(st.integers(min_value=0, max_value=200), st.integers(min_value=40, max_value=160)),
        max_size=30,
        unique_by=lambda point: point[0],
    )
)
def test_agrees_with_numpy(points: list[tuple[int, int]]) -> None:
    """Median and quartiles of the readings older than 6 hours, of at most 7 days."""
    held = [value for hours, value in points if 6 < hours <= 168]
    usual = bedside(chart({HR: points})).usual.get(HR) if points else None
    if len(held) < 3:
        assert usual is None
        return
    assert usual is not None
    expected = np.quantile(held, [0.25, 0.5, 0.75])
    assert [float(v) for v in (usual.low, usual.median, usual.high)] == pytest.approx(list(expected))
    assert usual.readings == len(held)


def test_one_finding_for_every_sign() -> None:
    """Keys name the sign, so that whoever draws a chart finds its band."""
    record = chart({HR: [(30, 70), (20, 80), (10, 90)], Signal.TEMPERATURE: [(30, "36.8")]})
    found = findings(record, Kind.CONTEXT)["usual-values"]
    assert found.urgency is Urgency.ROUTINE
    assert measures_of(found) == {
        "pulse-usual-low": Decimal(75),
        "pulse-usual-high": Decimal(85),
        "pulse-usual-median": Decimal(80),
    }
    assert "pulse 75-85 /min" in found.sentence
    assert len(found.evidence) == 2


@pytest.mark.parametrize(("admitted", "said"), [(31, True), (30, True), (29, False), (None, False)])
def test_readings_of_this_illness_only_are_called_that(admitted: float | None, said: bool) -> None:
    """What looks usual may be the illness; over how long the readings go stands in the sentence."""
    stays = (Stay(origin=Origin("Encounter/1"), starts=ago(admitted)),) if admitted is not None else ()
    found = findings(chart({HR: [(30, 70), (20, 70), (10, 70)]}, stays=stays), Kind.CONTEXT)["usual-values"]
    assert found.sentence == "Usual for this patient, own readings over 20 hours: pulse 70 /min."
    assert any("illness may be in what looks usual" in one for one in found.cautions) is said


def test_nothing_usual_without_readings() -> None:
    """Fewer than three readings are no range."""
    assert "usual-values" not in findings(chart({HR: [(30, 70), (20, 80)]}), Kind.CONTEXT)


def test_a_value_known_only_as_an_interval_is_not_usual() -> None:
    """Ours: two different values at one time say nothing of what is usual."""
    unsure = reading(HR, 15, "180", spread=("70", "180"))
    record = chart(
        {HR: (*(reading(HR, h, v) for h, v in ((30, "70"), (20, "80"))), unsure, reading(HR, 10, "90"))}
    )
    usual = bedside(record).usual[HR]
    assert (usual.readings, usual.median) == (3, Decimal(80))


@pytest.mark.parametrize(("spo2", "said"), [(94, "Usual for this patient, own"), (91, "Own")])
def test_readings_of_an_illness_are_not_called_usual(spo2: int, said: str) -> None:
    """Ours: with a NEWS2 of 5 or more among them they are the illness's; at 24 breaths 94 % gives 3."""
    ill = {Signal.RESPIRATION_RATE: 24, Signal.SPO2: spo2}
    well = {Signal.RESPIRATION_RATE: 16, Signal.SPO2: 97}
    record = rounds((30, ill), (20, well), (10, well))
    found = findings(record, Kind.CONTEXT)["usual-values"]
    assert found.sentence.startswith(f"{said} readings")
