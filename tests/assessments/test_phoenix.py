"""Phoenix Sepsis Score (JAMA 2024;331:665), both ends of every band; that it is urgent is ours."""

from datetime import date
from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, rounds, scores
from weatherglass.facts.results.open_points import OpenTotal, Points
from weatherglass.facts.results.phoenix import phoenix
from weatherglass.model.findings import Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.medicines import Administration, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal

SIX, MONTHS = date(2019, 11, 1), 76
SEPSIS = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, began=6)
WANTED = LocalChoices(scores=("phoenix",))
MAP, SPO2, PO2 = Signal.MEAN_PRESSURE, Signal.SPO2, Signal.PO2_ARTERIAL
LITTLE = {Signal.SYSTOLIC_PRESSURE: None, CodedSignal.CONSCIOUSNESS: None}


def _found(record: Record, months: int = MONTHS) -> OpenTotal:
    return phoenix(bedside(record), months)


def _part(found: OpenTotal, name: str) -> tuple[int, int]:
    one: Points = next(each for each in found.parts if each.part == name)
    return one.lowest, one.highest


@pytest.mark.parametrize(
    ("months", "bands"),
    [
        (0, "31:0 30:1 17:1 16:2"),
        (1, "39:0 38:1 25:1 24:2"),
        (11, "39:0 38:1 25:1 24:2"),
        (12, "44:0 43:1 31:1 30:2"),
        (24, "45:0 44:1 32:1 31:2"),
        (59, "45:0 44:1 32:1 31:2"),
        (60, "49:0 48:1 36:1 35:2"),
        (143, "49:0 48:1 36:1 35:2"),
        (144, "52:0 51:1 38:1 37:2"),
    ],
)
def test_mean_pressure_by_age(months: int, bands: str) -> None:
    for value, _, points in (band.partition(":") for band in bands.split()):
        found = _found(chart({MAP: [(1, value)]}, born=SIX), months)
        assert _part(found, "mean-pressure") == (int(points), int(points)), value


@pytest.mark.parametrize(("motor", "points"), [(5, (1, 2)), (6, (0, 2))])
def test_a_coma_scale_in_three_parts_is_the_same_fact(motor: int, points: tuple[int, int]) -> None:
    """10 or less is a point (JAMA 2024;331:665), whether the total was sent or its parts."""
    parts = {Signal.GCS_EYE: [(1, 2)], Signal.GCS_VERBAL: [(1, 3)], Signal.GCS_MOTOR: [(1, motor)]}
    assert _part(_found(chart(parts)), "brain") == points


@pytest.mark.parametrize("bands", ["4.9:0 5:1 10.9:1 11:2"])
def test_lactate(bands: str) -> None:
    for value, _, points in (band.partition(":") for band in bands.split()):
        assert _part(_found(chart({Signal.LACTATE: [(1, value)]})), "lactate") == (int(points), int(points))


@pytest.mark.parametrize(
    ("numbers", "points"),
    [
        ({}, (0, 2)),
        ({Signal.PLATELETS: "99"}, (1, 2)),
        ({Signal.PLATELETS: "100", Signal.INR: "1.3", Signal.D_DIMER: "2", Signal.FIBRINOGEN: "1"}, (0, 0)),
        ({Signal.PLATELETS: "99", Signal.INR: "1.4"}, (2, 2)),
        (
            {Signal.PLATELETS: "99", Signal.INR: "1.4", Signal.D_DIMER: "2.1", Signal.FIBRINOGEN: "0.9"},
            (2, 2),
        ),
        ({Signal.PLATELETS: "200", Signal.INR: "1.0", Signal.FIBRINOGEN: "2"}, (0, 1)),
    ],
)
def test_coagulation_has_at_most_two(numbers: dict[Signal, str], points: tuple[int, int]) -> None:
    record = chart({signal: [(1, value)] for signal, value in numbers.items()})
    assert _part(_found(record), "coagulation") == points


@pytest.mark.parametrize(("scale", "points"), [("10", (1, 2)), ("11", (0, 2)), ("3", (1, 2)), ("", (0, 2))])
def test_pupils_stay_open_in_a_child_who_is_not_alert(scale: str, points: tuple[int, int]) -> None:
    assert _part(_found(chart({Signal.GCS_TOTAL: [(1, scale)]} if scale else {})), "brain") == points


def test_an_alert_child_has_none() -> None:
    record = rounds((1, {CodedSignal.CONSCIOUSNESS: Consciousness.ALERT}))
    assert _part(_found(record), "brain") == (0, 0)


@pytest.mark.parametrize(
    ("device", "saturation", "fraction", "points"),
    [
        (OxygenDelivery.AIR, "88", None, (0, 0)),  # No support, no points.
        (OxygenDelivery.NASAL_CANNULA, "87.6", "0.3", (0, 0)),  # 292
        (OxygenDelivery.NASAL_CANNULA, "87.5", "0.3", (1, 1)),
        (OxygenDelivery.HIGH_FLOW, "70", "0.6", (1, 1)),
        (OxygenDelivery.VENTILATOR, "88.4", "0.4", (1, 1)),  # 221
        (OxygenDelivery.VENTILATOR, "88", "0.4", (2, 2)),  # 220
        (OxygenDelivery.VENTILATOR, "88.8", "0.6", (2, 2)),  # 148
        (OxygenDelivery.VENTILATOR, "88.2", "0.6", (3, 3)),
        (OxygenDelivery.HIGH_FLOW, "98", "0.6", (0, 1)),  # Not to be read above 97.
        (OxygenDelivery.VENTILATOR, "98", "0.6", (0, 3)),
    ],
)
def test_saturation_over_oxygen(
    device: OxygenDelivery, saturation: str, fraction: str | None, points: tuple[int, int]
) -> None:
    changed: dict[Any, Any] = {**LITTLE, CodedSignal.OXYGEN_DELIVERY: device, SPO2: saturation}
    record = rounds((1, {**changed, Signal.FIO2: fraction}))
    assert _part(_found(record), "respiration") == points


@pytest.mark.parametrize(
    ("po2", "points"), [("26.67", 0), ("26.6", 1), ("13.4", 1), ("13.3", 2), ("6.67", 2), ("6.6", 3)]
)
def test_an_arterial_sample_comes_before_saturation(po2: str, points: int) -> None:
    """On half oxygen: 400, 200 and 100 mmHg are 26.66, 13.33 and 6.67 kPa."""
    changed = {**LITTLE, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.VENTILATOR, Signal.FIO2: "0.5"}
    record = rounds((1, changed), numbers={PO2: [(1, po2)]})
    assert _part(_found(record), "respiration") == (points, points)


def _infusion(name: str) -> Administration:
    return administered(name, 3, ingredients=(name,), running=True, route=Route.INTRAVENOUS)


@pytest.mark.parametrize(
    ("names", "points"), [((), 0), (("milrinone",), 1), (("milrinone", "adrenaline"), 2)]
)
def test_vasoactive_medicines(names: tuple[str, ...], points: int) -> None:
    record = chart({}, administrations=tuple(map(_infusion, names)))
    assert _part(_found(record), "vasoactives") == (points, points)


class TestTheAnswer:
    """Only where a site wants it, of a child with infection."""

    NUMBERS = {Signal.LACTATE: [(2, "5.5")], Signal.PLATELETS: [(4, "90")]}  # noqa: RUF012

    def test_two_points_are_sepsis_and_of_the_circulation_shock(self) -> None:
        record = rounds((1, {}), numbers=self.NUMBERS, conditions=(SEPSIS,), born=SIX)
        (found,) = scores(record, "phoenix", choices=WANTED)
        assert found.sentence.startswith("Phoenix score 2 to ")
        assert "septic shock by Phoenix" in found.sentence
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(2))

    def test_one_point_asks_for_nobody(self) -> None:
        numbers = {Signal.PLATELETS: [(4, "90")]}
        record = rounds((1, {}), numbers=numbers, conditions=(SEPSIS,), born=SIX)
        (found,) = scores(record, "phoenix", choices=WANTED)
        assert found.urgency is Urgency.ROUTINE

    @pytest.mark.parametrize(
        ("conditions", "born", "choices"),
        [
            ((SEPSIS,), SIX, None),
            ((), SIX, WANTED),
            ((SEPSIS,), date(1990, 1, 1), WANTED),
            ((SEPSIS,), None, WANTED),
        ],
    )
    def test_not_asked(self, conditions: Any, born: date | None, choices: LocalChoices | None) -> None:
        record = rounds((1, {}), numbers=self.NUMBERS, conditions=conditions, born=born)
        assert not scores(record, "phoenix", choices=choices)
