"""The names of the resource types, against the models of an outside package for R4."""

import importlib
import pkgutil

import fhirclient.models
from fhirclient.models.resource import Resource

from weatherglass.fhir.resource_types import RESOURCE_TYPES

#: R4's two resources whose modules there look like tests, and are left out by its own listing too.
_LOOK_LIKE_TESTS = {"TestReport", "TestScript"}


def test_they_are_the_names_of_r4() -> None:
    """Every concrete resource model of `fhirclient` for R4, and none besides."""
    theirs: set[str] = set()
    for module in pkgutil.iter_modules(fhirclient.models.__path__):
        if "test" not in module.name:
            loaded = importlib.import_module(f"fhirclient.models.{module.name}")
            theirs |= {
                str(vars(each)["resource_type"])
                for each in vars(loaded).values()
                if isinstance(each, type)
                and issubclass(each, Resource)
                and each.__module__ == loaded.__name__
            }
    assert theirs - {"Resource", "DomainResource"} == RESOURCE_TYPES - _LOOK_LIKE_TESTS
    assert len(RESOURCE_TYPES) == 146
