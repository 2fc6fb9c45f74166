"""A growing need for oxygen: RCP 2020 (any increase is deterioration, from memory).

The size of a step is our choice: air to oxygen, FiO2 up by 0.10, flow up by 2 L/min, the
next device, within 24 hours. FiO2 above 40% is a high-risk criterion of NICE NG51, 2016.
"""

from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, measures_of
from weatherglass.facts.breathing.oxygen_course import oxygen_course
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, OxygenDelivery, Signal

D = OxygenDelivery
U, P, R = Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
Point = tuple[float, OxygenDelivery | None, str | None, str | None]


def _record(*points: Point, **rest: Any) -> Record:
    """Return rounds given as (hours ago, device, flow, FiO2)."""
    return chart(
        {
            Signal.OXYGEN_FLOW: [(h, flow) for h, _, flow, _ in points if flow],
            Signal.FIO2: [(h, fraction) for h, _, _, fraction in points if fraction],
            Signal.SPO2: [(h, 95) for h, *_ in points],
        },
        codes={CodedSignal.OXYGEN_DELIVERY: [(h, device) for h, device, *_ in points if device is not None]},
        **rest,
    )


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.OXYGEN_REQUIREMENT).get("oxygen-requirement")


@pytest.mark.parametrize(
    ("before", "now", "urgency"),
    [
        pytest.param((D.AIR, None, None), (D.NASAL_CANNULA, "1", None), P, id="air-to-oxygen"),
        pytest.param((D.AIR, None, None), (D.OXYGEN, None, None), P, id="air-to-oxygen-without-a-device"),
        pytest.param((D.NASAL_CANNULA, "2", None), (D.NASAL_CANNULA, "3.9", None), None, id="flow-up-by-1.9"),
        pytest.param((D.NASAL_CANNULA, "2", None), (D.NASAL_CANNULA, "4", None), P, id="flow-up-by-2"),
        pytest.param(
            (D.VENTURI_MASK, None, "0.28"), (D.VENTURI_MASK, None, "0.37"), None, id="fio2-up-by-0.09"
        ),
        pytest.param((D.VENTURI_MASK, None, "0.28"), (D.VENTURI_MASK, None, "0.38"), P, id="fio2-up-by-0.10"),
        pytest.param((D.VENTURI_MASK, None, "0.30"), (D.VENTURI_MASK, None, "0.40"), P, id="fio2-0.40"),
        pytest.param((D.VENTURI_MASK, None, "0.30"), (D.VENTURI_MASK, None, "0.41"), U, id="fio2-above-0.40"),
        pytest.param((D.NASAL_CANNULA, "4", None), (D.SIMPLE_MASK, "5", None), P, id="cannula-to-mask"),
        pytest.param(
            (D.SIMPLE_MASK, "5", None), (D.VENTURI_MASK, "6", None), None, id="mask-to-venturi-is-no-step"
        ),
        pytest.param(
            (D.VENTURI_MASK, None, "0.28"),
            (D.PRESSURE_SUPPORT, None, "0.28"),
            None,
            id="a-mask-for-carbon-dioxide",
        ),
        pytest.param(
            (D.VENTURI_MASK, None, "0.28"),
            (D.PRESSURE_SUPPORT, None, "0.29"),
            P,
            id="a-mask-with-more-oxygen",
        ),
        pytest.param((D.SIMPLE_MASK, "6", None), (D.RESERVOIR_MASK, "7", None), U, id="mask-to-reservoir"),
        pytest.param(
            (D.RESERVOIR_MASK, "15", None), (D.HIGH_FLOW, "16", None), U, id="reservoir-to-high-flow"
        ),
        pytest.param(
            (D.HIGH_FLOW, "40", None), (D.PRESSURE_SUPPORT, None, None), U, id="high-flow-to-support"
        ),
        pytest.param(
            (D.PRESSURE_SUPPORT, None, None), (D.VENTILATOR, None, None), U, id="support-to-ventilator"
        ),
        pytest.param((D.NASAL_CANNULA, "4", None), (D.NASAL_CANNULA, "2", None), None, id="less-flow"),
        pytest.param((D.VENTURI_MASK, None, "0.4"), (D.NASAL_CANNULA, "2", None), None, id="a-step-down"),
        pytest.param((D.NASAL_CANNULA, "2", None), (D.AIR, None, None), None, id="oxygen-to-air"),
        pytest.param(
            (D.NASAL_CANNULA, None, None), (D.NASAL_CANNULA, "4", None), None, id="flow-not-known-before"
        ),
    ],
)
def test_each_kind_of_step(before: Any, now: Any, urgency: Urgency | None) -> None:
    """Each kind of step at both of its ends; less oxygen is no trend."""
    found = _found(_record((10, *before), (0, *now)))
    assert (found.urgency if found else None) == urgency
    if found is not None:
        assert measures_of(found)["spo2"] == 95
        assert found.evidence


@pytest.mark.parametrize(("hours", "told"), [(24, True), (24.1, False)])
def test_within_a_day(hours: float, told: bool) -> None:
    """The least support of the previous 24 hours is compared with."""
    found = _found(_record((hours, D.AIR, None, None), (0, D.NASAL_CANNULA, "2", None)))
    assert (found is not None) == told


def test_the_least_of_the_day_not_the_last() -> None:
    """4 L/min after 2 after 4 is more than the least."""
    record = _record(*((h, D.NASAL_CANNULA, flow, None) for h, flow in ((20, "4"), (10, "2"), (0, "4"))))
    assert _found(record) is not None


def test_steps_after_the_start_are_said() -> None:
    """Started with cannulae and stepped up to a reservoir mask."""
    record = _record(
        (12, D.AIR, None, None),
        (10, D.NASAL_CANNULA, "2", None),
        (5, D.SIMPLE_MASK, "5", None),
        (0, D.RESERVOIR_MASK, "15", None),
    )
    found = _found(record)
    assert found is not None
    assert "a nasal cannula, 2 L/min and stepped up" in found.sentence


@pytest.mark.parametrize(
    ("points", "state", "since"),
    [
        pytest.param([(20, D.AIR), (5, D.NASAL_CANNULA)], State.NEW, 5, id="new"),
        pytest.param(
            [(30, D.AIR), (15, D.NASAL_CANNULA), (8, D.NASAL_CANNULA)], State.CONTINUING, 15, id="continuing"
        ),
        pytest.param(
            [(20, D.AIR), (15, D.NASAL_CANNULA), (1, D.RESERVOIR_MASK)], State.NEW, 1, id="worse-is-new"
        ),
        pytest.param([(20, D.AIR), (15, D.NASAL_CANNULA), (1, D.AIR)], State.SETTLING, 15, id="settling"),
    ],
)
def test_states(points: list[tuple[float, OxygenDelivery]], state: State, since: float) -> None:
    """The run begins with the first round that needed more."""
    found = _found(_record(*((h, device, None, None) for h, device in points)))
    assert found is not None
    assert (found.state, found.since) == (state, ago(since))


def test_documented_hypercapnia_is_said() -> None:
    """More oxygen for somebody who keeps carbon dioxide comes with a caution."""
    record = _record(
        (10, D.AIR, None, None),
        (0, D.NASAL_CANNULA, "2", None),
        conditions=(condition(ConditionKind.HYPERCAPNIA),),
    )
    found = _found(record)
    assert found is not None
    assert any("Hypercapnic" in caution for caution in found.cautions)


def test_nothing_known_is_no_air() -> None:
    """A round without air or oxygen is not in the course at all."""
    assert oxygen_course(()) == ()
    assert _found(chart({Signal.SPO2: [(10, 95), (0, 90)]})) is None


@pytest.mark.parametrize(("flow", "told"), [("3.9", False), ("4", True)])
def test_more_flow_after_the_start_is_said_from_the_step_of_2(flow: str, told: bool) -> None:
    """RCP, from memory: any increase; ours: told apart from the start at 2 L/min more."""
    record = _record(
        (12, D.AIR, None, None), (10, D.NASAL_CANNULA, "2", None), (0, D.NASAL_CANNULA, flow, None)
    )
    began = _found(_record((12, D.AIR, None, None), (10, D.NASAL_CANNULA, "2", None)))
    found = _found(record)
    assert found is not None
    assert began is not None
    assert ("2 L/min" in found.sentence.replace(f"{flow} L/min", "")) == told
    assert ("oxygen started" in found.sentence) == told  # Else "from air" says it.


def test_a_device_that_is_not_recorded_is_said_so() -> None:
    """And only then; the saturation held with it is evidence."""
    found = _found(_record((10, D.AIR, None, None), (0, D.OXYGEN, None, None)))
    assert found is not None
    assert "The device is not recorded." in found.cautions
    assert any(origin.startswith("Observation/spo2") for origin in found.evidence)
    named = _found(_record((10, D.AIR, None, None), (0, D.NASAL_CANNULA, "2", None)))
    assert named is not None
    assert "The device is not recorded." not in named.cautions


def test_the_amounts_are_compared_with_the_round_that_is_named() -> None:
    """What is said to be more is more than in the round that stands beside it."""
    record = chart(
        {
            Signal.OXYGEN_FLOW: [(10, "6"), (4, "8"), (1, "8")],
            Signal.FIO2: [(10, "0.30"), (4, "0.35"), (1, "0.50")],
        },
        codes={CodedSignal.OXYGEN_DELIVERY: [(h, OxygenDelivery.HIGH_FLOW) for h in (10, 4, 1)]},
    )
    found = findings(record, Kind.OXYGEN_REQUIREMENT)["oxygen-requirement"]
    assert "6 L/min, FiO2 0.3 9 hours before (FiO2 up by 0.2, flow up by 2 L/min)" in found.sentence


@pytest.mark.parametrize(
    ("most", "now", "urgency"),
    [("4", "2", R), ("4", "3", R), ("4", "3.1", P), ("4", "4", P), ("4", "6", P), (None, "2", P)],
    ids=["less", "1-less", "0.9-less", "as-much", "more", "flow-not-known"],
)
def test_oxygen_on_its_way_down_asks_for_no_more(most: str | None, now: str, urgency: Urgency) -> None:
    """Ours: air, 2 L/min, then 1 L/min was "more oxygen is needed" for a day."""
    found = _found(_record((10, D.AIR, None, None), (6, D.OXYGEN, most, None), (1, D.OXYGEN, now, None)))
    assert found is not None
    assert found.urgency is urgency
    assert ("stepped down" in found.sentence) is (urgency is R)
