"""The safety case: each control rests on tests that exist, each hazard is rated, nothing is claimed."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from tests.deploy.safety_case import LIKELIHOODS, SAFETY, SEVERITIES, Json, hazards, page, rating

ROOT = Path(__file__).parents[2]
_NAMED = [
    pytest.param(each["id"], test, id=f"{each['id']}-{test.rpartition('::')[2]}")
    for each in hazards()
    for control in each["control"]
    for test in control["tests"]
]


@cache
def named_in(path: str) -> frozenset[str]:
    """Return the tests of a module: `test_a`, `TestB::test_c`."""
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    found: set[str] = set()

    def look(body: list[ast.stmt], within: str) -> None:
        for node in body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                found.add(f"{within}{node.name}")
            elif isinstance(node, ast.ClassDef) and node.name.startswith("Test"):
                look(node.body, f"{within}{node.name}::")

    look(tree.body, "")
    return frozenset(found)


def exists(named: str) -> bool:
    """Tell whether a test, or a module of tests, exists."""
    path, _, inside = named.partition("::")
    if not (ROOT / path).is_file():
        return False
    return bool(named_in(path)) if not inside else inside in named_in(path)


@pytest.mark.parametrize(("hazard", "named"), _NAMED)
def test_every_named_test_exists(hazard: str, named: str) -> None:
    """A control whose proof has gone is no control."""
    assert exists(named), f"{hazard} rests on {named}, which is not there"


def test_a_test_that_has_gone_is_noticed() -> None:
    assert not exists("tests/deploy/test_safety_case.py::test_that_was_taken_away")
    assert not exists("tests/deploy/no_such_module.py")
    assert exists("tests/deploy/test_safety_case.py::test_a_test_that_has_gone_is_noticed")


@pytest.mark.parametrize("hazard", [pytest.param(each, id=each["id"]) for each in hazards()])
class TestEachHazard:
    def test_it_is_complete(self, hazard: Json) -> None:
        for key in ("title", "cause", "effect", "residual"):
            assert len(hazard[key]) > 15
        for rated in (hazard["before"], hazard["after"]):
            assert rated["severity"] in SEVERITIES
            assert rated["likelihood"] in LIKELIHOODS
        assert hazard["control"]
        assert all(control["tests"] for control in hazard["control"])

    def test_its_controls_lower_the_risk(self, hazard: Json) -> None:
        """And what is left may be accepted, at most 3 by the scale, or says until when it may not."""
        assert rating(hazard["after"]) < rating(hazard["before"])
        assert (rating(hazard["after"]) <= 3) != ("open_until" in hazard)


def test_the_log_is_numbered_and_long_enough() -> None:
    numbers = [each["id"] for each in hazards()]
    assert numbers == [f"H{number:02}" for number in range(1, len(numbers) + 1)]
    assert len(numbers) >= 25


def test_the_page_is_the_log() -> None:
    """`make safety` writes it again."""
    assert (SAFETY / "hazard-log.md").read_text("utf-8") == page()


def test_nothing_is_claimed() -> None:
    """No compliance, approval or clearance, in whatever words."""
    for path in SAFETY.glob("*.md"):
        text = path.read_text("utf-8")
        for sentence in re.split(r"(?<=[.!?])\s", text):
            if re.search(r"\b(complian|complies|certified|approved|cleared|clearance|CE mark)", sentence):
                assert re.search(r"\b(no|not|never)\b", sentence, re.IGNORECASE), sentence
    readme = (SAFETY / "README.md").read_text("utf-8")
    for part in ("Intended use", "Not for", "before go-live", "When a rule is wrong", "Cautions"):
        assert part in readme
