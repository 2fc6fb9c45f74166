"""What holds for every criteria module: each number names its place, and memory says so."""

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from types import ModuleType

import pytest

from weatherglass.clinical import criteria
from weatherglass.clinical.sources import Mark, Source
from weatherglass.clinical.tables import BandTable, ChoiceTable, Cutoff

MODULES = [
    importlib.import_module(f"{criteria.__name__}.{found.name}")
    for found in pkgutil.iter_modules(criteria.__path__)
    if not found.ispkg and found.name != "publications"  # Citations alone; no number stands there.
]


def _sources(value: object, seen: set[int]) -> Iterator[Source]:
    """Walk through a value and everything in it."""
    if id(value) in seen:
        return
    seen.add(id(value))
    if isinstance(value, Source):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _sources(inner, seen)
    elif isinstance(value, tuple | list | frozenset):
        for inner in value:
            yield from _sources(inner, seen)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _sources(getattr(value, field.name), seen)


def _constants(module: ModuleType) -> dict[str, object]:
    return {name: value for name, value in vars(module).items() if name.isupper()}


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rpartition(".")[2])
class TestEveryModule:
    """One data module per edition."""

    def test_says_what_it_is(self, module: ModuleType) -> None:
        """A module of numbers is introduced before its numbers."""
        assert module.__doc__
        assert len(module.__doc__.splitlines()) > 2

    def test_has_sources(self, module: ModuleType) -> None:
        """Something in it can be looked up."""
        found = list(_sources(list(_constants(module).values()), set()))
        assert found

    def test_names_no_registry_and_no_shared_paper(self, module: ModuleType) -> None:
        """A citation is a publication or a choice, with a place in it."""
        for source in _sources(list(_constants(module).values()), set()):
            assert len(source.citation) > 10, source
            assert source.locator.strip() == source.locator
            if source.key == "weatherglass":
                assert source.mark is Mark.OUR_CHOICE


def test_every_table_and_cutoff_is_sourced() -> None:
    """Tables and cut-offs are found with their sources, by the hundred."""
    tables = [
        value
        for module in MODULES
        for value in _constants(module).values()
        if isinstance(value, BandTable | ChoiceTable | Cutoff)
    ]
    assert len(tables) > 80
    assert all(value.source.locator for value in tables)
