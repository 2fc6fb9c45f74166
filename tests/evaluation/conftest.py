"""The export that several modules look at, written once for each."""

import json
from pathlib import Path

import pytest

from tests.evaluation.exported import ward
from tests.records import Json


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ward as a bulk export."""
    folder = tmp_path_factory.mktemp("export")
    by_type: dict[str, list[Json]] = {}
    for resource in ward():
        by_type.setdefault(resource["resourceType"], []).append(resource)
    for kind, resources in by_type.items():
        lines = [json.dumps(each, default=float) + "\n" for each in resources]
        (folder / f"{kind}.ndjson").write_text("".join(lines), "utf-8")
    return folder
