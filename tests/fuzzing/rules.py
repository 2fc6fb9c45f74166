"""What must hold for any body at all, however broken."""

import json
import time
from collections.abc import Iterator
from typing import Any

from weatherglass.fhir.issues import UnreadableError
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

#: Longer than any body of this size may take, many times over.
_SECONDS = 10.0


class BrokenRuleError(AssertionError):
    """A rule does not hold for a body."""


def look(body: bytes, *, twice: bool = False) -> str:
    """Review a body and hold the answer to the rules.

    Args:
        body: What is sent.
        twice: Also compare with a second review.

    Returns:
        "reviewed", "nothing to review" or "refused".

    Raises:
        BrokenRuleError: A rule does not hold.
        Exception: Anything but a refusal; that alone breaks the first rule.
    """
    began = time.monotonic()
    try:
        answer = review(body)
    except UnreadableError as refused:
        if not refused.issues or not all(issue.text for issue in refused.issues):
            raise BrokenRuleError("a refusal without a reason") from None
        return "refused"
    written = answer.collection(stamp())
    if time.monotonic() - began > _SECONDS:
        raise BrokenRuleError(f"took {time.monotonic() - began:.1f} s for {len(body)} bytes")
    bundle = json.loads(written, parse_constant=_no_constant)
    _check(bundle)
    if twice and review(body).collection(stamp()) != written:
        raise BrokenRuleError("the same body was answered twice in two ways")
    return "reviewed" if answer.reviews else "nothing to review"


def _no_constant(name: str) -> None:
    raise BrokenRuleError(f"{name} in an answer is not JSON")


def _check(bundle: dict[str, Any]) -> None:
    resources = [entry["resource"] for entry in bundle["entry"]]
    outcomes = [r for r in resources if r["resourceType"] == "OperationOutcome"]
    if len(outcomes) != 1 or not outcomes[0]["issue"]:
        raise BrokenRuleError("not exactly one OperationOutcome with issues")
    for resource in resources:
        if resource["resourceType"] == "MedicationRequest":
            raise BrokenRuleError("an order was written")
    for score in _scores(resources):
        parts = score["component"]
        is_open = any("dataAbsentReason" in part for part in parts)
        if is_open and score.get("valueQuantity", {}).get("comparator") != ">=":
            raise BrokenRuleError("an incomplete score without 'at least'")
        known = sum(part["valueQuantity"]["value"] for part in parts if "valueQuantity" in part)
        if not is_open and known != score["valueQuantity"]["value"]:
            raise BrokenRuleError("a score that is not the sum of its parts")


def _scores(resources: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for resource in resources:
        codes = {c["code"] for c in resource.get("code", {}).get("coding", [])}
        if resource["resourceType"] == "Observation" and "news2" in codes and "component" in resource:
            yield resource
