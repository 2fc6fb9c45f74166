"""What is done at the bedside until somebody comes.

Oxygen above the range of somebody who keeps carbon dioxide is turned down at once (BTS guideline for oxygen,
2017); which sign brings which line is our choice.
"""

import pytest

from tests.records import AT, Json, answer_of, full_set, observation, patient, problem, quantity
from weatherglass.model.review import Review

_LOCAL = "urn:weatherglass:codes:observation"


def _oxygen(spo2: str) -> Review:
    target = observation("t", "oxygen-target", system=_LOCAL, valueString="88-92 %")
    gas: list[Json] = [
        observation("ph", "2744-1", valueQuantity=quantity("7.24", "[pH]")),
        observation("co", "2019-8", valueQuantity=quantity("9.6", "kPa")),
    ]
    signs = full_set(oxygen="oxygen", spo2=f"{spo2} %", consciousness="voice")
    (one,) = answer_of(patient(), *signs, target, *gas).reviews
    return one


@pytest.mark.parametrize(("spo2", "is_told"), [("97", True), ("92", False), ("90", False)])
def test_oxygen_above_a_narrow_range_is_turned_down(spo2: str, is_told: bool) -> None:
    said = _oxygen(spo2).at_bedside
    assert ("Oxygen down to 88-92 %." in said) is is_told
    assert said.count("Oxygen") == int(is_told)


def test_what_a_line_says_already_is_said_once() -> None:
    """Stridor and a closed vena cava both ask for sitting up and oxygen."""
    told = problem("Stridor", recordedDate=AT), problem("Superior vena cava obstruction", recordedDate=AT)
    (one,) = answer_of(patient(), *full_set(), *told).reviews
    assert one.at_bedside.casefold().count("sit up") == 1


@pytest.mark.parametrize(
    ("spo2", "oxygen", "is_told"),
    [("91", "oxygen", True), ("91", "air", True), ("92", "oxygen", False), ("95", "oxygen", False)],
)
def test_a_saturation_that_scores_three_asks_for_oxygen(spo2: str, oxygen: str, is_told: bool) -> None:
    """RCP NEWS2 2017, chart 1: 91 % or less scores 3 on scale 1; no single sign names 90 and 91 %."""
    signs = full_set(
        oxygen=oxygen, spo2=f"{spo2} %", respiration_rate="26 /min", systolic_pressure="88 mm[Hg]"
    )
    (one,) = answer_of(patient(), *signs).reviews
    assert ("Oxygen to the target range." in one.at_bedside) is is_told


def test_no_oxygen_is_asked_for_by_a_saturation_that_misleads() -> None:
    told = problem("Carbon monoxide poisoning", recordedDate=AT)
    (one,) = answer_of(patient(), *full_set(spo2="91 %", systolic_pressure="88 mm[Hg]"), told).reviews
    assert "Oxygen to the target range." not in one.at_bedside
