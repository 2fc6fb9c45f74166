"""The running service and the browser, started once for all tests of the page."""

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from tests.running import Running
from tests.web.browser import MODULES, Browser
from weatherglass.api.app import create_app


@pytest.fixture(scope="session")
def served() -> Iterator[Running]:
    """The service, as `weatherglass serve` starts it."""
    with Running() as started:
        yield started


@pytest.fixture(scope="session")
def browser(served: Running) -> Iterator[Browser]:
    """Chromium; a test opens a fresh page in it."""
    if not (MODULES / "playwright-core").is_dir():
        pytest.fail("The Node modules of the tests are not installed: run `make test`.")
    with Browser(served.base) as started:
        yield started


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    """The application in this process, for what is seen without a browser."""
    with TestClient(create_app()) as made:
        yield made
