"""What every test may ask for."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.conformance.judges import Judges


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark each test that asks for the judges, so that it can be left out where Node is not."""
    for item in items:
        if "judges" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.node)


@pytest.fixture(scope="session")
def judges() -> Iterator["Judges"]:
    """The outside judges of FHIR resources, started once."""
    # Imported here: the typed models take a quarter of a second that most runs do not need.
    from tests.conformance.judges import Judges

    with Judges() as started:
        yield started
