"""The running service and the browser, started once for all tests of the page."""

from collections.abc import Iterator

import pytest

from tests.web.browser import MODULES, Browser, Served


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what needs Chromium."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def served() -> Iterator[Served]:
    """The service, as `weatherglass serve` starts it."""
    started = Served()
    yield started
    started.stop()


@pytest.fixture(scope="session")
def browser(served: Served) -> Iterator[Browser]:
    """Chromium; a test opens a fresh page in it."""
    if not (MODULES / "playwright-core").is_dir():
        pytest.fail("The Node modules of the tests are not installed: run `make test`.")
    with Browser(served.address) as started:
        yield started
