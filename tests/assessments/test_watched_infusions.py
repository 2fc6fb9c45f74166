"""A medicine by vein that is steered by a value asks for it when nobody has measured it.

Published: capillary glucose every hour with insulin by vein (JBDS 2014, from memory). From when it is said is
our choice.
"""

from typing import Any

import pytest

from tests.charts import ago, findings, order, rounds
from tests.records import Json, answer_of, earlier, full_set, observation, ordered, patient, quantity, stay
from weatherglass.knowledge.emergencies.watched_infusions import WATCHED_INFUSIONS
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.care import CarePlace, Stay
from weatherglass.model.record.medicines import Route
from weatherglass.model.sources import Origin

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


def _held(*resources: Json) -> Finding | None:
    (one,) = answer_of(patient(), *full_set(), *resources).reviews
    return next((finding for finding in one.findings if finding.key == "held-pressure"), None)


def _runs(words: str, rate: str, **rest: Any) -> Json:
    route = {"text": "intravenous infusion"}
    return ordered(
        words, authoredOn=earlier("10 h"), dosageInstruction=[{"route": route, "text": rate}], **rest
    )


@pytest.mark.parametrize(
    ("words", "rate", "is_told"),
    [
        ("Noradrenaline", "0.1 micrograms/kg/min by continuous infusion", True),
        ("Vasopressin", "0.03 units/min by continuous infusion", True),
        ("Adrenaline", "1 mg once in cardiac arrest", False),
        ("Glyceryl trinitrate", "2 mg/h by continuous infusion", False),
    ],
)
def test_a_pressure_that_is_held_up(words: str, rate: str, is_told: bool) -> None:
    """Common practice, no source: a normal pressure under noradrenaline was "Nothing urgent found"."""
    found = _held(_runs(words, rate), stay())
    assert (found is not None) is is_told


@pytest.mark.parametrize(
    ("place", "urgency"),
    [
        (CarePlace.WARD, Urgency.PROMPT),
        (CarePlace.EMERGENCY_DEPARTMENT, Urgency.PROMPT),
        (CarePlace.INTENSIVE_CARE, Urgency.ROUTINE),
        (CarePlace.THEATRE, Urgency.ROUTINE),
    ],
)
def test_where_critical_care_is_it_calls_nobody(place: CarePlace, urgency: Urgency) -> None:
    rate = "0.1 micrograms/kg/min by continuous infusion"
    drip = order("Noradrenaline", route=Route.INTRAVENOUS, dose_text=rate)
    record = rounds(
        (1, {}),
        orders=(replace(drip, medicine=replace(drip.medicine, ingredients=("noradrenaline",))),),
        stays=(Stay(origin=Origin("Encounter/1"), starts=ago(40), kind=place),),
    )
    assert findings(record, Kind.CARDIAC)["held-pressure"].urgency is urgency
