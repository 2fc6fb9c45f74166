"""A client of the whole application, and what it sends."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from weatherglass.api.app import create_app

FIXTURES = Path(__file__).parents[2] / "fixtures"


@pytest.fixture(scope="session")
def client() -> Iterator[TestClient]:
    """The application in this process; its own handlers answer every fault."""
    with TestClient(create_app(), headers={"Content-Type": "application/fhir+json"}) as started:
        yield started


@pytest.fixture(scope="session")
def ward() -> dict[str, bytes]:
    """The demo ward, one Bundle a patient."""
    return {path.stem: path.read_bytes() for path in sorted((FIXTURES / "bundles").glob("*.json"))}


@pytest.fixture(scope="session")
def sepsis(ward: dict[str, bytes]) -> bytes:
    """The record of the patient with sepsis."""
    return ward["01-sepsis"]


@pytest.fixture(scope="session")
def ward_lines() -> bytes:
    """The demo ward as NDJSON, types one after the other."""
    return b"".join(path.read_bytes() for path in sorted((FIXTURES / "ndjson").glob("*.ndjson")))
