"""Shadow mode as the page tells it: hours reviewed live, collected, and held beside the past."""

import csv
import json
import re
import tomllib
from pathlib import Path

import pytest

from tests.deploy.command_lines import accepted
from tests.deploy.guide_pages import blocks, broken_links, commands
from tests.deploy.manifests import DEPLOY, ROOT
from weatherglass.cli.main import run

_HOURS = ("2026-03-12T02:00:00Z", "2026-03-12T04:00:00Z", "2026-03-12T06:00:00Z")


def test_its_links_lead_somewhere() -> None:
    assert broken_links("shadow-mode.md") == []


def test_the_hazards_that_it_closes_are_those_of_the_log() -> None:
    """Each question before go-live that names a hazard names one of the safety case."""
    log = tomllib.loads((DEPLOY / "safety" / "hazard-log.toml").read_text("utf-8"))
    page = (DEPLOY / "shadow-mode.md").read_text("utf-8")
    named = set(re.findall(r"\bH\d+\b", page.partition("## 5. Before go-live")[2]))
    assert {"H17", "H18", "H19", "H28"} <= named <= {one["id"] for one in log["hazard"]}


def test_each_command_exists() -> None:
    assert [command[0] for command in commands("shadow-mode.md", "sh")] == ["pull", "batch", "evaluate"]
    for command in commands("shadow-mode.md", "sh"):
        accepted(command)


@pytest.mark.slow
def test_a_month_in_three_hours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page's own batch, script and evaluation; the invented ward stands for the hour's export."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "policy.toml").write_text("carry_forward_minutes = 60\n", "utf-8")
    for name in ("export", "month"):
        (tmp_path / name).symlink_to(ROOT / "fixtures" / "ndjson")
    _, batch, evaluate = commands("shadow-mode.md", "sh")
    for hour in _HOURS:
        assert run([part.replace("$now", hour) for part in batch]) == 0
    (script,) = blocks("shadow-mode.md", "python")
    exec(compile(script, "collect.py", "exec"), {})  # noqa: S102 - the page's own lines are what is tested
    with (tmp_path / "said-live.csv").open(encoding="utf-8", newline="") as file:
        said = list(csv.DictReader(file))
    assert said
    assert {row["at"] for row in said} <= set(_HOURS)
    assert {row["kind"] for row in said} <= {"said live: at least urgent", "said live: at least emergency"}
    first = said[0]
    (tmp_path / "calls.csv").write_text(
        f"patient,at,kind\n{first['patient']},{first['at']},outreach\n", "utf-8"
    )
    assert run([*evaluate, "--repeats", "0"]) == 0
    found = json.loads((tmp_path / "compared" / "evaluation.json").read_text("utf-8"))["presentPractice"]
    assert found["callsForUnknownPatients"] == 0
    assert found["callsCounted"] + found["callsNotOnAWard"] == len(said) + 1
    assert {row["kind"] for row in found["calls"]} == {row["kind"] for row in said} | {"outreach"}
