"""Whole doses given twice within a part of their interval; after how long is our choice."""

from typing import Any

import pytest

from tests.medicines.at_nine import at_nine, clock
from tests.medicines.wards import order
from tests.records import Json, given
from weatherglass.model.findings import Finding, Urgency


def _order(text: str = "Lantus 100 units/mL", often: int = 1, **rest: Any) -> Json:
    dose = {"value": 30, "unit": "unit"}
    timing = {"repeat": {"frequency": often, "period": 1, "periodUnit": "d"}}
    written = [{"timing": timing, "doseAndRate": [{"doseQuantity": dose}]}]
    return {**order(text), "dosageInstruction": written, **rest}


def _dose(time: str, units: int = 30, text: str = "Insulin glargine", day: str = "2026-03-01") -> Json:
    return given(
        text,
        clock(time, day),
        id=f"d-{day}-{time}".replace(":", ""),
        dosage={"dose": {"value": units, "unit": "unit"}},
    )


def _twice(*resources: Json) -> list[Finding]:
    return [one for one in at_nine(*resources) if one.key == "given-twice"]


@pytest.mark.parametrize(
    ("second", "is_asked"), [("01:20", False), ("01:21", True), ("08:55", True), ("09:00", False)]
)
def test_within_a_third_of_the_interval(second: str, *, is_asked: bool) -> None:
    """Not within 20 minutes, and not from a third of a day on (0.33, so 7 h 55 min)."""
    found = _twice(_order(), _dose("01:00"), _dose(second))
    assert bool(found) is is_asked
    assert all(one.urgency is Urgency.PROMPT for one in found)


@pytest.mark.parametrize(
    "quiet",
    [
        [_order(), _dose("02:00"), _dose("03:00", 10)],
        [_order(), _dose("02:00", 15), _dose("03:00", 15)],
        [_order(often=5), _dose("02:00"), _dose("03:00")],
        [_order("Senna 7.5 mg"), _dose("02:00", text="Senna 7.5 mg"), _dose("03:00", text="Senna 7.5 mg")],
        [_order(), {**_order("Insulin glargine once"), "id": "b"}, _dose("02:00"), _dose("03:00")],
        [_order(), _dose("02:00")],
    ],
)
def test_what_is_not_asked_about(quiet: list[Json]) -> None:
    """Another amount, parts of a dose, many doses a day, what harms little, two orders that share a name."""
    assert not _twice(*quiet)


def test_of_the_last_day() -> None:
    assert _twice(_order(), _dose("08:00", day="2026-02-28"), _dose("09:00", day="2026-02-28"))
    assert not _twice(_order(), _dose("07:00", day="2026-02-28"), _dose("08:59", day="2026-02-28"))


def _held(text: str = "Lantus 100 units/mL", written: str = "2026-02-27T09:00:00+04:00", **rest: Any) -> Json:
    return order(text, id="held", status="on-hold", authoredOn=written, **rest)


def _either(*resources: Json) -> list[Finding]:
    return [one for one in at_nine(*resources) if one.key == "held-and-in-use"]


_TOUJEO = order("Toujeo 300 units/mL", authoredOn="2026-02-26T09:00:00+04:00")


@pytest.mark.parametrize(
    ("resources", "is_asked"),
    [
        ([_held(), _TOUJEO], True),
        ([_held(written="2026-02-26T09:00:00+04:00"), _TOUJEO], True),
        ([_held(written="2026-02-25T09:00:00+04:00"), _TOUJEO], False),
        (
            [_held(written="2026-02-25T09:00:00+04:00"), _TOUJEO, _dose("02:00", text="Lantus 100 units/mL")],
            True,
        ),
        (
            [_held(written="2026-02-25T09:00:00+04:00"), _TOUJEO, _dose("02:00", text="Toujeo 300 units/mL")],
            False,
        ),
        ([_held(), order("Tresiba 100 units/mL")], False),
        ([_held("Ramipril 5 mg"), order("Ramipril 2.5 mg", id="b")], False),
        ([_held("Enoxaparin 40 mg"), order("Clexane 40 mg", id="b")], True),
    ],
)
def test_on_hold_and_in_use(resources: list[Json], *, is_asked: bool) -> None:
    """Ours: of what harms when doubled, unless the one in use is newer and nothing of the other was given."""
    found = _either(*resources)
    assert bool(found) is is_asked
    assert all(one.urgency is Urgency.PROMPT and "ask before the next dose" in one.sentence for one in found)


def test_what_was_given_of_the_one_on_hold_is_said() -> None:
    (found,) = _either(_held(), _TOUJEO, _dose("02:00", text="Lantus 100 units/mL"))
    assert "what is on hold was given at 02:00" in found.sentence
