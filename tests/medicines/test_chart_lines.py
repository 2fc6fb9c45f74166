"""What is on the chart: in force, reported, on hold, not signed, ended and still acting."""

from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, order
from weatherglass.facts.medicines.drug_chart import Line, Standing
from weatherglass.model.plain import replace
from weatherglass.model.record.medicines import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.model.sources import Origin


def _lines(*orders: MedicineOrder, doses: tuple[Administration, ...] = ()) -> list[Line]:
    return list(bedside(chart({}, orders=orders, administrations=doses)).drug_chart.lines)


def _medicine(name: str, *classes: str) -> Medicine:
    return Medicine(text=name, ingredients=(name,), classes=frozenset(classes), method=MatchMethod.NAME)


def _dose(name: str, hours: float, *classes: str, of: str | None = None, **rest: Any) -> Administration:
    rest["order"] = Origin(of) if of else None
    return administered(name, hours, *classes, ingredients=(name,), **rest)


def _order(name: str, **rest: Any) -> MedicineOrder:
    made = order(name, **rest)
    return replace(made, medicine=_medicine(name, "nsaid"))


@pytest.mark.parametrize(
    ("rest", "standing"),
    [
        ({}, Standing.IN_USE),
        ({"starts": None}, Standing.IN_USE),
        ({"starts": 0, "ends": 0}, Standing.IN_USE),
        ({"status": OrderStatus.ON_HOLD}, Standing.ON_HOLD),
        ({"status": OrderStatus.DRAFT}, Standing.DRAFT),
        ({"status": OrderStatus.DRAFT, "starts": -24}, Standing.DRAFT),
        ({"is_statement": True}, Standing.REPORTED),
        ({"starts": -1}, None),
        ({"ends": 1}, None),
        ({"status": OrderStatus.ON_HOLD, "ends": 1}, None),
        ({"status": OrderStatus.STOPPED}, None),
    ],
    ids=str,
)
def test_standing(rest: dict[str, Any], standing: Standing | None) -> None:
    """An order is in question by its status and its own dates."""
    found = _lines(_order("ibuprofen", **rest))
    assert [line.standing for line in found] == ([standing] if standing else [])


class TestDosesGiven:
    """Ours: a dose of the last 24 hours counts, of a long-acting medicine one of the last 72."""

    @pytest.mark.parametrize(
        ("name", "hours", "route", "counts"),
        [
            ("ibuprofen", 24, Route.ORAL, True),
            ("ibuprofen", 25, Route.ORAL, False),
            ("digoxin", 72, Route.ORAL, True),
            ("digoxin", 73, Route.ORAL, False),
            ("amiodarone", 70, Route.ORAL, True),
            ("methotrexate", 70, Route.ORAL, True),
            ("fentanyl", 70, Route.TRANSDERMAL, True),
            ("fentanyl", 30, Route.ORAL, False),
        ],
    )
    def test_after_the_order_has_ended(self, name: str, hours: float, route: Route, *, counts: bool) -> None:
        """A stopped order still counts while its last dose acts."""
        stopped = _order(name, status=OrderStatus.STOPPED)
        dose = _dose(name, hours, "opioid", of=f"MedicationRequest/{name}", route=route)
        found = _lines(stopped, doses=(dose,))
        assert [line.standing for line in found] == ([Standing.ENDED] if counts else [])

    def test_depot(self) -> None:
        """A depot is told by its name."""
        dose = administered("Haloperidol decanoate 50 mg", 60, ingredients=("haloperidol",))
        assert [line.standing for line in _lines(doses=(dose,))] == [Standing.ENDED]

    def test_without_an_order(self) -> None:
        """A dose without an order is a line of its own, once, by its newest dose."""
        found = _lines(doses=(_dose("ibuprofen", 9, "nsaid"), _dose("ibuprofen", 2, "nsaid")))
        assert [line.order for line in found] == ["MedicationAdministration/ibuprofen-2"]

    def test_order_that_was_not_sent(self) -> None:
        """The order that a dose refers to is what to look at, although it was not sent."""
        found = _lines(doses=(_dose("ibuprofen", 2, of="MedicationRequest/elsewhere"),))
        assert [line.order for line in found] == ["MedicationRequest/elsewhere"]

    def test_running_infusion(self) -> None:
        """An infusion that began days ago and runs on is in use, without an order too."""
        found = _lines(doses=(_dose("heparin", 100, running=True),))
        assert [(line.standing, line.is_running) for line in found] == [(Standing.IN_USE, True)]

    def test_infusion_whose_end_is_still_to_come(self) -> None:
        """It runs until then."""
        found = _lines(doses=(_dose("heparin", 2, ended=ago(-1)), _dose("ibuprofen", 2, ended=ago(1))))
        assert [line.standing for line in found] == [Standing.IN_USE, Standing.ENDED]

    def test_a_running_infusion_beside_a_later_dose(self) -> None:
        """A bolus that is over does not end the infusion of the same medicine."""
        found = _lines(doses=(_dose("morphine", 5, running=True), _dose("morphine", 1)))
        assert [(line.standing, line.is_running) for line in found] == [(Standing.IN_USE, True)]

    def test_a_running_dose_of_a_stopped_order(self) -> None:
        """What is going in has not ended, whatever the order says."""
        old = _order("heparin", status=OrderStatus.STOPPED)
        found = _lines(old, doses=(_dose("heparin", 2, of=str(old.origin), running=True),))
        assert [line.standing for line in found] == [Standing.IN_USE]

    def test_belongs_to_the_order_in_use(self) -> None:
        """Doses of a medicine in use make no line; the newest is kept as the last."""
        found = _lines(_order("ibuprofen"), doses=(_dose("ibuprofen", 9), _dose("ibuprofen", 2)))
        assert [(line.standing, line.last_dose and line.last_dose.at) for line in found] == [
            (Standing.IN_USE, ago(2))
        ]

    def test_replaced_order(self) -> None:
        """A stopped order with the same medicine in use is no line of its own."""
        old = _order("ibuprofen-old", status=OrderStatus.STOPPED)
        old = MedicineOrder(origin=old.origin, medicine=_medicine("ibuprofen"), status=OrderStatus.STOPPED)
        found = _lines(old, _order("ibuprofen"), doses=(_dose("ibuprofen", 2, of=str(old.origin)),))
        assert [line.order for line in found] == ["MedicationRequest/ibuprofen"]


class TestStatements:
    def test_ordered_here_as_well(self) -> None:
        """What is taken at home and ordered here is one line."""
        home = _order("ibuprofen", is_statement=True)
        home = MedicineOrder(
            origin=Origin("MedicationStatement/1"),
            medicine=home.medicine,
            status=OrderStatus.ACTIVE,
            is_statement=True,
        )
        assert [line.standing for line in _lines(home, _order("ibuprofen"))] == [Standing.IN_USE]
        held = _order("ibuprofen", status=OrderStatus.ON_HOLD)
        assert [line.standing for line in _lines(home, held)] == [Standing.ON_HOLD]
        draft = _order("ibuprofen", status=OrderStatus.DRAFT)
        assert sorted(line.standing for line in _lines(home, draft)) == [Standing.DRAFT, Standing.REPORTED]


@pytest.mark.parametrize(
    ("key", "route", "acts"),
    [
        ("nsaid", Route.ORAL, True),
        ("nsaid", Route.UNKNOWN, True),
        ("nsaid", Route.TOPICAL, False),
        ("nsaid", Route.OPHTHALMIC, False),
        ("nsaid", Route.TRANSDERMAL, False),
        ("glucocorticoid", Route.INHALED, False),
        ("glucocorticoid", Route.NASAL, False),
        ("beta-blocker", Route.OPHTHALMIC, False),
        ("systemic-beta-agonist", Route.INHALED, False),
        ("opioid", Route.TRANSDERMAL, True),
        ("nitrate", Route.TOPICAL, True),
        ("glycopeptide", Route.ORAL, False),
        ("glycopeptide", Route.INTRAVENOUS, True),
        ("aminoglycoside", Route.OTIC, False),
        ("heparin", Route.OTHER, False),
        ("desmopressin", Route.NASAL, True),
    ],
)
def test_local_routes(key: str, route: Route, *, acts: bool) -> None:
    """A class counts only by a route that reaches the blood."""
    (line,) = _lines(order("it", key, route=route))
    assert line.classes == ({key} if acts else frozenset())
