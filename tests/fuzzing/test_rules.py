"""A short look in every test run; `make fuzz` looks for as long as it is told to."""

import pytest

from tests.fuzzing.mutations import case, records
from tests.fuzzing.rules import BrokenRuleError, _check, look


@pytest.fixture(scope="module")
def bodies() -> list[bytes]:
    """The ward's Bundles."""
    return records()


@pytest.mark.property
@pytest.mark.parametrize("start", range(0, 240, 40))
def test_the_rules_hold(start: int, bodies: list[bytes]) -> None:
    """Refused with a reason or reviewed within the rules; never anything else."""
    seen = {look(case(number, bodies), twice=number % 20 == 0) for number in range(start, start + 40)}
    assert seen <= {"reviewed", "nothing to review", "refused"}
    assert "reviewed" in seen  # Else the cases are so broken that they prove nothing.


def test_a_case_can_be_made_again(bodies: list[bytes]) -> None:
    assert case(7, bodies) == case(7, bodies)
    assert len({case(number, bodies) for number in range(40)}) == 40


@pytest.mark.parametrize(
    "score",
    [
        {"component": [{"dataAbsentReason": {}}], "valueQuantity": {"value": 0}},
        {"component": [{"valueQuantity": {"value": 3}}], "valueQuantity": {"value": 2}},
    ],
)
def test_the_rules_can_be_broken(score: dict[str, object]) -> None:
    """An incomplete score shown as a whole one, and a wrong sum."""
    outcome = {"resourceType": "OperationOutcome", "issue": [{}]}
    observation = {"resourceType": "Observation", "code": {"coding": [{"code": "news2"}]}, **score}
    with pytest.raises(BrokenRuleError):
        _check({"entry": [{"resource": outcome}, {"resource": observation}]})
