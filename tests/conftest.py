"""What every test may ask for."""

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import hypothesis
import pytest

if TYPE_CHECKING:
    from tests.conformance.judges import Judges

# No deadline: the machines that run this are shared, and a slow example is no fault.
hypothesis.settings.register_profile("default", deadline=None)
# In CI the same examples every time, so that a red run is about the change.
hypothesis.settings.register_profile("ci", deadline=None, derandomize=True)
# `make fuzz`: a long look for what the others missed.
hypothesis.settings.register_profile("fuzz", deadline=None, max_examples=5_000)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "default")


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
