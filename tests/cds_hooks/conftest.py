"""The application with its clock at the demo ward's present."""

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from tests.cds_hooks.calls import PRESENT
from weatherglass.api.app import create_app
from weatherglass.api.settings import Settings


@pytest.fixture
def client(rehearsed: None) -> Iterator[TestClient]:
    """A client of the application."""
    app = create_app(Settings(_env_file=None))
    app.state.clock = lambda: PRESENT
    with TestClient(app) as started:
        yield started
