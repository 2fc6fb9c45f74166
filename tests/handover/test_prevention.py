"""An antibacterial alone, beside kidney injury, asks a question and sets no deadline (our choice).

One at an operation is on the chart as a treatment is; a night dose that only prevents asks nothing. That
kidney injury raises the risk is from memory (NICE NG51, features).
"""

import pytest

from tests.medicines.wards import injury, order, problem, reviewed
from tests.records import Json, full_set
from weatherglass.model.findings import Finding, Kind, Urgency


def _about_infection(*resources: Json) -> Finding:
    (one,) = reviewed(*full_set(), *resources).reviews
    (found,) = [f for f in one.findings if f.kind is Kind.SEPSIS_RISK]
    return found


@pytest.mark.parametrize(
    ("name", "atc"),
    [("Trimethoprim 200 mg twice a day", "J01EA01"), ("Cefuroxime 1.5 g once at induction", "J01DC02")],
)
def test_an_order_alone_asks_whether_infection_is_meant(name: str, atc: str) -> None:
    found = _about_infection(*injury(2), order(name, atc))
    assert found.urgency is Urgency.PROMPT
    assert found.sentence.startswith(f"Is infection suspected? Only {name} on the chart says so.")
    assert "acute kidney injury stage 2 would make it high" in found.sentence
    assert "due" not in found.sentence


def test_without_kidney_injury_nobody_is_asked() -> None:
    assert _about_infection(order("Trimethoprim 200 mg twice a day", "J01EA01")).urgency is Urgency.ROUTINE


def test_with_a_recorded_infection_kidney_injury_makes_it_high() -> None:
    found = _about_infection(*injury(2), order("Trimethoprim 200 mg", "J01EA01"), problem("Pneumonia"))
    assert "high risk of severe illness or death" in found.sentence
    assert found.urgency is Urgency.URGENT


def test_with_a_score_of_5_the_order_is_believed() -> None:
    ill = full_set(respiration_rate="22 /min", pulse="112 /min", temperature="38.5 Cel")
    (one,) = reviewed(*ill, *injury(2), order("Cefuroxime 1.5 g", "J01DC02")).reviews
    (found,) = [f for f in one.findings if f.kind is Kind.SEPSIS_RISK]
    assert "high risk" in found.sentence
    assert found.urgency is Urgency.EMERGENCY
