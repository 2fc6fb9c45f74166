"""An order for oxygen that names its target saturation is a prescribed target.

BTS 2017: oxygen is prescribed with a target range, 94-98 % or 88-92 %. RCP NEWS2 2017: scale 2 is used
where somebody competent has set 88-92 %.
"""

import re

import pytest

from tests.medicines.wards import order
from tests.records import Json, answer_of, full_set, patient
from weatherglass.model.findings import Kind


def _news2(*orders: Json) -> int:
    answer = answer_of(patient(), *full_set(spo2="90 %", oxygen="oxygen"), *orders)
    found = [one for one in answer.reviews[0].findings if one.kind is Kind.SCORE and one.key == "news2"]
    total = re.match(r"NEWS2 (\d+)", found[0].sentence)
    assert total is not None
    return int(total[1])


_SCALE_1, _SCALE_2 = 5, 2


@pytest.mark.parametrize(
    ("made", "total"),
    [
        (order("Oxygen 2 L/min target 88-92%"), _SCALE_2),
        ({**order("Oxygen"), "dosageInstruction": [{"text": "2 L/min, aim for 88-92 %"}]}, _SCALE_2),
        (order("Oxygen target 94-98%"), _SCALE_1),
        (order("Oxygen 28% Venturi"), _SCALE_1),
        (order("Oxygen target 88-92%", status="stopped"), _SCALE_1),
        (order("Oxygen target 88-92%", status="draft"), _SCALE_1),
        (order("Salbutamol 5 mg nebules, 88-92%"), _SCALE_1),
    ],
)
def test_the_target_decides_the_scale(made: Json, total: int) -> None:
    assert _news2(made) == total


def test_an_order_without_one_changes_nothing() -> None:
    assert _news2() == _SCALE_1
