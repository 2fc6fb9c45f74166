"""The schemas themselves: they take what the specification shows and refuse each planted fault."""

import copy
from typing import Any

import pytest

from tests.cds_hooks.calls import INSTANCE, draft, sign, view
from tests.cds_hooks.schemas import accept, faults

#: In the shape of the specification's own examples, with names of our own.
CARD: dict[str, Any] = {
    "uuid": INSTANCE,
    "summary": "Something to know",
    "detail": "More *about* it",
    "indicator": "warning",
    "source": {"label": "A paper", "url": "https://example.org/paper", "topic": {"code": "x"}},
    "suggestions": [
        {
            "label": "Do something",
            "uuid": INSTANCE,
            "actions": [
                {"type": "create", "description": "c", "resource": {"resourceType": "Task"}},
                {"type": "update", "description": "u", "resource": {"resourceType": "Task", "id": "1"}},
                {"type": "delete", "description": "d", "resourceId": "Task/1"},
            ],
        }
    ],
    "selectionBehavior": "any",
    "overrideReasons": [{"code": "a", "system": "urn:x", "display": "A"}],
    "links": [{"label": "l", "url": "https://example.org/l", "type": "absolute"}],
}


def test_a_full_card_is_accepted() -> None:
    accept("response", {"cards": [CARD]})
    accept("response", {"cards": []})


@pytest.mark.parametrize(
    ("path", "value"),
    [
        pytest.param(("summary",), "x" * 140, id="summary of 140"),
        pytest.param(("summary",), " ", id="blank summary"),
        pytest.param(("indicator",), "danger", id="unknown indicator"),
        pytest.param(("source",), {}, id="source without a label"),
        pytest.param(("selectionBehavior",), None, id="suggestions without a behaviour"),
        pytest.param(("suggestions", 0, "label"), None, id="suggestion without a label"),
        pytest.param(("suggestions", 0, "actions", 0, "description"), None, id="action without words"),
        pytest.param(("suggestions", 0, "actions", 0, "resource"), None, id="create without a resource"),
        pytest.param(("suggestions", 0, "actions", 1, "resource", "id"), None, id="update without an id"),
        pytest.param(("suggestions", 0, "actions", 2, "resourceId"), None, id="delete of nothing"),
        pytest.param(("overrideReasons", 0, "display"), None, id="reason without words"),
        pytest.param(("links", 0, "type"), "relative", id="unknown link"),
        pytest.param(("links", 0, "url"), "javascript:alert(1)", id="link that is no address"),
        pytest.param(("colour",), "red", id="a field of nobody's"),
    ],
)
def test_each_planted_fault_is_found(path: tuple[str | int, ...], value: object) -> None:
    card: Any = copy.deepcopy(CARD)
    inside = card
    for step in path[:-1]:
        inside = inside[step]
    if value is None:
        del inside[path[-1]]
    else:
        inside[path[-1]] = value
    assert faults("response", {"cards": [card]})


def test_the_calls_of_the_tests_are_calls() -> None:
    """What the tests send is what a client may send."""
    accept("request", view("01-sepsis"))
    order = draft("01-sepsis", "ibuprofen")
    accept("request", sign("01-sepsis", order))
    accept("request", sign("01-sepsis", order, hook="order-select"))


@pytest.mark.parametrize("gone", ["hook", "hookInstance", "context"])
def test_a_request_without_what_it_needs_is_refused(gone: str) -> None:
    call = view("01-sepsis")
    del call[gone]
    assert faults("request", call)


def test_feedback_is_checked() -> None:
    accepted = {
        "card": INSTANCE,
        "outcome": "accepted",
        "acceptedSuggestions": [{"id": INSTANCE}],
        "outcomeTimestamp": "2026-03-12T07:45:00Z",
    }
    accept("feedback", {"feedback": [accepted]})
    assert faults("feedback", {"feedback": [{**accepted, "outcome": "ignored"}]})
    del accepted["acceptedSuggestions"]
    assert faults("feedback", {"feedback": [accepted]})
