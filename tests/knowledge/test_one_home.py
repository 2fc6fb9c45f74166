"""A number of a publication has one home: whoever needs it too names that row.

Two rows may hold the same number for reasons of their own, from different places; the same
number from the same place, written down twice, drifts.
"""

import importlib
import pkgutil
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass

from msgspec import Struct

from weatherglass import knowledge
from weatherglass.model.sources import Mark
from weatherglass.model.tables.bands import Cutoff


def _cutoffs(value: object, seen: set[int]) -> Iterator[Cutoff]:
    if id(value) in seen:
        return
    seen.add(id(value))
    if isinstance(value, Cutoff):
        yield value
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _cutoffs(inner, seen)
    elif isinstance(value, (tuple, list, set, frozenset)):
        for inner in value:
            yield from _cutoffs(inner, seen)
    elif isinstance(value, Struct):
        for name in value.__struct_fields__:
            yield from _cutoffs(getattr(value, name), seen)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _cutoffs(getattr(value, field.name), seen)


def test_no_number_of_a_publication_is_written_down_twice() -> None:
    homes: dict[tuple[object, ...], dict[int, str]] = defaultdict(dict)
    for found in pkgutil.walk_packages(knowledge.__path__, f"{knowledge.__name__}."):
        module = importlib.import_module(found.name)
        seen: set[int] = set()
        for name, value in vars(module).items():
            if not name.isupper():
                continue
            for cutoff in _cutoffs(value, seen):
                if cutoff.source.mark in (Mark.OUR_CHOICE, Mark.COMMON_PRACTICE):
                    continue
                source = cutoff.source
                key = (cutoff.printed, source.key, source.locator)
                homes[key].setdefault(id(cutoff), found.name)
    assert len(homes) > 150
    twice = {key: set(places.values()) for key, places in homes.items() if len(set(places.values())) > 1}
    assert not twice, "\n".join(f"{key}: {places}" for key, places in twice.items())
