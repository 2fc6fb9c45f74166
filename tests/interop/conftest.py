"""What outside clients send."""

import json
from pathlib import Path
from typing import Any

import pytest

FIXTURES = Path(__file__).parents[2] / "fixtures"


@pytest.fixture(scope="session")
def record() -> dict[str, Any]:
    """A record of the demo ward."""
    loaded: dict[str, Any] = json.loads(
        (FIXTURES / "bundles" / "04-aki-nephrotoxics.json").read_text("utf-8")
    )
    return loaded


@pytest.fixture(scope="session")
def parameters(record: dict[str, Any]) -> dict[str, Any]:
    """The same, with options."""
    return {
        "resourceType": "Parameters",
        "parameter": [
            {"name": "record", "resource": record},
            {"name": "criteria", "valueCode": "news2"},
            {"name": "detail", "valueCode": "brief"},
        ],
    }
