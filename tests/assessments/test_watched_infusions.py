"""A medicine by vein that is steered by a value asks for it when nobody has measured it.

Published: capillary glucose every hour with insulin by vein (JBDS 2014, from memory). From when it is said is
our choice.
"""

from typing import Any

import pytest

from tests.records import Json, answer_of, earlier, full_set, observation, ordered, patient, quantity, stay
from weatherglass.knowledge.emergencies.watched_infusions import WATCHED_INFUSIONS
from weatherglass.model.findings import Finding, Urgency

KEYS = frozenset(f"{row.key}-unmeasured" for row in WATCHED_INFUSIONS)


def _infusion(words: str, began: str, route: str = "intravenous", **rest: Any) -> Json:
    dosage = [{"route": {"text": route}}]
    return ordered(words, authoredOn=earlier(began), dosageInstruction=dosage, **rest)


def _measured(code: str, value: str, ago: str) -> Json:
    return observation(
        f"v{ago}".replace(" ", ""), code, at=earlier(ago), valueQuantity=quantity(value, "mmol/L")
    )


def _found(*resources: Json) -> list[Finding]:
    (one,) = answer_of(patient(), stay(), *full_set(), *resources).reviews
    return [finding for finding in one.findings if finding.key in KEYS]


INSULIN, GLUCOSE, POTASSIUM = "Actrapid 50 units in sodium chloride 0.9% 50 mL", "14749-6", "2823-3"


@pytest.mark.parametrize(("ago", "is_told"), [("119 min", False), ("120 min", True)])
def test_insulin_from_two_hours_after_the_last_glucose(ago: str, is_told: bool) -> None:
    found = _found(_infusion(INSULIN, "10 h"), _measured(GLUCOSE, "8.4", ago))
    assert bool(found) is is_told
    if is_told:
        assert found[0].urgency is Urgency.URGENT
        assert found[0].since is not None
        assert found[0].since.isoformat() == "2026-03-01T05:00:00+00:00"  # An hour after it, 09:00 at +04:00.


def test_insulin_without_any_glucose_counts_from_when_it_began() -> None:
    (found,) = _found(_infusion(INSULIN, "3 h"))
    assert "not measured since it began at 07:00 on 1 March" in found.sentence


@pytest.mark.parametrize(
    "order",
    [
        _infusion("Insulin glargine 20 units", "10 h", "subcutaneous"),
        _infusion(INSULIN, "10 h", status="on-hold"),
        _infusion(INSULIN, "10 h", status="stopped"),
        _infusion(INSULIN, "10 h", status="draft"),
        _infusion(INSULIN, "1 h"),
    ],
    ids=["under the skin", "on hold", "stopped", "draft", "just begun"],
)
def test_what_does_not_ask(order: Json) -> None:
    assert _found(order) == []


@pytest.mark.parametrize(("ago", "is_told"), [("25.9 h", False), ("26 h", True)])
def test_potassium_by_vein_every_day(ago: str, is_told: bool) -> None:
    order = _infusion("Potassium chloride 0.3% in glucose 5% 1 L", "30 h")
    assert bool(_found(order, _measured(POTASSIUM, "3.4", ago))) is is_told


@pytest.mark.parametrize(
    ("words", "ago", "potassium", "is_told"),
    [
        ("10 units", "6 h", "6.8", True),
        ("10 units", "361 min", "6.8", False),
        ("10 units", "361 min", "5.9", True),
        ("infusion 6 units/h", "361 min", "6.8", True),
    ],
)
def test_one_dose_for_a_potassium_wears_off(words: str, ago: str, potassium: str, is_told: bool) -> None:
    """UKKA 2023, secondary: glucose and potassium are followed for 6 hours; it was asked for a day later."""
    dose = _infusion("Actrapid", ago)
    dose["dosageInstruction"][0]["text"] = words
    assert bool(_found(dose, _measured(POTASSIUM, potassium, "7 h"))) is is_told
