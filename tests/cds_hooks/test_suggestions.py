"""What may be chosen with a click: the order as received, and nothing else changed in it.

Expected: CDS Hooks 2.0.1, "Action": for `update` the resource is the complete resource as
it should become.
"""

import json
from typing import Any

import pytest

from tests.cds_hooks.calls import INSTANCE
from tests.conformance.output_cases import findings, review
from weatherglass.cds_hooks.suggestions import Order, suggestions_for
from weatherglass.fhir.writing.bundle import context_of, encode
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.model.findings import Kind
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.plain import replace

#: Numbers keep their digits, unknown elements stay, the narrative stays.
RAW = (
    b'{"resourceType":"MedicationRequest","id":"m1","meta":{"versionId":"7","security":[{"code":"R"}]},'
    b'"text":{"status":"generated","div":"<div xmlns=\\"http://www.w3.org/1999/xhtml\\">x</div>"},'
    b'"status":"active","_status":{"extension":[{"url":"urn:x","valueCode":"y"}]},"intent":"order",'
    b'"dosageInstruction":[{"doseAndRate":[{"doseQuantity":{"value":1.10,"unit":"mg"}}]}],'
    b'"extension":[{"url":"https://ehr.example/own","valueDecimal":0.500}]}'
)


def _of(action: str) -> MedicineFinding:
    return next(
        f
        for f in findings(Kind.MEDICINE, "complete")
        if isinstance(f, MedicineFinding) and f.action == action
    )


def _suggested(finding: MedicineFinding, order: Order | None) -> list[Any]:
    context = context_of(review([finding], "complete"), "", Terms())
    orders = {} if order is None else {str(finding.order): order}
    return suggestions_for(finding, orders, context, INSTANCE)


@pytest.mark.parametrize("action", ["hold", "avoid"])
def test_a_hold_is_the_whole_order_on_hold_with_its_reason(action: str) -> None:
    finding = replace(_of(action), already_on_hold=False)
    (suggestion,) = _suggested(finding, Order(RAW, "m1", False))
    (acted,) = suggestion["actions"]
    assert acted["type"] == "update"
    assert "isRecommended" not in suggestion
    written = encode(acted["resource"])
    before, after = json.loads(RAW), json.loads(written)
    assert after["status"] == "on-hold"
    assert after["statusReason"]["text"]
    changed = {"status", "_status", "statusReason"}
    assert {k: v for k, v in after.items() if k not in changed} == {
        k: v for k, v in before.items() if k not in changed
    }
    assert b'"value":1.10,' in written
    assert b'"valueDecimal":0.500' in written


@pytest.mark.parametrize("action", ["reduce", "review", "measure level", "continue", "monitor"])
def test_no_dose_is_ever_changed_here(action: str) -> None:
    assert _suggested(_of(action), Order(RAW, "m1", False)) == []


def test_what_is_on_hold_already_needs_no_click() -> None:
    assert _suggested(replace(_of("hold"), already_on_hold=True), Order(RAW, "m1", False)) == []


def test_a_draft_may_be_left_out_or_signed_on_hold() -> None:
    finding = replace(_of("hold"), already_on_hold=False)
    left_out, on_hold = _suggested(finding, Order(RAW, "m1", True))
    assert left_out["actions"][0]["type"] == "delete"
    assert left_out["actions"][0]["resourceId"] == "MedicationRequest/m1"
    assert on_hold["actions"][0]["type"] == "update"
    assert on_hold["actions"][0]["resource"]["status"] == "on-hold"
    assert left_out["uuid"] != on_hold["uuid"]


def test_a_draft_without_an_id_cannot_be_meant_by_a_click() -> None:
    unnamed = b'{"resourceType":"MedicationRequest","status":"draft","intent":"order"}'
    assert _suggested(replace(_of("hold"), already_on_hold=False), Order(unnamed, "", True)) == []


@pytest.mark.parametrize(
    "order",
    [
        pytest.param(None, id="not in the request"),
        pytest.param(
            Order(
                b'{"resourceType":"MedicationRequest","id":"m1","meta":{"tag":[{"code":"SUBSETTED"}]}}',
                "m1",
                False,
            ),
            id="part of an order",
        ),
    ],
)
def test_an_order_that_is_not_whole_is_never_replaced(order: Order | None) -> None:
    """An update with part of a resource would lose the rest: a Task is offered instead."""
    (suggestion,) = _suggested(replace(_of("hold"), already_on_hold=False), order)
    (acted,) = suggestion["actions"]
    assert acted["type"] == "create"
    task = acted["resource"]
    assert (task["resourceType"], task["intent"]) == ("Task", "proposal")
    assert "urn:uuid" not in json.dumps(json.loads(encode(task)))
