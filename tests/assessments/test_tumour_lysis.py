"""Tumour lysis by results: Cairo-Bishop 2004 as modified in 2011, read in restatements.

Two of potassium 6.0 or more, phosphate 1.45 or more (2.1 in children), adjusted calcium 1.75 or less,
urate 476 or more, within 24 hours. That it is 'urgent' is our choice.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, order, reason
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal

LYMPHOMA = condition(ConditionKind.CANCER, text="Burkitt lymphoma")
K, PO4, CA, URATE = Signal.POTASSIUM, Signal.PHOSPHATE, Signal.CALCIUM_ADJUSTED, Signal.URATE


def _found(numbers: dict[Signal, Any], **rest: Any) -> Finding | None:
    rest.setdefault("conditions", (LYMPHOMA,))
    return findings(chart(numbers, **rest), Kind.METABOLIC).get("tumour-lysis")


@pytest.mark.parametrize(
    ("numbers", "is_told"),
    [
        pytest.param({K: "6.0", PO4: "1.45"}, True, id="potassium-and-phosphate"),
        pytest.param({K: "5.9", PO4: "1.45"}, False, id="potassium-below"),
        pytest.param({K: "6.0", PO4: "1.44"}, False, id="phosphate-below"),
        pytest.param({CA: "1.75", PO4: "1.45"}, True, id="calcium-and-phosphate"),
        pytest.param({CA: "1.76", PO4: "1.45"}, False, id="calcium-above"),
        pytest.param({PO4: "1.45", URATE: "476"}, True, id="urate-and-phosphate"),
        pytest.param({PO4: "1.45", URATE: "475"}, False, id="urate-below"),
        pytest.param({K: "6.0"}, False, id="one-alone"),
        pytest.param({K: "6.0", Signal.POTASSIUM_GAS: "6.4"}, False, id="one-in-two-specimens"),
    ],
)
def test_two_together(numbers: dict[Signal, str], is_told: bool) -> None:
    found = _found({signal: [(1, value)] for signal, value in numbers.items()})
    assert (found is not None) is is_told
    if found is not None:
        assert found.urgency is Urgency.URGENT
        assert [one.key for one in found.missing] == ([] if URATE in numbers else ["urate"])


def test_results_of_a_day_only() -> None:
    assert _found({K: [(1, "6.2")], PO4: [(25, "2.0")]}) is None


def test_it_counts_from_the_second_of_them() -> None:
    found = _found({K: [(9, "6.1"), (1, "6.4")], PO4: [(9, "1.2"), (5, "1.6"), (1, "2.0")]})
    assert found is not None
    assert found.since == ago(5)


@pytest.mark.parametrize(("phosphate", "is_told"), [("2.1", True), ("2.0", False)])
def test_phosphate_of_a_child(phosphate: str, is_told: bool) -> None:
    found = _found({K: [(1, "6.2")], PO4: [(1, phosphate)]}, born=date(2020, 1, 1))
    assert (found is not None) is is_told


def test_without_a_cancer_it_is_not_asked() -> None:
    numbers = {K: [(1, "6.4")], PO4: [(1, "2.4")]}
    assert _found(numbers, conditions=()) is None
    came = reason(ConditionKind.CHEMOTHERAPY)
    assert _found(numbers, conditions=(), reasons=(came,)) is not None
    assert _found(numbers, conditions=(), orders=(order("Cyclophosphamide", "cancer-medicine"),)) is not None
