"""What holds for every criteria module: each number names its place, and memory says so."""

import importlib
import pkgutil
import re
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from types import ModuleType

import pytest
from msgspec import Struct

from tests.architecture.rooms import CORE
from weatherglass import knowledge
from weatherglass.model.sources import Mark, Publication, Source
from weatherglass.model.tables.bands import BandTable, ChoiceTable, Cutoff

_WITHOUT_NUMBERS = (
    r"publications|data_files|printed_scores|printed_rows|critical_bands|open_scores|point_rows|risk_rows|asking_rows"
    r"|word_patterns|name_words|dose_units|equations|[.]rules[.]|ingredient_tables|[.]plain"
)
MODULES = [
    importlib.import_module(found.name)
    for found in pkgutil.walk_packages(knowledge.__path__, f"{knowledge.__name__}.")
    # Citations alone, where no number stands; and rows that have tests of their own.
    if not found.ispkg and not re.search(_WITHOUT_NUMBERS, found.name)
]


def _sources(value: object, seen: set[int]) -> Iterator[Source]:
    return (found for found in _citing(value, seen) if isinstance(found, Source))


def _citing(value: object, seen: set[int]) -> Iterator[Source | Publication]:
    """Walk through a value and everything in it."""
    if id(value) in seen:
        return
    seen.add(id(value))
    if isinstance(value, Source | Publication):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from _citing(inner, seen)
    elif isinstance(value, tuple | list | frozenset):
        for inner in value:
            yield from _citing(inner, seen)
    elif isinstance(value, Struct):
        for name in value.__struct_fields__:
            yield from _citing(getattr(value, name), seen)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _citing(getattr(value, field.name), seen)


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


@pytest.fixture(scope="module")
def cited() -> set[tuple[str, str, str]]:
    """Key, citation and address of all that any module of the core cites."""
    seen: set[int] = set()
    modules = [
        importlib.import_module(found.name)
        for room in (importlib.import_module(f"weatherglass.{name}") for name in CORE)
        for found in pkgutil.walk_packages(room.__path__, f"{room.__name__}.")
    ]
    constants = [list(_constants(module).values()) for module in modules]
    return {(one.key, one.citation, one.address) for one in _citing(constants, seen)}


def _several(pairs: Iterable[tuple[str, str]]) -> dict[str, set[str]]:
    """Return what has more than one of what it should have one of."""
    found: dict[str, set[str]] = {}
    for one, other in pairs:
        found.setdefault(one, set()).add(other)
    return {one: others for one, others in found.items() if len(others) > 1}


class TestOnePublicationIsCitedInOneWay:
    """Who compares two findings sees from the citations whether they rest on the same paper."""

    def test_there_is_something_to_compare(self, cited: set[tuple[str, str, str]]) -> None:
        """The walk reaches limits, rules, equations and statistics."""
        keys = {key for key, _, _ in cited}
        assert {"swlp-limits", "npsa-rrr009", "cockcroft-gault-1976", "sen-1968"} <= keys
        assert len(keys) > 70

    def test_an_address_has_one_citation(self, cited: set[tuple[str, str, str]]) -> None:
        """What is found at one address is not cited under two texts."""
        assert not _several((address, citation) for _, citation, address in cited if address)

    def test_a_key_has_one_citation(self, cited: set[tuple[str, str, str]]) -> None:
        """A key stands for one text, so that a list by key leaves none out."""
        assert not _several((key, citation) for key, citation, _ in cited)

    def test_a_text_has_one_key(self, cited: set[tuple[str, str, str]]) -> None:
        """The same words with other punctuation are the same publication."""
        assert not _several((re.sub(r"\W+", " ", citation).lower(), key) for key, citation, _ in cited)

    def test_a_place_in_a_journal_has_one_key(self, cited: set[tuple[str, str, str]]) -> None:
        """Year, volume and first page name one article, however its authors are written."""
        places = [
            (place, key)
            for key, citation, _ in cited
            for place in re.findall(r"\d{4};\d+(?:\([^)]*\))?:\w+", citation)
        ]
        assert len(places) > 20
        assert not _several(places)
