"""A potassium that insulin has only moved: monitored 1, 2, 4, 6 and 24 hours after it (UKKA 2023, secondary).

That it stays 'urgent' for 6 hours, and that the drug chart is read by it, is our choice.
"""

import pytest

from tests.charts import administered, ago, chart, condition, findings, order
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import Administration
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal

SPIRONOLACTONE = order("Spironolactone 25 mg", "mineralocorticoid-receptor-antagonist")


def _dose(
    hours: float, name: str = "Actrapid insulin 10 units", ingredient: str = "insulin human"
) -> Administration:
    return administered(name, hours, "insulin", ingredients=(ingredient,))


def _record(before: str, after: str, *, dose: float = 3, name: str = "Actrapid", **rest: object) -> Record:
    numbers = {Signal.POTASSIUM: [(4, before), (1, after)]}
    ingredient = "insulin glargine" if name == "Lantus" else "insulin human"
    return chart(numbers, administrations=(_dose(dose, name, ingredient),), **rest)  # type: ignore[arg-type]


def _potassium(record: Record) -> Finding | None:
    return findings(record, Kind.CRITICAL_RESULT).get("potassium-high")


@pytest.mark.parametrize(
    ("before", "is_moved"), [pytest.param("6.0", True, id="6.0"), pytest.param("5.9", False, id="5.9")]
)
@pytest.mark.parametrize("after", ["5.6", "5.1", "4.4"])
def test_a_moved_potassium_is_not_over(before: str, after: str, is_moved: bool) -> None:
    found = _potassium(_record(before, after))
    assert found is not None
    assert ("may climb again" in found.sentence) is is_moved
    if is_moved:
        assert (found.urgency, found.asked_since, found.since) == (Urgency.URGENT, ago(1), ago(4))
    else:
        assert found.urgency < Urgency.URGENT


@pytest.mark.parametrize(("hours", "is_moved"), [(3.0, True), (6.0, True), (6.1, False)])
def test_the_shift_lasts_six_hours(hours: float, is_moved: bool) -> None:
    numbers = {Signal.POTASSIUM: [(8, "6.8"), (1, "5.2")]}
    found = _potassium(chart(numbers, administrations=(_dose(hours),)))
    assert found is not None
    assert ("may climb again" in found.sentence) is is_moved


def test_a_basal_insulin_moves_nothing() -> None:
    found = _potassium(_record("7.1", "5.2", name="Lantus"))
    assert found is not None
    assert found.urgency is Urgency.ROUTINE


def test_a_dose_before_the_high_potassium_moved_nothing() -> None:
    found = _potassium(_record("7.1", "5.2", dose=5))
    assert found is not None
    assert "may climb" not in found.sentence


def test_a_potassium_that_is_urgent_by_itself_says_so_itself() -> None:
    found = _potassium(_record("7.1", "6.2"))
    assert found is not None
    assert found.urgency is Urgency.URGENT
    assert "moderate hyperkalaemia" in found.sentence


def test_in_ketoacidosis_it_is_meant_to_fall() -> None:
    numbers = {
        Signal.POTASSIUM: [(4, "6.2"), (1, "4.8")],
        Signal.KETONES: [(4, "6.0"), (1, "4.0")],
        Signal.GLUCOSE: [(4, "28"), (1, "17")],
        Signal.BICARBONATE: [(4, "8"), (1, "11")],
    }
    found = _potassium(chart(numbers, administrations=(_dose(3),)))
    assert found is None or "may climb" not in found.sentence


def test_the_drug_chart_is_read_by_what_it_was() -> None:
    told = findings(_record("7.1", "5.2", orders=(SPIRONOLACTONE,)), Kind.MEDICINE)
    said = next(iter(told.values()))
    assert "potassium 7.1 mmol/L (5.2 since, only moved into the cells)" in said.sentence
    assert said.urgency is Urgency.URGENT  # It is being treated: the chart alone calls nobody at once.


@pytest.mark.parametrize(("hours", "explains"), [(5.0, True), (7.1, False)])
def test_insulin_explains_a_low_glucose_without_diabetes(hours: float, explains: bool) -> None:
    found = findings(
        chart({Signal.GLUCOSE: [(1, "3.4")]}, administrations=(_dose(hours),)), Kind.CRITICAL_RESULT
    )["glucose-low"]
    assert ("after insulin" in found.sentence) is explains
    assert any("Look for a cause" in one for one in found.cautions) is not explains
    assert found.urgency is (Urgency.URGENT if explains else Urgency.PROMPT)


@pytest.mark.parametrize(("potassium", "urgency"), [("3.4", Urgency.URGENT), ("3.5", None)])
def test_a_low_potassium_in_ketoacidosis_asks_for_a_senior(potassium: str, urgency: Urgency | None) -> None:
    """JBDS 2023, secondary: below 3.5 mmol/L senior review, more potassium is needed."""
    numbers = {
        Signal.POTASSIUM: [(1, potassium)],
        Signal.KETONES: [(1, "4.0")],
        Signal.GLUCOSE: [(1, "17")],
        Signal.BICARBONATE: [(1, "11")],
    }
    diabetes = condition(ConditionKind.DIABETES_TYPE_1)
    found = findings(chart(numbers, conditions=(diabetes,)), Kind.CRITICAL_RESULT).get("potassium-low")
    assert (found.urgency if found is not None else None) is urgency
    alone = findings(chart({Signal.POTASSIUM: [(1, "3.4")]}), Kind.CRITICAL_RESULT)["potassium-low"]
    assert alone.urgency is Urgency.ROUTINE


@pytest.mark.parametrize("kind", [ConditionKind.ACUTE_CORONARY_SYNDROME, ConditionKind.ARRHYTHMIA])
def test_a_low_potassium_beside_an_ill_heart(kind: ConditionKind) -> None:
    """Our choice: 'prompt' below 3.5 beside a heart attack or an arrhythmia."""
    record = chart({Signal.POTASSIUM: [(1, "3.4")]}, conditions=(condition(kind),))
    assert findings(record, Kind.CRITICAL_RESULT)["potassium-low"].urgency is Urgency.PROMPT
