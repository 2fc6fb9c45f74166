"""How the tests are shared between processes (our choice)."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from tests import scheduling

ROOT = Path(__file__).parents[2]
FILES = [str(path.relative_to(ROOT)) for path in sorted((ROOT / "tests").rglob("test_*.py"))]
UNITS = {file: scheduling.unit_of(f"{file}::test") for file in FILES}


def test_a_file_stays_together_unless_its_cases_stand_alone() -> None:
    for file, unit in UNITS.items():
        alone = scheduling.unit_of(f"{file}::Test::other[1]") != unit
        assert alone == (file == "tests/property/test_laws.py")


def test_one_process_owns_the_jvm_the_browser_and_the_judges() -> None:
    assert {unit for file, unit in UNITS.items() if file.startswith("tests/web/")} == {"tests/web/"}
    assert UNITS["tests/batch/test_engines.py"] == UNITS["tests/batch/test_second_night.py"] == "spark"
    assert UNITS["tests/batch/test_lines.py"] == "tests/batch/test_lines.py"


@pytest.mark.parametrize("name", scheduling.FIRST)
def test_what_begins_first_is_there(name: str) -> None:
    """A folder that was renamed would begin last, without a word."""
    assert any(unit.startswith(name) for unit in UNITS.values())


def test_each_process_begins_to_collect_elsewhere_and_collects_all() -> None:
    folders = [SimpleNamespace(path=path) for path in sorted((ROOT / "tests").iterdir()) if path.is_dir()]
    orders = [scheduling.beginning_apart(folders, process, 3) for process in range(3)]
    assert orders[0] == folders
    assert len({order[0].path for order in orders}) == 3
    for order in orders:
        assert sorted(each.path for each in order) == [each.path for each in folders]


def test_of_a_test_that_passed_it_is_told_once_and_of_any_other_everything() -> None:
    told: list[tuple[str, str, str]] = []

    def send(name: str, **what: Any) -> None:
        data = what.get("data", {})
        told.append((name, data.get("when", ""), data.get("outcome", "")))

    worker = SimpleNamespace(sendevent=send)
    option = SimpleNamespace(verbose=0, durations=None, xmlpath=None)
    plugins = SimpleNamespace(get_plugins=lambda: [object(), worker])
    scheduling.tell_what_is_shown(cast(pytest.Config, SimpleNamespace(option=option, pluginmanager=plugins)))
    for outcomes in (
        ("passed", "passed", "passed"),
        ("passed", "failed", "passed"),
        ("skipped", "", "failed"),
    ):
        worker.sendevent("logstart")
        for when, outcome in zip(("setup", "call", "teardown"), outcomes, strict=True):
            if outcome:
                worker.sendevent("testreport", data={"when": when, "outcome": outcome})
        worker.sendevent("runtest_protocol_complete")
    complete = ("runtest_protocol_complete", "", "")
    assert told == [
        ("testreport", "call", "passed"),
        complete,
        ("testreport", "call", "failed"),
        complete,
        ("testreport", "setup", "skipped"),
        ("testreport", "teardown", "failed"),
        complete,
    ]
