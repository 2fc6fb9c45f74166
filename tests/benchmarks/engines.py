"""Row 4: our whole review against general engines that only take the latest value per code."""

import json
import shutil
import subprocess
from pathlib import Path

from fhirpathpy import compile as compile_fhirpath
from fhirpathpy.models import models

from tests.benchmarks.records import record
from tests.benchmarks.table import Row, ratio_row, side_by_side
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

_NODE = Path(__file__).parent / "node"
_CODES = ("9279-1", "59408-5", "8867-4", "8310-5", "2160-0", "2823-3", "718-7", "3151-8")
_LOINC = "http://loinc.org"


def _expression(code: str) -> str:
    return (
        "Bundle.entry.resource.where(resourceType = 'Observation')"
        f".where(code.coding.where(system = '{_LOINC}' and code = '{code}').exists())"
    )


def _by_fhirpathpy(body: bytes) -> dict[str, object]:
    bundle = json.loads(body)
    latest: dict[str, object] = {}
    for code, evaluate in _COMPILED.items():
        found = max(evaluate(bundle, {}), key=lambda o: o["effectiveDateTime"])
        latest[code] = float(found["valueQuantity"]["value"])
    return latest


_COMPILED = {code: compile_fhirpath(_expression(code), models["r4"]) for code in _CODES}


def _by_plain_loop(body: bytes) -> dict[str, object]:
    """Return the right answer, by hand, to hold the engines to."""
    latest: dict[str, tuple[str, object]] = {}
    for entry in json.loads(body)["entry"]:
        resource = entry["resource"]
        if resource["resourceType"] != "Observation" or "valueQuantity" not in resource:
            continue
        code = resource["code"]["coding"][0]["code"]
        at = resource["effectiveDateTime"]
        if code not in latest or at > latest[code][0]:
            latest[code] = (at, resource["valueQuantity"]["value"])
    return {code: latest[code][1] for code in _CODES}


def _in_node(script: str, body: bytes) -> dict[str, float | dict[str, object]]:
    """Run one engine in Node: its median milliseconds a Bundle, warm, and its values."""
    done = subprocess.run(
        ["node", str(_NODE / script), *_CODES], input=body, check=True, capture_output=True, cwd=_NODE
    )
    answer: dict[str, float | dict[str, object]] = json.loads(done.stdout)
    return answer


def rows() -> list[Row]:
    """Measure the rows; every engine's values are compared before its time counts."""
    body = record(1000)
    right = _by_plain_loop(body)
    ours, path = side_by_side(
        lambda: review(body).collection(stamp()), lambda: _by_fhirpathpy(body), rounds=3
    )
    if _by_fhirpathpy(body) != right:
        raise AssertionError("fhirpathpy gave other values than the plain loop")
    found = [ratio_row("whole review, 1,000 Observations", ours, "fhirpathpy, latest values", path, None)]
    if shutil.which("node") is None:
        return found
    for script, name, most in (
        ("fhirpath.cjs", "npm fhirpath, latest values", None),
        ("cql.cjs", "npm cql-execution, latest values", 1 / 100),
    ):
        answer = _in_node(script, body)
        if answer["values"] != right:
            raise AssertionError(f"{name}: other values than the plain loop")
        theirs = float(str(answer["milliseconds"])) / 1000
        goal = "at most 1/100" if most is not None else ""
        found.append(ratio_row("whole review, 1,000 Observations", ours, name, theirs, most, goal))
    return found
