"""Schemathesis sends what the OpenAPI description allows and what it forbids.

Left out of its checks, because a JSON schema cannot say what FHIR allows: that valid
data is always accepted and invalid data always refused.
"""

import copy
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.running import PLAIN

pytestmark = pytest.mark.slow

_CODES = [
    "9279-1",
    "59408-5",
    "8480-6",
    "8867-4",
    "8310-5",
    "80288-4",
    "2160-0",
    "14682-9",
    "2823-3",
    "718-7",
]
_TEXT = {"type": "string"}
_ANY: dict[str, Any] = {}
#: Observations that are nearly right, so that the fuzzing comes past the door.
_OBSERVATION = {
    "type": "object",
    "required": ["resourceType", "status", "code", "subject", "effectiveDateTime", "valueQuantity"],
    "properties": {
        "resourceType": {"const": "Observation"},
        "status": {"enum": ["final", "amended", "preliminary", "entered-in-error", "bogus"]},
        "code": {
            "type": "object",
            "required": ["coding"],
            "properties": {
                "coding": {
                    "type": "array",
                    "minItems": 1,
                    "items": {
                        "type": "object",
                        "required": ["system", "code"],
                        "properties": {"system": {"const": "http://loinc.org"}, "code": {"enum": _CODES}},
                    },
                }
            },
        },
        "subject": {
            "type": "object",
            "required": ["reference"],
            "properties": {"reference": {"enum": ["Patient/p", "Patient/q", "Group/g", "#x", ""]}},
        },
        "effectiveDateTime": {
            "anyOf": [
                {"enum": ["2026-03-12T06:00:00Z", "2026-03-12T05:00:00+01:00", "2026-03-11", "0001-01-01"]},
                _TEXT,
            ]
        },
        "valueQuantity": {
            "type": "object",
            "required": ["value"],
            "properties": {
                "value": {"anyOf": [{"type": "number"}, {"enum": [20, 97.5, 1e300, -1, 0, None, "5", True]}]},
                "code": {"anyOf": [{"enum": ["/min", "%", "mm[Hg]", "Cel", "mg/dL", "umol/L"]}, _TEXT]},
                "system": {"const": "http://unitsofmeasure.org"},
                "comparator": {"anyOf": [{"enum": ["<", ">="]}, _ANY]},
            },
        },
        "component": _ANY,
        "referenceRange": _ANY,
        "note": _ANY,
    },
}


def _run(schema: Path, base: str, examples: int, *more: str, seed: int = 1) -> int:
    """Run it and return the number of cases."""
    program = Path(sys.executable).with_name("schemathesis")
    left_out = "positive_data_acceptance,negative_data_rejection"
    command = [str(program), "run", str(schema), "--url", base, "--seed", str(seed), "--no-color"]
    command += ["--warnings", "off", "--max-examples", str(examples), "--exclude-checks", left_out]
    command += ["--max-time", "30", *more]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=200, check=False)
    assert ran.returncode == 0, ran.stdout[-6000:] + ran.stderr[-2000:]
    counted = re.search(r"(\d+) generated, (\d+) passed", ran.stdout)
    assert counted is not None, ran.stdout[-2000:]
    assert counted[1] == counted[2]
    return int(counted[1])


@pytest.fixture
def description(live: str) -> dict[str, Any]:
    """The description as it is served."""
    found: dict[str, Any] = httpx.get(f"{live}/openapi.json", trust_env=False, verify=PLAIN).json()
    return found


def test_every_address_as_described(live: str, description: dict[str, Any], tmp_path: Path) -> None:
    """No 5xx, no status or content type that is not described, no body that is not as described."""
    schema = tmp_path / "openapi.json"
    schema.write_text(json.dumps(description), "utf-8")
    # A busy machine gets less far in the time; it goes on from another seed.
    cases = 0
    for seed in range(1, 5):
        if cases <= 500:
            cases += _run(schema, live, 50, seed=seed)
    print(f"{cases} cases over every address")  # noqa: T201
    assert cases > 500


def test_records_that_are_nearly_right(live: str, description: dict[str, Any], tmp_path: Path) -> None:
    """The operations with Bundles of Observations whose elements are sometimes wrong."""
    schemas = description["components"]["schemas"]
    sent = schemas["Sent"] = copy.deepcopy(schemas["Bundle"])
    entry = sent["properties"]["entry"]
    entry["minItems"] = 1
    entry["items"]["required"] = ["resource"]
    entry["items"]["properties"]["resource"] = _OBSERVATION
    for path in ("/fhir/$review-deterioration", "/fhir/$handover-document"):
        body = description["paths"][path]["post"]["requestBody"]["content"]["application/fhir+json"]
        body["schema"] = {"$ref": "#/components/schemas/Sent"}
        del body["examples"]
    schema = tmp_path / "openapi.json"
    schema.write_text(json.dumps(description), "utf-8")
    cases = _run(schema, live, 300, "--include-path-regex", "deterioration|handover", "--phases", "fuzzing")
    print(f"{cases} cases of records")  # noqa: T201
    # How many there are depends on how fast the machine is; that there are many is the point.
    assert cases > 50
