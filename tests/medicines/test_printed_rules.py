"""What a pharmacist reads is the whole rule set and nothing else."""

import os
import subprocess
import sys

import pytest
from fastapi.testclient import TestClient

from weatherglass.api.app import create_app
from weatherglass.cli.main import run
from weatherglass.knowledge.medicines.class_codes import CLASSES
from weatherglass.knowledge.medicines.ingredients import INGREDIENTS
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP
from weatherglass.medicines.printed import PrintedTable
from weatherglass.model.sources import Mark
from weatherglass.review.catalogue import criterion, rule_sets

_MARKS = {mark.value for mark in Mark}


def _table(name: str, title: str) -> PrintedTable:
    return next(table for table in criterion(name).tables if table.title.startswith(title))


class TestRules:
    def test_every_rule_is_one_line(self) -> None:
        """Each rule stands once, with all that it can come to and where it is printed."""
        table = _table("medicines", "Rules")
        assert table.columns == (
            "rule",
            "trigger",
            "class",
            "action",
            "reason",
            "caution",
            "monitor",
            "restart",
            "rank",
            "source",
            "mark",
        )
        keys = [row[0] for row in table.rows]
        assert keys == [*(rule.key for rule in RULES), "potassium-do-not-start"]
        for rule, row in zip(RULES, table.rows, strict=False):
            assert row[1] == rule.trigger.value
            assert all(CLASSES[key].label in row[2] for key in rule.classes)
            assert row[3].startswith(rule.action.value)
            for step in (*rule.stronger, *rule.milder):
                assert step.action.value in row[3]
                assert all(condition.value in row[3] for condition in step.when)
            assert row[4] == rule.reason
            assert all(each in row[5] for each in rule.caution)
            assert all(each.text in row[5] for each in rule.only_for)
            assert rule.restart is None or rule.restart.condition in row[7]
            assert all(source.locator in row[9] for source in rule.sources)
            assert set(row[10].split("; ")) <= _MARKS

    def test_what_goes_with_them(self) -> None:
        """Every trigger, note and combination stands in a table of its own."""
        assert [row[0] for row in _table("medicines", "Triggers").rows] == [each.value for each in Trigger]
        assert len(_table("medicines", "Not to be stopped").rows) == len(DO_NOT_STOP)
        assert [row[2] for row in _table("medicines", "Combinations").rows] == [
            each.sentence for each in COMBINATIONS
        ]

    def test_every_cell_is_filled(self) -> None:
        """No column is left blank, so that a gap is seen to be one."""
        for name in ("medicines", "medicine-names"):
            for table in criterion(name).tables:
                assert table.rows
                for row in table.rows:
                    assert len(row) == len(table.columns)
                    assert all(row), (table.title, row)

    def test_every_key_of_a_source_is_resolved(self) -> None:
        """A short key in a row leads to its full citation."""
        table = _table("medicines", "Rules")
        known = {row[0] for row in _table("medicines", "Sources").rows}
        for rule, _ in zip(RULES, table.rows, strict=False):
            assert {source.key for source in rule.sources} <= known

    def test_the_limits_stand_beside_them(self) -> None:
        """The numbers of the triggers are rows with a place and a mark, as those of any edition."""
        rows = {row.name: row for row in criterion("medicines").rows}
        assert rows["Low magnesium"].value == "< 0.7 mmol/L"
        assert rows["Inr above every target"].mark == "our choice"
        assert rows["Long acting exposure"].value

    def test_hash_follows_the_tables(self) -> None:
        """Both rule sets have a hash of their own in what the service says of itself."""
        found = rule_sets()
        assert len({found["medicines"], found["medicine-names"]}) == 2


class TestNames:
    def test_every_ingredient_and_class(self) -> None:
        """Each name stands with its classes and codes."""
        assert [row[0] for row in _table("medicine-names", "Ingredients").rows] == [
            row.name for row in INGREDIENTS
        ]
        assert len(_table("medicine-names", "Classes").rows) == len(CLASSES)


class TestCommand:
    def test_show(self, capsys: pytest.CaptureFixture[str]) -> None:
        """`weatherglass criteria show medicines` prints every rule, in no more than 200 columns."""
        assert run(["criteria", "show", "medicines"]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= 200
        # So many columns cannot be read side by side: each rule begins with its name on a line of its own.
        assert {rule.key for rule in RULES} <= set(lines)

    def test_list(self, capsys: pytest.CaptureFixture[str]) -> None:
        """Both names are listed."""
        assert run(["criteria", "list"]) == 0
        listed = [line.split()[0] for line in capsys.readouterr().out.splitlines()]
        assert {"medicines", "medicine-names"} <= set(listed)


def test_http_shows_the_same(client: TestClient) -> None:
    """GET /criteria/medicines carries the same tables."""
    answer = client.get("/criteria/medicines").json()
    table = _table("medicines", "Rules")
    assert answer["tables"][0] == [table.title, list(table.columns), [list(row) for row in table.rows]]


@pytest.fixture(scope="module")
def client() -> TestClient:
    """The service without its settings changed."""
    return TestClient(create_app())


def test_a_rule_set_has_one_hash_in_every_process() -> None:
    """Two processes order the members of a set differently; the stamp on an answer must not."""
    code = "from weatherglass.review.catalogue import rule_sets; print(rule_sets())"
    told = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1
