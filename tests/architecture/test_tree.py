"""What holds for the tree as a whole and that no linter says."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.rooms import CORE

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "service" / "weatherglass"
NAMES_FOR_ANYTHING = {"utils", "util", "helpers", "helper", "common", "base", "manager", "misc"}
#: All but the programs that live in an environment of their own.
WITH_THE_SERVICE = sorted(path for path in (ROOT / "locks").glob("*.txt") if path.stem != "tools")
LOCKS = [*sorted((ROOT / "locks").glob("*.txt")), ROOT / "tests" / "conformance" / "package-lock.json"]


def test_package_files_are_empty() -> None:
    """A re-export joins what the contracts keep apart; the version is the one exception."""
    full = [p for p in PACKAGE.rglob("__init__.py") if p.stat().st_size and p.parent != PACKAGE]
    assert full == []


def test_no_test_takes_from_another() -> None:
    """What several modules of tests are built of stands in a module of its own."""
    takes = re.compile(r"^\s*(?:from|import) tests\.(?:\w+\.)*test_", re.MULTILINE)
    found = [path for path in (ROOT / "tests").rglob("*.py") if takes.search(path.read_text("utf-8"))]
    assert found == []


def test_no_module_is_named_for_anything() -> None:
    """A module has a subject, and its name says which."""
    assert [p for p in PACKAGE.rglob("*.py") if p.stem.lstrip("_") in NAMES_FOR_ANYTHING] == []


#: Ours: so many names are read at a glance.
_DOZEN = 12


def test_no_room_is_crowded() -> None:
    """Whoever opens a room sees what is in it: what belongs together has a room of its own."""
    rooms = {p.parent for p in PACKAGE.rglob("*.py")}
    count = {room: len([p for p in room.glob("*.py") if p.name != "__init__.py"]) for room in rooms}
    assert {str(room.relative_to(PACKAGE)): n for room, n in count.items() if n > _DOZEN} == {}


def test_what_a_table_says_of_its_columns_fits_a_screen() -> None:
    """Ours: a clinician reads it beside the rows; columns added one by one had made lines of 500 letters."""
    tables = (PACKAGE / "knowledge").rglob("*.toml")
    lines = ((path.name, line) for path in tables for line in path.read_text("utf-8").splitlines())
    assert not [(name, line[:40]) for name, line in lines if line.startswith("#") and len(line) > 127]


def test_core_needs_nothing_but_python_and_the_reader_of_its_tables() -> None:
    """Importing the whole clinical core loads what reads the tables, and the standard library."""
    modules = [
        ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")
        for room in CORE
        for path in sorted((PACKAGE / room).rglob("*.py"))
    ]
    assert len(modules) > 5
    known = {"weatherglass", "msgspec", "tomli", "typing_extensions"}
    script = (
        f"import sys, sysconfig; before = set(sys.modules)\n"
        f"for name in {modules!r}: __import__(name)\n"
        # What is compiled with mypyc brings a module of its own, named by a hash.
        f"roots = {{n.partition('.')[0] for n in set(sys.modules) - before if not n.endswith('__mypyc')}}\n"
        f"print(sorted(roots - set(sys.stdlib_module_names) - {known!r}))"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


def test_core_changes_its_values_with_their_own_replace() -> None:
    """That of dataclasses refuses them, and the type checker does not tell."""
    taken = re.compile(r"^\s*from dataclasses import .*\breplace\b", re.MULTILINE)
    rooms = (*CORE, "fhir")
    found = [
        p for room in rooms for p in (PACKAGE / room).rglob("*.py") if taken.search(p.read_text("utf-8"))
    ]
    assert [str(p.relative_to(PACKAGE)) for p in found] == ["model/plain.py"]


@pytest.mark.parametrize("path", LOCKS, ids=lambda path: path.name)
def test_lock_files_hold_hashes_and_no_address(path: Path) -> None:
    """Whoever installs brings their own index; what arrives is checked by its hash."""
    text = path.read_text("utf-8")
    assert "://" not in text
    if path.suffix == ".txt":
        pinned = re.findall(
            r"^[a-z0-9][a-z0-9._-]*(?:\[[a-z,]+\])?==\S+.*\\\n    --hash=sha256:", text, re.MULTILINE
        )
        requirements = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
        assert len(pinned) == len(requirements) > 0
    else:
        packages = [one for name, one in json.loads(text)["packages"].items() if name]
        # What travels inside another package is covered by the hash of that one.
        assert packages
        assert [one for one in packages if "integrity" not in one and not one.get("inBundle")] == []


@pytest.mark.parametrize("path", WITH_THE_SERVICE, ids=lambda path: path.name)
def test_what_is_tested_is_what_is_run(path: Path) -> None:
    """A package that the service runs with has the same version in every lock that holds the service."""
    run = _pins(ROOT / "locks" / "run.txt")
    other = _pins(path)
    assert {name: version for name, version in other.items() if name in run and run[name] != version} == {}


def _pins(path: Path) -> dict[str, str]:
    found = re.findall(r"^([a-z0-9._-]+)(?:\[[a-z,]+\])?==(\S+)", path.read_text("utf-8"), re.MULTILINE)
    return dict(found)
