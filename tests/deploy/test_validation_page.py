"""The protocol of a site's own validation: its commands run, its numbers worked out again."""

import json
from math import ceil
from pathlib import Path

import pytest

from tests.deploy.command_lines import accepted
from tests.deploy.guide_pages import blocks, broken_links, commands
from tests.deploy.manifests import DEPLOY, ROOT
from weatherglass.cli.main import run

_PAGE = (DEPLOY / "validation.md").read_text("utf-8")


@pytest.mark.slow
def test_its_commands_run_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the list of outcomes that the page shows."""
    (tmp_path / "fixtures").symlink_to(ROOT / "fixtures")
    (listed,) = blocks("validation.md", "csv")
    (tmp_path / "outcomes.csv").write_text(listed, "utf-8")
    (tmp_path / "stricter.toml").write_text("[single_signs.respiration-high]\nemergency = 24\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    for command in commands("validation.md"):
        accepted(command)
        assert run(command) == 0, command
    told = json.loads((tmp_path / "validation-own" / "evaluation.json").read_text("utf-8"))
    assert told["scope"]["listedForUnknownPatients"] == 0
    beside = json.loads((tmp_path / "after" / "evaluation.json").read_text("utf-8"))["besideOtherRules"]
    assert beside["patients"]["byCourse"]["more urgent"] > 0
    assert beside["patients"]["byCourse"]["less urgent"] == 0
    assert (tmp_path / "after" / "differences.txt").read_text("utf-8").count("Patient/") > 0
    shift = json.loads((tmp_path / "validation-shift" / "evaluation.json").read_text("utf-8"))["scope"]
    assert (shift["rearmedAfterHours"], shift["patientsOfANurse"], shift["shiftHours"]) == (4, 6, 8)


@pytest.mark.parametrize(
    ("share", "width", "said"),
    [(0.7, 0.2, "81 outcomes"), (0.7, 0.1, "323 outcomes"), (0.1, 0.04, "865 alerts")],
)
def test_how_many_for_a_wanted_width(share: float, width: float, said: str) -> None:
    """Normal approximation of a share's interval: 4 z² p (1 - p) / W²; common practice."""
    number = ceil(4 * 1.96**2 * share * (1 - share) / width**2)
    assert f"| {share:.2f} | {width:.2f} | {number} {said.split()[1]} |" in _PAGE
    assert said.startswith(str(number))


def test_the_factor_for_rounds_that_resemble_each_other() -> None:
    """Kish L. Survey sampling, 1965 (from memory): 1 + (m - 1) ρ."""
    assert ceil(865 * (1 + (10 - 1) * 0.3)) == 3201
    assert "the 865 become 3 201" in _PAGE


def test_its_links_lead_somewhere() -> None:
    assert broken_links("validation.md") == []
