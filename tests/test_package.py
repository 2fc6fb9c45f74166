"""The package as installed."""

import importlib.metadata

import weatherglass


def test_installed_version_is_the_one_in_the_source() -> None:
    """The version is stated once, in the package."""
    assert importlib.metadata.version("weatherglass") == weatherglass.__version__
