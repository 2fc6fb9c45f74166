"""The runbook's commands: each is run on the demo ward as it stands in the page, in its order."""

import re
import shlex
from pathlib import Path

import pytest

from tests.batch.exports import run_batch
from tests.deploy.manifests import DEPLOY, ROOT
from weatherglass.cli.main import run

_PAGE = (DEPLOY / "runbook.md").read_text("utf-8")


@pytest.mark.slow
def test_an_upgrade_can_be_shown_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two policies, a finished run against a policy, and two finished runs."""
    (tmp_path / "export").symlink_to(ROOT / "fixtures" / "ndjson")
    (tmp_path / "policy.toml").write_text("")
    (tmp_path / "new-policy.toml").write_text("[critical_limits.potassium-high]\nemergency = 6.0\n")
    monkeypatch.chdir(tmp_path)
    assert run_batch("export", "out/old").exception is None
    assert run_batch("export", "out/new", "--policy", "new-policy.toml").exception is None
    typed = [
        shlex.split(line)[1:] for line in re.findall(r"^ *(weatherglass compare .*)$", _PAGE, re.MULTILINE)
    ]
    assert len(typed) == 3
    said = []
    for command in typed:
        assert run(command) == 0, command
        said.append(capsys.readouterr().out)
    assert "MORE URGENT BY NEW (1)" in said[0]
    assert "Nothing is said differently" in said[1]
    assert '"more urgent": 1' in said[2]
