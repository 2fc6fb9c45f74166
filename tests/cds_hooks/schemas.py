"""Our own JSON Schemas of CDS Hooks 2.0.1, written from the specification's tables."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema

FOLDER = Path(__file__).parents[2] / "openapi" / "cds-hooks"


@cache
def _validator(name: str) -> jsonschema.Draft202012Validator:
    schema = json.loads((FOLDER / f"{name}.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def faults(name: str, value: Any) -> list[str]:
    """Return what a schema has against a value."""
    return [f"{error.json_path}: {error.message}" for error in _validator(name).iter_errors(value)]


def accept(name: str, value: Any) -> None:
    """Fail the test unless a schema accepts a value."""
    found = faults(name, value)
    assert not found, "\n".join(found)
