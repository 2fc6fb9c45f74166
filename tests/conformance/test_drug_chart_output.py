"""What the drug chart leads to, as FHIR: DetectedIssue and Task, judged from outside."""

import json
from typing import Any

import pytest

from tests.conformance.judges import Judges
from tests.medicines.wards import injury, order, problem, result, reviewed
from tests.records import Json, earlier
from weatherglass.stamp import stamp

RAMIPRIL = order("Ramipril 5 mg capsules", "C09AA05")
IBUPROFEN = order("Ibuprofen 400 mg tablets", "M01AE01")

CHARTS: dict[str, list[Json]] = {
    "hold": [*injury(2), result("K", "6.2"), RAMIPRIL, IBUPROFEN, order("Furosemide 40 mg", "C03CA01")],
    "held": [result("K", "6.2"), RAMIPRIL],
    "review": [result("K", "5.7"), RAMIPRIL],
    "reduce": [*injury(1), order("Gabapentin 300 mg", "N02BF01")],
    "level": [*injury(1), order("Tacrolimus 1 mg", "L04AD02")],
    "continue": [result("SBP", "90"), order("Prednisolone 5 mg", "H02AB06", authoredOn="2025-06-01")],
    "monitor": [result("glucose", "3.1"), order("Linagliptin 5 mg", "A10BH05")],
    "avoid": [*injury(1), order("Iohexol 300", "V08AB02")],
    "draft": [*injury(1), {**IBUPROFEN, "status": "draft"}],
    "doubtful": [result("K", "6.6", note=[{"text": "haemolysed"}]), RAMIPRIL],
    "on-hold": [*injury(2), {**RAMIPRIL, "status": "on-hold"}],
    "restart": [
        result("K", "6.4", earlier("60 h")),
        result("K", "4.4"),
        {**RAMIPRIL, "status": "on-hold", "statusReason": {"text": "High potassium"}},
    ],
    "unknown": [*injury(1), order("Unknown <b>X</b> & co")],
    "antithrombotic": [
        result("INR", "9.1"),
        problem("Mechanical heart valve"),
        order("Warfarin 3 mg", "B01AA03"),
    ],
    "order-without-id": [*injury(1), {k: v for k, v in IBUPROFEN.items() if k != "id"}],
}


def _emitted(name: str) -> bytes:
    return reviewed(*CHARTS[name]).collection(stamp())


def _resources(name: str, kind: str) -> list[dict[str, Any]]:
    entries = json.loads(_emitted(name))["entry"]
    return [e["resource"] for e in entries if e["resource"]["resourceType"] == kind]


@pytest.mark.parametrize("name", list(CHARTS))
def test_every_action_is_valid(name: str, judges: Judges) -> None:
    """No judge has anything against any of them."""
    judges.accept(_emitted(name))


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("held", "suspend"),
        ("review", "change"),
        ("reduce", "change"),
        ("level", "change"),
        ("avoid", "suspend"),
        ("draft", "suspend"),
        ("doubtful", "change"),
        ("on-hold", "change"),
        ("restart", "resume"),
        ("antithrombotic", "suspend"),
    ],
)
def test_task(name: str, code: str) -> None:
    """A proposal about the order as the sender named it, with a deadline and the way back; never an order.

    What is about to be signed is looked at now: it has no later look.
    """
    tasks = _resources(name, "Task")
    assert tasks
    for task in tasks:
        assert (task["intent"], task["status"]) == ("proposal", "requested")
        assert task["focus"]["reference"].startswith("MedicationRequest/")
        assert ("restriction" in task) is (name != "draft")
        assert name == "draft" or task["restriction"]["period"]["end"]
        assert task["note"]
    assert {task["code"]["coding"][0]["code"] for task in tasks} == {code}
    assert _resources(name, "MedicationRequest") == []


@pytest.mark.parametrize("name", ["continue", "monitor", "unknown"])
def test_nothing_is_asked_of_the_order(name: str) -> None:
    """What goes on, is watched, or is unknown proposes no change of the order."""
    assert _resources(name, "Task") == []
    assert any(
        i["code"]["coding"][0]["code"].startswith("medicine") for i in _resources(name, "DetectedIssue")
    )


def test_resume_is_never_proposed_while_a_reason_stands() -> None:
    """On hold in a kidney injury: the plan is asked for, and the machine-readable code is not 'resume'."""
    (task,) = _resources("on-hold", "Task")
    assert task["code"]["text"] == "Is there a plan for its restart?"
    (again,) = _resources("restart", "Task")
    assert again["code"]["text"] == "Consider restarting"


def test_issue_names_its_orders() -> None:
    """implicated: the order; of a combination all of them."""
    issues = _resources("hold", "DetectedIssue")
    by_kind: dict[str, list[list[str]]] = {}
    for issue in issues:
        kind = issue["code"]["coding"][0]["code"]
        by_kind.setdefault(kind, []).append([one["reference"] for one in issue.get("implicated", ())])
    assert sorted(by_kind["medicine"]) == [
        ["MedicationRequest/furosemide"],
        ["MedicationRequest/ibuprofen"],
        ["MedicationRequest/ramipril"],
    ]
    assert [
        "MedicationRequest/furosemide",
        "MedicationRequest/ibuprofen",
        "MedicationRequest/ramipril",
    ] in by_kind["medicine-interaction"]


def test_ids_do_not_change_when_reviewed_again() -> None:
    """The same input gives the same identifiers."""
    assert _emitted("hold") == _emitted("hold")
