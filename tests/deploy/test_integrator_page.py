"""The page for whoever connects a site: each of its commands is run, in its order, with its policy file."""

import re
import shlex
from pathlib import Path

import pytest

from tests.deploy.command_lines import accepted
from tests.deploy.manifests import DEPLOY, ROOT
from weatherglass.cli.main import run

_PAGE = (DEPLOY / "integrator.md").read_text("utf-8")


def _blocks(kind: str) -> list[str]:
    return re.findall(rf"^```{kind}\n(.*?)^```", _PAGE, re.MULTILINE | re.DOTALL)


_TYPED = [
    shlex.split(line)[1:] for line in "".join(_blocks("console")).splitlines() if line.startswith("weather")
]


@pytest.mark.slow
def test_its_path_can_be_walked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fixtures").symlink_to(ROOT / "fixtures")
    (policy,) = _blocks("toml")
    (tmp_path / "policy.toml").write_text(policy)
    monkeypatch.chdir(tmp_path)
    for command in _TYPED:
        accepted(command)
        if command[0] != "serve":
            assert run(command) == 0, command
    assert capsys.readouterr().out
    assert '"inputs"' in (tmp_path / "out" / "run.json").read_text()


def test_its_links_lead_somewhere() -> None:
    for link in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", _PAGE):
        assert (DEPLOY / link).exists(), link
